"""Pictures of the records page, to be looked at: `python -m tests.pages.records_pictures FOLDER`.

The recordings are the samples with planted faults. Each place is taken at three sizes.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import sync_playwright

from tests.pages.browser import start
from tests.pages.test_records_page import serve
from tests.pages.web_processes import ROOT

SIZES = {"phone": (390, 844), "laptop": (1280, 800), "screen": (1920, 1080)}
EXAMPLES = ROOT / "recordings" / "examples"
SETTLED_MS = 1500
PLACES: dict[str, tuple[str, tuple[str, ...]]] = {
    "list": ("", ()),
    "round": ("#whimbrel-2026-11-16T10-00-00/1200", ()),
    "disc-errors": ("#whimbrel-2026-10-27T10-00-00", ("t", "t")),
    "garbled": ("#whimbrel-2026-11-03T10-00-00", ("t", "t", "t", "z", "z", "z", "z")),
    "search": ("#whimbrel-2026-11-16T10-00-00/1200", ("/", "T", "I", "D", "E", "Enter")),
    "keys": ("#whimbrel-2026-11-16T10-00-00/1200", ("?",)),
    "charts": ("#charts", ()),
    "nowhere": ("#nothing/5", ()),
}
"""By name: where it is, and the keys that are pressed there."""


def main(folder: Path) -> None:
    """Takes them all."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright:
        # A copy, since the index is kept beside the recordings.
        copied = shutil.copytree(EXAMPLES, Path(made) / "examples")
        served = serve(Path(made) / "cache", *sorted(copied.iterdir()))
        browser = start(playwright)
        try:
            for size, (width, height) in SIZES.items():
                for name, (place, keys) in PLACES.items():
                    page = browser.new_page(viewport={"width": width, "height": height}, locale="en-GB")
                    page.goto(f"{served.address}{place}")
                    page.wait_for_timeout(SETTLED_MS)
                    for key in keys:
                        page.keyboard.press(key)
                        page.wait_for_timeout(200)
                    page.wait_for_timeout(500)
                    page.screenshot(path=folder / f"{name}-{size}.png", full_page=size == "phone")
                    page.close()
        finally:
            browser.close()
            served.end()


if __name__ == "__main__":
    main(Path(sys.argv[1]))
