"""In the header, the mark is in line with the badge's name, and what stands beside it moves neither."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from exhibit.facts import kinds
from tests.pages import made_items
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE
from tests.pages.test_foot_stays import asked

SCREENS: dict[str, tuple[str, tuple[int, int]]] = {
    "landscape": ("?screen=landscape", (1920, 1080)),
    "portrait": ("?screen=portrait", (1080, 1920)),
    "phone": ("", (390, 844)),
}
STOPPED = [kinds.PartStarted(part="processor", by="begun"), kinds.PartStopped(part="processor", by="ended")]
RESTS = kinds.SessionResting(until_us=0)
STATES: dict[str, tuple[str, list[Any], dict[str, Any]]] = {
    "live": ("live", [], {}),
    "by hand": ("live", [], {"hands_on": asked(1)}),
    "resting": ("resting", [RESTS], {}),
    "asleep": ("asleep", [*STOPPED, RESTS], {}),
}
MIDDLES = """(() => {
    const middle = (b) => (b.top + b.bottom) / 2;
    const mark = document.getElementById("mark");
    const style = getComputedStyle(mark);
    const box = mark.getBoundingClientRect();
    const lineAtTop = parseFloat(style.borderTopWidth) > 0 && parseFloat(style.borderBottomWidth) === 0;
    const name = document.createRange();
    name.selectNodeContents(document.getElementById("badge-name"));
    const first = name.getClientRects()[0];
    return {mark: lineAtTop ? box.top : middle(box), name: middle(first), high: first.height};
})()"""


@pytest.mark.parametrize("state", STATES)
def test_the_mark_is_at_the_height_of_the_badges_name(state: str, page: Page, tmp_path: Path) -> None:
    badge, facts, items = STATES[state]
    far = {}
    with made_items.scenes(tmp_path, "waking", facts=facts, **items) as laid:
        for screen, (query, (width, height)) in SCREENS.items():
            page.set_viewport_size({"width": width, "height": height})
            page.goto(laid.address + query)
            wait_until(page, HAS_PICTURE)
            wait_until(page, f"document.querySelector('#badge').dataset.badge === {badge!r}")
            page.evaluate("document.fonts.ready")
            page.wait_for_timeout(300)
            found = page.evaluate(MIDDLES)
            if screen != "phone" and abs(found["mark"] - found["name"]) > 0.15 * found["high"]:
                far[screen] = found
            if screen == "phone" and abs(found["mark"] - found["name"]) > found["high"]:
                far[screen] = found
    assert far == {}


def test_a_sign_beside_the_badge_neither_moves_its_name_nor_runs_on_from_it(
    page: Page, tmp_path: Path
) -> None:
    top = "document.querySelector('#badge-name').getBoundingClientRect().top"
    with made_items.scenes(tmp_path, "waking") as laid:
        for screen, (query, (width, height)) in SCREENS.items():
            page.set_viewport_size({"width": width, "height": height})
            laid.lay("waking", hands_on=None)
            page.goto(laid.address + query)
            wait_until(page, HAS_PICTURE)
            page.evaluate("document.fonts.ready")
            page.wait_for_timeout(300)
            before = page.evaluate(top)
            laid.lay("waking", hands_on=asked(1))
            wait_until(page, "!document.querySelector('#badge-sign').hidden")
            page.wait_for_timeout(300)
            if screen == "phone":
                before_it = page.inner_text("#badge-words").split("a person’s turn")[0]
                assert before_it.strip(" ").endswith("\n"), "it is on a line of its own"
            else:
                assert page.evaluate(top) == pytest.approx(before, abs=5), screen
