"""A page that stays open holds no more late than early: for an hour, and in the trials for a whole day."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.sampling import number_of
from tests.trials.day_open import DAY_H, DAY_SPEED, Held, grows, held_through


@pytest.mark.trial(name="day-open")
def test_hours_leave_nothing_behind_in_the_page(browser: Browser, tmp_path: Path) -> None:
    hours, speed = number_of(whole=DAY_H, daily=1), DAY_SPEED
    assert grows(held_through(browser, tmp_path, hours, speed)) == []


LEAK = """window.kept = [];
addEventListener("DOMContentLoaded", () => {
    const keep = () => window.kept.push([
        document.querySelector("#drawing").cloneNode(true),
        Array.from({length: 8000}, (_, n) => ({n})),
    ]);
    setInterval(keep, 200);
});
"""
"""Keeps a drawing and some 300 kB five times a second, as a page would that lets go of nothing."""


@pytest.mark.trial(name="day-open")
def test_a_page_that_keeps_more_and_more_is_found_out(browser: Browser, tmp_path: Path) -> None:
    """The control for the test above, with the page itself."""
    grown = grows(held_through(browser, tmp_path, 1, DAY_SPEED, planted=LEAK))
    assert [one.split()[0] for one in grown] == ["heap_kB", "nodes"]


def test_what_grows_is_told() -> None:
    """The control for the test above."""
    still = [Held(n, 4000, 900, 50) for n in range(8)]
    assert grows(still) == []
    assert grows([Held(n, 4000, 900 + 90 * n, 50) for n in range(8)]) == ["nodes grew from 1080 to 1260"]
    assert grows([Held(n, 4000 + 400 * n, 900, 50) for n in range(8)]) == ["heap_kB grew from 4800 to 5600"]
    assert grows([*still[:-1], Held(8, 5000, 1200, 90)]) == []  # for a moment
