"""What was used is summed up rightly: within the hour, over midnight and New Year, over restarts and gaps."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from exhibit.decisions.wear.use import LONG_GAP_US, Use
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.use_before import UseBefore
from tests.decisions.heron import S, opened
from tests.decisions.session import test_limits

MIN = 60 * S
H = 60 * MIN
NINE = "2026-11-25T09:00:00+01:00"


def begun(minutes: float, at_us: int = 0, name: str = "work", job: str = "1", rate: int = 1):
    ends_us = at_us + round(minutes * MIN) if minutes else 0
    return at_us, kinds.ExerciserBegun(exerciser=name, job=job, part="left", ends_us=ends_us)


def ended(at_us: int, name: str = "work", job: str = "1"):
    return at_us, kinds.ExerciserEnded(exerciser=name, job=job, by="stopped")


def used(*facts, until_us: int, wall: str = NINE, before: UseBefore | None = None, **more) -> Use:
    use = Use(opened(wall=wall, use_before=before, **more))
    for at_us, fact in facts:
        use.note(at_us, fact)
    use.pass_time(until_us)
    return use


def later(wall: str, us: int) -> str:
    return (read_wall(wall) + timedelta(microseconds=us)).isoformat()


def test_two_exercisers_for_ten_minutes_are_twenty_minutes():
    use = used(begun(30), begun(30, job="2"), ended(10 * MIN), ended(10 * MIN, job="2"), until_us=H)
    assert use.today.exercised_us == use.year_us == 20 * MIN


def test_one_whose_end_nobody_saw_counts_until_its_own_end():
    assert used(begun(4), until_us=20 * MIN).today.exercised_us == 4 * MIN


def test_one_that_does_not_end_by_itself_counts_for_as_long_as_nobody_saw_its_end():
    assert used(begun(0), until_us=50 * MIN).today.exercised_us == 50 * MIN
    assert used(begun(0), ended(20 * MIN), until_us=50 * MIN).today.exercised_us == 20 * MIN


@pytest.mark.parametrize(
    ("until_us", "hour_us"),
    [(10 * MIN, 10 * MIN), (H, 10 * MIN), (H + 4 * MIN, 6 * MIN), (H + 10 * MIN, 0), (9 * H, 0)],
)
def test_the_last_hour_moves_on_with_time(until_us, hour_us):
    assert used(begun(10), until_us=until_us).hour_us() == hour_us


def test_the_hour_has_room_again_when_enough_has_gone_out_of_it():
    use = used(begun(10), begun(10, 20 * MIN, job="2"), until_us=40 * MIN)
    assert use.hour_us() == 20 * MIN
    assert use.hour_is_below_us(20 * MIN) == 40 * MIN
    assert use.hour_is_below_us(15 * MIN) == H + 5 * MIN
    assert use.hour_is_below_us(10 * MIN) == H + 10 * MIN
    assert use.hour_is_below_us(0) == H + 30 * MIN


@pytest.mark.parametrize("most_min", range(0, 25, 3))
def test_the_hour_is_below_its_limit_then_and_was_not_a_second_before(most_min):
    facts = [begun(10), begun(7, 5 * MIN, job="2"), begun(4, 30 * MIN, job="3")]
    then_us = used(*facts, until_us=40 * MIN).hour_is_below_us(most_min * MIN)
    assert used(*facts, until_us=then_us).hour_us() <= most_min * MIN
    if then_us > 40 * MIN:
        assert used(*facts, until_us=then_us - S).hour_us() > most_min * MIN


def test_those_that_go_on_count_as_far_as_they_will_go():
    use = used(begun(10), begun(0, job="2"), until_us=4 * MIN)
    assert use.rest_of_running_us() == 6 * MIN


def test_at_midnight_another_day_begins_and_at_new_year_another_year():
    use = used(begun(60), until_us=H, wall="2026-12-31T23:40:00+01:00")
    assert use.today.exercised_us == use.year_us == 40 * MIN
    before = use.before(H)
    assert {date: day.exercised_us for date, day in before.days.items()} == {
        "2026-12-31": 20 * MIN,
        "2027-01-01": 40 * MIN,
    }
    assert before.years == {"2026": 20 * MIN, "2027": 40 * MIN}
    assert use.hour_us() == H


def test_midnight_is_that_of_the_computers_own_time():
    use = used(begun(60), until_us=H, wall="2026-11-25T23:40:00-05:00")
    assert use.before(H).days["2026-11-25"].exercised_us == 20 * MIN


def test_a_clock_that_steps_back_loses_nothing():
    step = (30 * MIN, kinds.ClockStepped(by_us=-H, wall=later(NINE, -30 * MIN)))
    use = used(begun(20), step, until_us=40 * MIN)
    assert use.hour_us() == use.today.exercised_us == 20 * MIN


def test_at_a_rate_the_museums_own_time_counts():
    at_rate = used(begun(20), until_us=40 * MIN, rate=20.0)
    assert at_rate.today.exercised_us == at_rate.hour_us() == MIN
    assert at_rate.hour_is_below_us(0) == 20 * MIN + 20 * H


# -- over several recordings


def carried(use: Use, at_us: int, gap_us: int, wall: str = NINE, **more) -> Use:
    return Use(opened(wall=later(wall, at_us + gap_us), use_before=use.before(at_us), **more))


def a_morning(shift_us: int) -> list[tuple[int, kinds.AnyFact]]:
    """What happened from nine o'clock on, by a clock that began `shift_us` later."""
    return [
        begun(10, -shift_us),
        (2 * MIN - shift_us, kinds.PartStarted(part="left", by="left-ready")),
        (2 * MIN - shift_us, kinds.DiscErrorsCounted(by="board.errors", count=3, stands_at=3)),
        begun(8, 3 * MIN - shift_us, job="2"),
        begun(5, 20 * MIN - shift_us, job="3"),
        ended(22 * MIN - shift_us, job="3"),
        (65 * MIN - shift_us, kinds.PartStopped(part="left", by="left-stopped")),
    ]


