"""The day's sums are never cut through: on a screen with little room there are fewer rows of them."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from exhibit.facts import kinds
from tests.pages import made_items
from tests.pages.browser import wait_until
from tests.pages.test_trouble_in_sight import SCREENS, composed, in_language

PARTS = ("processor", "small-drive", "upper-drive", "lower-drive")
ASLEEP: list[kinds.AnyFact] = [
    kinds.ScriptEnded(script="round", outcome="done", tidy=True, why=""),
    *(kinds.PartStopped(part=part, by="closing.stop") for part in PARTS),
    kinds.SessionResting(until_us=0),
]
CUT = """(() => {
    const sums = document.getElementById("sums");
    const box = sums.getBoundingClientRect();
    const below = document.getElementById("day-line").getBoundingClientRect();
    const rows = [...sums.querySelectorAll("caption, tr")].filter((one) => one.getClientRects().length);
    const ends = rows.map((one) => one.getBoundingClientRect());
    const floor = Math.min(getComputedStyle(sums).overflow === "visible" ? Infinity : box.bottom, below.top);
    const cut = rows.filter((_, n) => ends[n].bottom > floor + 1 && ends[n].top < floor);
    const gone = rows.filter((_, n) => ends[n].top >= floor);
    return {rows: rows.length, cut: [...cut, ...gone].map((one) => one.textContent)};
})()"""


@pytest.mark.parametrize("screen", SCREENS)
def test_no_row_of_the_sums_is_cut_through(screen: str, browser: Browser, tmp_path: Path) -> None:
    wrong = {}
    with (
        made_items.scenes(tmp_path, "asleep", facts=ASLEEP) as laid,
        composed(browser, laid.address, screen) as page,
    ):
        wait_until(page, "document.documentElement.dataset.scene === 'asleep'")
        wait_until(page, "document.querySelectorAll('#sums tr').length > 3")
        for language in made_items.LANGUAGES:
            in_language(page, language)
            seen = page.evaluate(CUT)
            if seen["cut"] or seen["rows"] < 3:
                wrong[language] = seen
    assert wrong == {}
