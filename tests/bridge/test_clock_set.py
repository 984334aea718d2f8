"""The computer's date and time are set while scripts run: nothing is timed by them; the record says so."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from exhibit.bridge.inbox import StopWanted
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.streams.recording import read_opened
from tests.bridge.bridge_world import Staged
from tests.bridge.test_another_day import LATE
from tests.decisions.again import check_decided_again
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import S, command, folder, pause, script

WORK = folder(
    script("round", command("begin", "BEGIN SHUTTLE", "begun"), pause("look", 4 * S)), rest_us=6 * S
)
ROUNDS = Wanted(before=(), rounds=3, after=())
DAY = timedelta(days=1)
SETS = {
    "back by a day": (-DAY,),
    "forth by a day": (DAY,),
    "back and forth by a day": (-DAY, timedelta()),
    "forth and back by a day": (DAY, timedelta()),
    "back by a leap second": (timedelta(seconds=-1),),
    "forth by a leap second": (timedelta(seconds=1),),
    "by an hour, as if summer time were the computer's own": (timedelta(hours=1), timedelta()),
    "to the year of a clock without a battery": (-26 * 365 * DAY,),
    "again and again": tuple(timedelta(hours=5 * (number % 3)) for number in range(1, 9)),
}  # fmt: skip
NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def run(place: Path, sets: tuple[timedelta, ...] = (), begins: datetime = NOON) -> Staged:
    """Three rounds; the clock is set after three seconds, and then each third second."""
    staged = Staged(place, WORK, ROUNDS, FarHeron(), begins=begins)
    for number, ahead in enumerate(sets, 1):
        staged.world.at(number * 3_100_000, lambda ahead=ahead: setattr(staged.world, "wall_ahead", ahead))
    staged.outcome = staged.bridge.run(stay_when_failed=False)
    return staged


def timed(staged: Staged) -> list[tuple[int, object]]:
    """All that was done, and when by the recording's clock."""
    dated = (kinds.Heartbeat, kinds.ClockStepped, kinds.RecordingOpened, kinds.RecordingClosed)
    return [(entry.at_us, entry.fact) for entry in staged.entries() if not isinstance(entry.fact, dated)]


@pytest.mark.parametrize("sets", SETS.values(), ids=SETS)
def test_whatever_the_clock_is_set_to_all_happens_at_the_same_moments_and_each_step_is_recorded(
    tmp_path, sets
):
    as_ever, staged = run(tmp_path / "as ever"), run(tmp_path / "set", sets)
    if isinstance(staged.outcome, kinds.CarriedOver):  # another day, by the new date: to that moment the same
        assert timed(staged) == timed(as_ever)[: len(timed(staged))]
    else:
        assert staged.outcome == as_ever.outcome == "done"
        assert timed(staged) == timed(as_ever)
        assert staged.typed == as_ever.typed
    steps = [fact.by_us for fact in staged.facts(kinds.ClockStepped)]
    before = (timedelta(), *sets)
    wanted = [
        round((after - was) / timedelta(microseconds=1)) for was, after in zip(before, sets, strict=False)
    ]
    assert steps == [by_us for by_us in wanted if by_us][: len(steps)]
    assert len(steps) >= 1
    check_decided_again(WORK, ROUNDS, staged.entries())


def test_the_end_of_summer_time_is_no_step_and_the_page_says_the_new_hour(tmp_path):
    """Local time goes back by an hour, but only because its offset from UTC changes."""
    staged = Staged(tmp_path, WORK, ROUNDS, FarHeron(), begins=NOON)
    summer, winter = timezone(timedelta(hours=2)), timezone(timedelta(hours=1))
    clock, world = staged.world.clock, staged.world
    clock._wall_now = lambda: world.wall().astimezone(summer if world.now_us < 5 * S else winter)
    staged.bridge.run(stay_when_failed=False)
    assert staged.facts(kinds.ClockStepped) == []
    walls = [fact.wall for fact in staged.facts(kinds.Heartbeat)]
    assert walls[0].endswith("+02:00")
    assert walls[-1].endswith("+01:00")
    moments = [read_wall(wall) for wall in walls]
    assert moments == sorted(moments)


@pytest.mark.parametrize(
    ("begins", "new_day"),
    [
        (datetime(2028, 2, 28, 23, 59, 55, tzinfo=UTC), "2028-02-29"),
        (datetime(2028, 2, 29, 23, 59, 55, tzinfo=UTC), "2028-03-01"),
        (datetime(2027, 2, 28, 23, 59, 55, tzinfo=UTC), "2027-03-01"),
        (datetime(2026, 12, 31, 23, 59, 55, tzinfo=UTC), "2027-01-01"),
    ],
)
def test_over_a_leap_day_and_a_new_year_each_day_has_its_recording(tmp_path, begins, new_day):
    staged = Staged(tmp_path, WORK, None, begins=begins)
    carried_over = staged.bridge.run(stay_when_failed=False)
    assert isinstance(carried_over, kinds.CarriedOver)
    staged.another_day(carried_over)
    assert read_opened(staged.writer.path).wall.startswith(new_day)
    staged.world.at(staged.world.now_us + 5 * S, StopWanted("enough"))
    assert staged.bridge.run(stay_when_failed=False) == "stopped"


def test_a_leap_second_at_midnight_begins_the_new_day_once(tmp_path):
    """Linux repeats the last second of the day."""
    staged = Staged(tmp_path, WORK, None, begins=LATE)
    staged.world.at(10_500_000, lambda: setattr(staged.world, "wall_ahead", timedelta(seconds=-1)))
    carried_over = staged.bridge.run(stay_when_failed=False)
    assert isinstance(carried_over, kinds.CarriedOver)
    staged.another_day(carried_over)
    staged.world.at(staged.world.now_us + 60 * S, StopWanted("enough"))
    assert staged.bridge.run(stay_when_failed=False) == "stopped"
    assert len(list(tmp_path.glob("*.exhibit"))) == 2


def test_a_clock_set_back_over_midnight_and_forth_again_begins_one_more_recording_and_no_other(tmp_path):
    staged = Staged(tmp_path, WORK, None, begins=LATE)
    carried_over = staged.bridge.run(stay_when_failed=False)
    staged.another_day(carried_over)
    now_us = staged.world.now_us
    staged.world.at(now_us + 5 * S, lambda: setattr(staged.world, "wall_ahead", -DAY))
    staged.world.at(now_us + 30 * S, lambda: setattr(staged.world, "wall_ahead", timedelta()))
    staged.world.at(now_us + 120 * S, StopWanted("enough"))
    carried_over = staged.bridge.run(stay_when_failed=False)
    assert isinstance(carried_over, kinds.CarriedOver)
    assert len(staged.facts(kinds.ClockStepped)) == 2
    staged.another_day(carried_over)
    assert staged.bridge.run(stay_when_failed=False) == "stopped"
    names = [read_opened(path).previous_file for path in sorted(tmp_path.glob("*.exhibit"))]
    assert len(names) == 3
