"""A page that stays open holds no more late than early. For a whole day: tests/trials/day_open.py."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser

from tests.trials.day_open import Held, grows, held_through


def test_an_hour_leaves_nothing_behind_in_the_page(browser: Browser, tmp_path: Path) -> None:
    assert grows(held_through(browser, tmp_path, hours=1, speed=600)) == []


def test_what_grows_is_told() -> None:
    """The control for the test above."""
    still = [Held(n, 4000, 900, 50) for n in range(8)]
    assert grows(still) == []
    assert grows([Held(n, 4000, 900 + 90 * n, 50) for n in range(8)]) == ["nodes grew from 1080 to 1260"]
    assert grows([Held(n, 4000 + 400 * n, 900, 50) for n in range(8)]) == ["heap_kB grew from 4800 to 5600"]
    assert grows([*still[:-1], Held(8, 5000, 1200, 90)]) == []  # for a moment