@pytest.mark.parametrize("cut_us", [1, MIN, 2 * MIN, 4 * MIN, 9 * MIN + 7, 21 * MIN, 25 * MIN, H])
def test_a_restart_resets_nothing(cut_us):
    first = used(*[one for one in a_morning(0) if one[0] < cut_us], until_us=cut_us)
    second = carried(first, cut_us, 0)
    for at_us, fact in a_morning(cut_us):
        if at_us >= 0:
            second.note(at_us, fact)
    whole = used(*a_morning(0), until_us=70 * MIN)
    assert second.before(70 * MIN - cut_us) == whole.before(70 * MIN)
    assert second.hour_us() == whole.hour_us() > 0


def test_what_ran_when_the_bridge_was_killed_ran_on_to_its_own_end():
    first = used(begun(30), until_us=10 * MIN)
    second = carried(first, 10 * MIN, 50 * MIN)
    assert second.today.exercised_us == 30 * MIN
    assert second.running == []


def test_what_ran_before_a_gap_and_goes_on_behind_it_is_still_known():
    second = carried(used(begun(30), until_us=10 * MIN), 10 * MIN, 5 * MIN)
    assert [(busy.job, busy.ends_us) for busy in second.running] == [("1", 15 * MIN)]
    second.note(MIN, ended(MIN)[1])
    assert second.today.exercised_us == 16 * MIN


@pytest.mark.parametrize(("gap_us", "is_known"), [(LONG_GAP_US, True), (LONG_GAP_US + S, False)])
def test_after_a_long_gap_nobody_says_that_a_part_runs_or_an_endless_exerciser_goes_on(gap_us, is_known):
    first = used(begun(0), (0, kinds.PartStarted(part="left", by="left-ready")), until_us=MIN)
    second = carried(first, MIN, gap_us)
    assert second.is_running("left") == bool(second.running) == is_known
    assert second.parts["left"].run_us == MIN


@pytest.mark.parametrize(("gap_us", "is_known"), [(0, True), (3 * LONG_GAP_US, True), (24 * H, False)])
def test_a_part_that_stopped_is_still_known_to_stand_in_the_next_recording(gap_us, is_known):
    """As over midnight, or a lunch with the computer off. The next day, the opening asks for it anew."""
    first = used(started(0), stopped(S), until_us=MIN)
    second = carried(first, MIN, gap_us)
    assert second.stopped == ({"left"} if is_known else set())
    second.note(*started(2 * S))
    assert second.stopped == set()


def test_yesterdays_use_is_not_todays():
    second = carried(used(begun(20), until_us=H), H, 24 * H)
    assert second.today.exercised_us == second.hour_us() == 0
    assert second.year_us == 20 * MIN


def test_a_recording_that_says_it_began_before_the_last_one_ended_loses_nothing():
    second = carried(used(begun(20), until_us=H), H, -10 * MIN)
    assert second.today.exercised_us == 20 * MIN


# -- parts


def started(at_us: int, by: str = "left-ready"):
    return at_us, kinds.PartStarted(part="left", by=by)


def stopped(at_us: int, by: str = "left-stopped"):
    return at_us, kinds.PartStopped(part="left", by=by)


