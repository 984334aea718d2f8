"""On a museum's shared screens at most 120 words stand at once, all day long."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from exhibit.facts import kinds
from exhibit.streams.recording import read_all
from tests.pages import web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import sample_path
from tests.pages.real_day import Day, Views, moments, screens
from tests.pages.test_scenes import MOST_WORDS, VISIBLE_WORDS
from tests.sampling import how_sampled, sample

A_FEW = 6
"""Of about a hundred moments, besides those at which the caption says what to listen for."""


@pytest.mark.trial(name="pages")
@pytest.mark.timeout(400)
def test_a_real_day_has_at_most_120_words_at_once(browser: Browser, tmp_path: Path) -> None:
    """The sample recording as if it were written now: each caption and request, as it comes and goes."""
    entries = read_all(sample_path(tmp_path)).entries
    found = moments(entries)
    listens = {one.seq for one in found if one.listens}
    asked = {one.seq for one in sample(found, A_FEW)} | listens
    day = Day(tmp_path / "day", entries)
    over: list[str] = []
    with web_processes.live(tmp_path / "day") as web, screens(browser, web.address) as views:
        for moment in found:
            if moment.seq in asked:
                over += too_many(views, day.goes_to(moment.seq))
            if _ends_a_round(entries[moment.seq - 1].fact):
                day.goes_to(moment.seq)
                over += too_many(views, day.rests(), "resting")
    assert listens
    assert over == [], f"{how_sampled()}\n" + "\n".join(over)


def too_many(views: Views, seq: int, scene: str = "") -> list[str]:
    """What each page says that has too many words, once it has come to this fact."""
    found = []
    for (screen, tag), page in views.items():
        wait_until(page, f"+document.documentElement.dataset.seq >= {seq}")
        page.wait_for_timeout(100)
        shown = page.evaluate("document.documentElement.dataset.scene")
        assert not scene or shown == scene
        words = page.evaluate(VISIBLE_WORDS)
        if not 12 <= len(words) <= MOST_WORDS:
            found.append(f"fact {seq}, {shown}, {screen}, {tag}: {len(words)}: {' '.join(words)}")
    return found


def _ends_a_round(fact: object) -> bool:
    return isinstance(fact, kinds.ScriptEnded) and fact.script == "round"
