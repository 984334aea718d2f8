"""Makes the pictures of the pages: `python tests/pages/pictures.py FOLDER` for the eye, every width and
state; `python tests/pages/pictures.py --readme` for those of the README, into docs/pictures/.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from playwright.sync_api import Page, sync_playwright

from exhibit.facts import kinds
from exhibit.facts.display import Display
from tests.pages import made_facts, web_processes
from tests.pages.browser import start, wait_until

ROOT = Path(__file__).resolve().parents[2]
SIZES = ((320, 640), (390, 844), (768, 1024), (1280, 720), (1366, 768), (1920, 1080), (3840, 2160))
SIMULATED: dict[str, object] = {"machine_is": "simulated", "rate": 20.0}


@contextmanager
def held(
    folder: Path,
    more: list[kinds.AnyFact],
    until: Callable[[kinds.AnyFact], bool] = lambda _: False,
    **opened: object,
) -> Iterator[Path]:
    """A recording that is still being written: the day up to the fact `until`, and `more`."""
    writer = made_facts.begin(folder, made_facts.opened(**opened))
    last_us = 0
    for at_s, fact in made_facts.a_day():
        last_us = int(at_s * 1e6)
        writer.append(fact, last_us)
        if until(fact):
            break
    for fact in more:
        writer.append(fact, last_us)
    over = threading.Event()

    def live() -> None:
        while not over.wait(1.0):
            writer.append(kinds.Heartbeat(wall=made_facts.WALL), last_us)

    heart = threading.Thread(target=live)
    heart.start()
    try:
        yield folder
    finally:
        over.set()
        heart.join()
        writer.abandon()


STATES: dict[str, Callable[[Path], object]] = {
    "live": lambda folder: held(folder, []),
    "simulated": lambda folder: held(folder, [], **SIMULATED),
    "resting": lambda folder: held(folder, [kinds.SessionResting(until_us=0)]),
    "failed": lambda folder: held(
        folder,
        [
            kinds.TroubleRaised(
                trouble="disc-errors",
                line="DISC ERRORS         4",
                words={"en": "The disc makes errors."},
                do={"en": "Stop the lower drive and call the engineer."},
            ),
            kinds.SessionFailed(why="the board was waited for and did not come", last_lines=["DESK TIDES: "]),
        ],
    ),
    "hands-on": lambda folder: held(folder, [], until=lambda fact: isinstance(fact, kinds.HandsOnAsked)),
    "listen": lambda folder: held(folder, [], until=lambda fact: _is_caption(fact, "listen-to-lower")),
    "background": lambda folder: held(folder, [], until=lambda fact: _is_caption(fact, "asks-the-date")),
    "paper": lambda folder: held(
        folder,
        [],
        until=lambda fact: _is_caption(fact, "shuttle-begun"),
        display=Display(kind="paper", rows=60, columns=72),
        languages={"en": "English", "de": "Deutsch"},
    ),
    "link-lost": lambda folder: held(folder, [kinds.LineLost(why="the adapter was unplugged")]),
}


def _is_caption(fact: kinds.AnyFact, name: str) -> bool:
    return isinstance(fact, kinds.CaptionShown) and fact.caption == name


def shoot(page: Page, path: Path, size: tuple[int, int], ready: str) -> None:
    """One picture, once the page shows what it should."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    wait_until(page, ready)
    page.evaluate("document.fonts.ready")
    page.wait_for_timeout(400)
    page.screenshot(path=path)


def main() -> None:
    """Make them all."""
    options = argparse.ArgumentParser()
    options.add_argument("folder", type=Path, nargs="?", default=ROOT / "docs" / "pictures")
    options.add_argument("--readme", action="store_true")
    options.add_argument("--only", default="")
    chosen = options.parse_args()
    chosen.folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as temporary:
        browser = start(playwright)
        page = browser.new_page()
        work = Path(temporary)
        wait = "+document.documentElement.dataset.seq > 0"
        for name, make in STATES.items():
            if chosen.only and name not in chosen.only.split(",") or chosen.readme and name != "simulated":
                continue
            with make(work / name) as folder, web_processes.live(folder) as web:  # type: ignore[attr-defined]
                page.goto(web.address)
                wait_until(page, wait)
                if name == "background":
                    page.click("#grounds summary")
                for size in ((1920, 1080), (390, 844)) if chosen.readme else SIZES:
                    shoot(page, chosen.folder / f"{name}-{size[0]}.png", size, wait)
        if not chosen.readme and (not chosen.only or "not-started" in chosen.only):
            (work / "empty").mkdir()
            with web_processes.live(work / "empty") as web:
                page.goto(web.address)
                for size in SIZES:
                    ready = "document.querySelector('#badge').dataset.badge === 'not started'"
                    shoot(page, chosen.folder / f"not-started-{size[0]}.png", size, ready)
        if not chosen.readme and (not chosen.only or "replay" in chosen.only):
            path = made_facts.write(work / "day", made_facts.a_day())
            with web_processes.replay(path, work / "cache", rate=float("inf")) as web:
                page.goto(web.address)
                for size in SIZES:
                    ready = "document.querySelector('#where')?.textContent.includes('end')"
                    shoot(page, chosen.folder / f"replay-{size[0]}.png", size, ready)
        browser.close()


if __name__ == "__main__":
    main()