def test_hours_starts_and_stops_of_a_part_are_counted():
    use = used(started(0), stopped(H), started(2 * H), stopped(2 * H + MIN), until_us=3 * H)
    part = use.parts["left"]
    assert (part.run_us, part.starts, part.stops) == (H + MIN, 2, 2)
    assert use.today.starts == use.today.stops == {"left": 2}


def test_a_start_that_a_person_confirms_and_the_machine_tells_is_one():
    for by in (("opening.start-left", "left-ready"), ("left-ready", "opening.start-left")):
        use = used(started(0, by[0]), started(20 * S, by[1]), until_us=MIN)
        assert use.parts["left"].starts == 1


def test_a_start_told_twice_by_the_machine_is_a_second_one_whose_stop_nobody_saw():
    use = used(started(0), started(H), until_us=2 * H)
    assert (use.parts["left"].starts, use.parts["left"].run_us) == (2, 2 * H)


def test_a_stop_told_twice_is_one():
    use = used(started(0), stopped(H, "closing.stop-left"), stopped(H + S), until_us=2 * H)
    assert use.parts["left"].stops == 1


# -- packs and rounds


def test_a_pack_is_mounted_until_it_is_out_or_another_one_is_in():
    mounted = (0, kinds.PackMounted(label="A", drive="left", may_be_written=True, by="1", original=True))
    other = (MIN, kinds.PackMounted(label="B", drive="left", may_be_written=False, by="1"))
    second = carried(used(mounted, until_us=H), H, 24 * H)
    assert (second.packs["left"].label, second.packs["left"].original) == ("A", True)
    assert used(mounted, other, until_us=H).packs["left"].label == "B"
    removed = (MIN, kinds.PackRemoved(label="A", drive="left", by="1"))
    assert used(mounted, removed, until_us=H).packs == {}


def test_the_end_of_the_last_round_is_carried_on_and_that_of_another_script_is_none():
    script = kinds.ScriptStarted(script="round", title={}, by="", round=1)
    end = kinds.ScriptEnded(script="round", outcome="done", tidy=True, why="")
    use = used((0, script), (MIN, end), until_us=2 * MIN)
    assert carried(use, 2 * MIN, MIN).round_ended_us == -2 * MIN
    use = used((0, kinds.ScriptStarted(script="opening", title={}, by="")), (MIN, end), until_us=2 * MIN)
    assert use.round_ended_us is None


def test_what_is_carried_on_can_be_written_in_a_recording():
    use = used(begun(0), started(0), until_us=MIN, wall="2026-03-29T01:59:30+01:00")
    before = use.before(MIN)
    assert datetime.fromisoformat(before.at) == datetime.fromisoformat("2026-03-29T02:00:30+01:00")
    assert Use(opened(wall=before.at, use_before=before)).before(0) == before


def test_of_a_clock_that_was_set_back_what_was_used_before_does_not_lie_ahead():
    """As when a computer without a battery clock begins with a date of long ago."""
    began = kinds.ScriptStarted(script="round", title={}, by="", round=1)
    over = kinds.ScriptEnded(script="round", outcome="done", tidy=True, why="")
    first = used((0, began), begun(10), begun(4, 8 * MIN, job="2"), (9 * MIN, over), until_us=9 * MIN)
    for wall in ("1970-01-01T00:00:20+00:00", later(NINE, -H)):
        again = Use(opened(wall=wall, use_before=first.before(9 * MIN)))
        assert again.rest_of_running_us() == MIN + 3 * MIN
        assert again.hour_us() == 10 * MIN
        assert again.round_ended_us == 0
        again.pass_time(2 * H)
        assert (again.rest_of_running_us(), again.hour_us()) == (0, 0)


def test_today_is_kept_though_a_wrong_clock_told_of_a_week_of_later_days():
    use = used(begun(10), until_us=20 * MIN)
    for day in range(1, 9):
        wall = f"2031-03-{day:02}T12:00:00+01:00"
        use.note(30 * MIN + day, kinds.ClockStepped(by_us=1, wall=wall))
        use.note(30 * MIN + day, kinds.PartStarted(part="left", by=f"left-ready-{day}"))
    use.note(40 * MIN, kinds.ClockStepped(by_us=-1, wall=later(NINE, 40 * MIN)))
    again = carried(use, 41 * MIN, MIN)
    assert again.today.exercised_us == 10 * MIN


def test_minutes_that_no_exerciser_has_are_no_end():
    """A number that the line spoilt: no recording could hold so late a time."""
    rules = test_limits.WORK
    assert rules.lasts_us({rules.minutes: "99999"}) == 99_999 * MIN
    assert rules.lasts_us({rules.minutes: "999999999999999"}) is None
