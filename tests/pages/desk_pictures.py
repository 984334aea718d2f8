"""Makes pictures of the docent's page: `python -m tests.pages.desk_pictures FOLDER [STATE ...]`, and look."""

from __future__ import annotations

import sys
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tests.pages.browser import start, wait_until
from tests.pages.desk_states import STATES

SIZES = {"phone": (390, 844), "tablet": (820, 1180), "tablet-lying": (1024, 768), "laptop": (1366, 768)}
READY = "document.documentElement.dataset.state !== 'opening' && document.querySelector('#stop').textContent"


def shoot(page: Page, path: Path, size: tuple[int, int]) -> None:
    """The whole page in one picture, as wide as such a screen."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.evaluate("document.fonts.ready")
    if size[0] < 1000:
        height = page.evaluate("document.documentElement.scrollHeight")
        page.set_viewport_size({"width": size[0], "height": max(size[1], height)})
    page.wait_for_timeout(150)
    page.screenshot(path=path)


def main(folder: Path, only: list[str]) -> None:
    """Every state on every screen in both languages."""
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = start(playwright)
        for name, make in STATES.items():
            if only and name not in only:
                continue
            with make().serving() as desk:
                for language in ("en", "de"):
                    page = browser.new_context(locale=language).new_page()
                    page.goto(desk.address)
                    wait_until(page, READY)
                    page.wait_for_timeout(1200)  # then the answers can be pressed
                    for size, pixels in SIZES.items():
                        shoot(page, folder / f"{name}-{size}-{language}.png", pixels)
                    page.context.close()
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2:])
