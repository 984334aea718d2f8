"""A shared screen goes home by itself; what is opened is a sheet that hides neither badge nor caption."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.pages import made_items
from tests.pages.axe_core import violations
from tests.pages.browser import wait_until
from tests.pages.conftest import Log
from tests.pages.pictures import HAS_PICTURE

LANGUAGE = "document.documentElement.lang"
SHEET = "document.documentElement.dataset.sheet ?? ''"
HALL = {"layout": "landscape", "width_cm": 53, "height_cm": 30, "distance_cm": 250, "lower_edge_cm": 80}
ROUND = {
    "name": "round",
    "title": {"en": "x"},
    "round": 3,
    "since": made_items.wall("10:24"),
    "tidying": False,
}
GOES = {**ROUND, "outcome": "", "ended": "", "tidy": False}
ENDED = {**ROUND, "outcome": "done", "ended": made_items.wall("10:30"), "tidy": True}


def opened(page: Page, address: str) -> None:
    page.goto(address)
    page.clock.run_for(2000)
    wait_until(page, HAS_PICTURE)
    wait_until(page, "document.querySelectorAll('#languages button').length === 3")


def choose_german(page: Page) -> None:
    page.click("#languages button[lang=de]")
    wait_until(page, f"{LANGUAGE} === 'de'")


def test_a_shared_screen_goes_home_after_four_minutes_untouched(page: Page, tmp_path: Path) -> None:
    page.clock.install()
    with made_items.scenes(tmp_path, "working") as laid:
        opened(page, f"{laid.address}?screen=landscape")
        choose_german(page)
        page.click("#grounds")
        page.clock.run_for(200_000)
        assert page.evaluate(LANGUAGE) == "de"
        assert page.evaluate(SHEET) == "grounds-sheet"
        page.clock.run_for(45_000)
        assert page.evaluate(LANGUAGE) == "en"
        assert page.evaluate(SHEET) == ""


def test_the_folder_says_after_how_long_a_screen_goes_home(page: Page, tmp_path: Path) -> None:
    page.clock.install()
    screens = {"hall": {**HALL, "home_after_s": 90}}
    with made_items.scenes(tmp_path, "working", recording={"screens": screens}) as laid:
        opened(page, f"{laid.address}?screen=hall")
        choose_german(page)
        page.clock.run_for(80_000)
        assert page.evaluate(LANGUAGE) == "de"
        page.clock.run_for(15_000)
        assert page.evaluate(LANGUAGE) == "en"


def test_at_the_end_of_a_round_what_was_opened_is_closed_but_a_readers_language_stays(
    page: Page, tmp_path: Path
) -> None:
    page.clock.install()
    with made_items.scenes(tmp_path, "working", script=GOES) as laid:
        opened(page, f"{laid.address}?screen=landscape")
        choose_german(page)
        page.click("#more")
        page.clock.run_for(70_000)
        assert page.evaluate(SHEET) == "more-sheet"
        laid.lay("resting", script=ENDED)
        wait_until(page, "document.documentElement.dataset.scene === 'resting'")
        page.clock.run_for(2000)
        assert page.evaluate(SHEET) == ""
        assert page.evaluate(LANGUAGE) == "de"


def test_whoever_touches_the_screen_keeps_his_language_and_his_sheet(page: Page, tmp_path: Path) -> None:
    page.clock.install()
    with made_items.scenes(tmp_path, "working", script=GOES) as laid:
        opened(page, f"{laid.address}?screen=landscape")
        choose_german(page)
        page.click("#more")
        for _ in range(3):
            page.clock.run_for(200_000)
            page.keyboard.press("Shift")
        laid.lay("resting", script=ENDED)
        wait_until(page, "document.documentElement.dataset.scene === 'resting'")
        page.clock.run_for(2000)
        assert page.evaluate(LANGUAGE) == "de"
        assert page.evaluate(SHEET) == "more-sheet"


@pytest.mark.parametrize("size", [(1920, 1080), (390, 844)])
def test_a_persons_own_browser_never_goes_home(size: tuple[int, int], page: Page, tmp_path: Path) -> None:
    page.clock.install()
    page.set_viewport_size({"width": size[0], "height": size[1]})
    with made_items.scenes(tmp_path, "working") as laid:
        opened(page, laid.address)
        choose_german(page)
        page.clock.run_for(900_000)
        assert page.evaluate(LANGUAGE) == "de"


# -- sheets ----------------------------------------------------------------------------------------

OPENERS = {
    "grounds-sheet": ["#grounds"],
    "more-sheet": ["#more"],
    "figures": ["#more", "#open-figures"],
    "cards-sheet": ["#more", "#open-cards"],
    "switches-sheet": ["#more", "#try"],
    "beside-sheet": ["#drawing button[data-part=processor]"],
}


@pytest.mark.parametrize(
    ("query", "size"),
    [
        ("?screen=landscape", (1920, 1080)),
        ("?screen=portrait", (1080, 1920)),
        ("", (1366, 768)),
        ("", (390, 844)),
    ],
)
def test_a_sheet_hides_neither_badge_nor_caption_and_gives_the_focus_back(
    query: str, size: tuple[int, int], page: Page, log: Log, tmp_path: Path, axe: str
) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    with made_items.scenes(tmp_path, "working") as laid:
        page.goto(laid.address + query)
        wait_until(page, HAS_PICTURE)
        page.wait_for_timeout(500)
        for name, touched in OPENERS.items():
            steps = touched if query or size[0] > 1000 else touched[-1:]
            if steps == ["#more"] and not page.is_visible("#more"):
                continue
            for one in steps:
                page.click(one)
            assert page.evaluate(SHEET) == name
            assert page.is_visible(f"#{name}")
            hidden = page.evaluate(
                """(name) => ["badge-name", "caption"].filter((id) => {
                    const range = document.createRange();
                    range.selectNodeContents(document.getElementById(id));
                    const sheet = document.getElementById(name).getBoundingClientRect();
                    return [...range.getClientRects()].some((b) =>
                        b.bottom > sheet.top && b.top < sheet.bottom
                        && b.right > sheet.left && b.left < sheet.right
                        || b.top < 0 || b.bottom > innerHeight);
                })""",
                name,
            )
            assert hidden == [], name
            assert violations(page, axe) == [], name
            page.keyboard.press("Escape")
            assert page.evaluate(SHEET) == ""
            assert page.evaluate("document.activeElement !== document.body"), name
    assert log.complaints == []


def test_one_sheet_at_a_time_and_the_console_stays_in_sight_beside_how_do_we_know(
    page: Page, tmp_path: Path
) -> None:
    with made_items.scenes(tmp_path, "working") as laid:
        page.goto(f"{laid.address}?screen=landscape")
        wait_until(page, HAS_PICTURE)
        page.wait_for_timeout(500)
        page.click("#more")
        page.click("#grounds")
        assert page.evaluate("[...document.querySelectorAll('dialog[open]')].map((e) => e.id)") == [
            "grounds-sheet"
        ]
        left = page.evaluate("document.querySelector('#console').getBoundingClientRect().left")
        assert page.evaluate("document.querySelector('#grounds-sheet').getBoundingClientRect().right") <= left
        page.click("#grounds")
        assert page.evaluate(SHEET) == ""


def test_the_badges_name_is_announced_and_nothing_else_of_it(page: Page, tmp_path: Path) -> None:
    with made_items.scenes(tmp_path, "working") as laid:
        page.goto(laid.address)
        wait_until(page, HAS_PICTURE)
        assert page.evaluate("[...document.querySelectorAll('[aria-live]')].map((e) => e.id)") == [
            "badge-name",
            "caption",
        ]
        assert page.inner_text("#badge-name") == "Live"
