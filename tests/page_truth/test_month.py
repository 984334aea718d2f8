"""A month of days leaves nothing behind in the page's process, nor in what each day hands on to the next."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from tests.sampling import number_of
from tests.trials.month import DAYS, MOST_GROWTH_KB, ROUNDS, AfterDay, month, wrong


@pytest.mark.trial(name="month")
def test_every_day_of_a_month_is_like_the_first(tmp_path: Path) -> None:
    days, rounds = number_of(whole=DAYS, daily=1), number_of(whole=ROUNDS, daily=1)
    found = month(tmp_path, days, rounds)
    assert wrong(found, rounds) == []
    assert [day.outcome for day in found] == ["done"] * days


def test_what_grows_or_is_untrue_is_told() -> None:
    """The control for the test above."""
    day = AfterDay(
        outcome="done",
        rounds=2,
        facts=9,
        first_fact_bytes=1000,
        untrue=[],
        memory_kB=60_000,
        threads=1,
        files=9,
        on_disc=1,
    )

    def like(**grows_by: int) -> list[AfterDay]:
        return [
            msgspec.structs.replace(
                day, on_disc=n + 1, **{name: getattr(day, name) + by * n for name, by in grows_by.items()}
            )
            for n in range(20)
        ]

    assert wrong(like(), 2) == []
    assert wrong(like(memory_kB=MOST_GROWTH_KB // 8), 2) == ["memory grew from 62560 to 69728 kB"]
    assert wrong(like(files=1), 2) == ["files grew from 14 to 28"]
    assert wrong(like(threads=1), 2) == ["threads grew from 6 to 20"]
    assert wrong(like(first_fact_bytes=50), 2) == ["the first fact grew from 1450 to 1950"]
    assert wrong([*like(), msgspec.structs.replace(day, rounds=1, on_disc=21)], 2) == [
        "day 20: done, 1 rounds, []"
    ]
