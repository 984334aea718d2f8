"""Step times: what counts as a run, and what its time is."""

import random
import sys

import pytest

from exhibit.facts import kinds
from exhibit.sums.step_times import StepTimes, Stopwatch

S_US = 1_000_000


def entries(*facts):
    """Entries out of seconds and facts."""
    return [kinds.Entry(seq, round(at_s * S_US), fact) for seq, (at_s, fact) in enumerate(facts, 1)]


def started(step, script="round"):
    return kinds.StepStarted(script=script, step=step)


def ended(step, script="round"):
    return kinds.StepEnded(script=script, step=step)


def failed(step, script="round", why="the line went away: unplugged"):
    return kinds.StepFailed(script=script, step=step, why=why)


def overdue(step, script="round", then="stop"):
    return kinds.StepOverdue(
        script=script, step=step, waited_for=["desk"], within_us=8 * S_US, last_lines=[], then=then
    )


def left_out(step, script="round"):
    return kinds.StepLeftOut(script=script, step=step, why="the job never began")


def step_times(recordings):
    """The times of all steps in these recordings, as a stopwatch takes them one after the other."""
    watch = Stopwatch()
    for recording in recordings:
        watch.interrupted()
        for entry in recording:
            watch.take(entry)
    return watch.steps


CLOSED = kinds.RecordingClosed(why="the day is over")


def test_a_run_lasts_from_its_start_to_its_end():
    recording = entries((1, started("a")), (1.5, kinds.Heartbeat(wall="")), (3.25, ended("a")))
    assert step_times([recording]) == {("round", "a"): StepTimes(good_us=[2_250_000])}


def test_runs_of_one_step_are_gathered_from_all_recordings():
    first = entries((1, started("a")), (3, ended("a")), (3, started("b")), (4, ended("b")))
    second = entries((10, started("a")), (13, ended("a")))
    found = step_times([first, second])
    assert found[("round", "a")].good_us == [2 * S_US, 3 * S_US]
    assert list(found) == [("round", "a"), ("round", "b")]


def test_steps_of_one_name_in_two_scripts_are_two():
    recording = entries(
        (1, started("a")), (3, ended("a")), (4, started("a", "closing")), (9, ended("a", "closing"))
    )
    assert {key: times.good_us for key, times in step_times([recording]).items()} == {
        ("round", "a"): [2 * S_US],
        ("closing", "a"): [5 * S_US],
    }


def test_a_run_that_was_late_and_given_up_was_cut_off():
    recording = entries((1, started("a")), (9, overdue("a")), (9, failed("a")))
    assert step_times([recording])["round", "a"] == StepTimes(overdue=1, cut_off=1)
    recording = entries((1, started("a")), (9, overdue("a")), (9, left_out("a")))
    assert step_times([recording])["round", "a"] == StepTimes(overdue=1, cut_off=1)


def test_a_run_whose_command_was_typed_again_was_cut_off_however_it_ended():
    again = overdue("a", then="again")
    recording = entries((1, started("a")), (9, again), (12, ended("a")), (13, started("a")), (15, ended("a")))
    assert step_times([recording])["round", "a"] == StepTimes(good_us=[2 * S_US], overdue=1, cut_off=1)


def test_a_run_that_was_late_and_waited_for_has_its_whole_time():
    recording = entries((1, started("a")), (9, overdue("a")), (12, ended("a")))
    assert step_times([recording])["round", "a"] == StepTimes(good_us=[11 * S_US], overdue=1)


def test_being_late_is_not_carried_into_the_next_run():
    recording = entries(
        (1, started("a")), (9, overdue("a")), (9, failed("a")), (9, started("b")), (10, failed("b"))
    )
    assert step_times([recording])["round", "b"] == StepTimes(failed=1)


def test_runs_that_failed_or_were_left_out_have_no_time():
    recording = entries((1, started("a")), (2, failed("a")), (3, started("b")), (3, left_out("b")))
    assert step_times([recording]) == {
        ("round", "a"): StepTimes(failed=1),
        ("round", "b"): StepTimes(left_out=1),
    }


def test_a_run_without_its_beginning_or_its_end_is_not_counted():
    assert step_times([entries((3, ended("a")))]) == {}
    assert step_times([entries((1, started("a")), (2, started("b")), (3, ended("a")))]) == {}
    assert step_times([entries((1, started("a"))), entries((3, ended("a")))]) == {}
    assert step_times([entries((1, started("a")), (2, CLOSED), (3, ended("a")))]) == {}


def test_a_run_with_damage_in_it_is_not_counted():
    watch = Stopwatch()
    begun, done = entries((1, started("a")), (3, ended("a")))
    watch.take(begun)
    watch.interrupted()
    watch.take(done)
    assert watch.steps == {}


def test_median_spread_and_slowest():
    # Hyndman and Fan 1996, definition 8, x = 1..10: 5.5 at .50, 2.9167 at .25; 8.0833 at .75 by symmetry.
    times = StepTimes(good_us=[7, 2, 9, 4, 1, 6, 3, 10, 5, 8])
    assert times.median_us == pytest.approx(5.5)
    assert times.spread_us == pytest.approx(8.0833 - 2.9167, abs=1e-4)
    assert times.slowest_us == 10


def test_the_bound_takes_account_of_runs_that_were_cut_off():
    good = [100 + run for run in range(59)]
    assert StepTimes(good_us=good).bound().upper == 158
    assert StepTimes(good_us=good, failed=3).bound().upper == 158
    assert StepTimes(good_us=good, overdue=1).bound().upper == 158
    cut_off = StepTimes(good_us=good, overdue=1, cut_off=1).bound()
    assert (cut_off.upper, cut_off.runs, cut_off.wanted) == (None, 60, 93)


def test_any_order_of_facts_is_accepted():
    dice = random.Random(3)
    makers = [started, ended, failed, overdue, left_out]
    for _ in range(300):
        recording = entries(*((at_s, dice.choice(makers)(dice.choice("ab"))) for at_s in range(30)))
        for times in step_times([recording]).values():
            assert all(us >= 0 for us in times.good_us)
            assert times.cut_off <= times.overdue


def test_an_entry_costs_the_same_however_many_came_before():
    def calls(runs):
        recording = entries(*((at_s, make("a")) for at_s in range(runs) for make in (started, ended)))
        count = 0

        def counted(frame, event, argument):
            nonlocal count
            count += event in ("call", "c_call")

        sys.setprofile(counted)
        try:
            step_times([recording])
        finally:
            sys.setprofile(None)
        return count

    assert calls(2000) - calls(1900) == calls(200) - calls(100)
