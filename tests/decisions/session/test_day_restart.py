"""A bridge that is started again in mid-day goes on with the day as it stood; it never opens it by itself."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.session.day_programme import ByTheDay
from exhibit.facts import kinds
from tests.decisions.again import check_decided_again
from tests.decisions.heron import S, command, folder, script
from tests.decisions.session.day import (
    CLOSING,
    FINDS_HOME,
    HERON,
    IN_PHASE,
    LANDMARKS,
    MIN,
    OPENING,
    day,
    in_round,
    left_by,
    next_day,
    opening,
    phase,
    phases,
    ran,
    restarted,
    resting,
    then,
)

pytestmark = pytest.mark.pure

GOES_ON = {
    "before opening": ("before opening", []),
    "opening": ("before opening", []),
    "rounds": ("rounds", ["round 2"]),
    "away": ("away", []),
    "quiet": ("quiet", []),
    "nobody there": ("nobody there", []),
    "stopped": ("stopped", []),
    "closing": ("closing", ["closing"]),
    "over": ("over", []),
}
"""By phase: in which it goes on, and what begins by itself within the next quarter of a minute."""


@pytest.mark.parametrize("come_to", IN_PHASE)
def test_after_a_restart_the_day_goes_on_in_its_phase_but_nothing_is_opened(come_to):
    presence_us = MIN if come_to == "nobody there" else None
    after = restarted(IN_PHASE[come_to](), presence_us=presence_us)
    assert (phase(after), ran(after)) == GOES_ON[come_to]
    check_decided_again(msgspec.structs.replace(HERON, presence_us=presence_us), ByTheDay(), after.entries)


@pytest.mark.parametrize("come_to", IN_PHASE)
def test_on_another_date_the_day_begins_before_its_opening(come_to):
    after = restarted(IN_PHASE[come_to](), date="2026-11-26")
    after.run(within_us=3600 * S)
    assert (phases(after), ran(after)) == (["before opening"], [])


@pytest.mark.parametrize("come_to", IN_PHASE)
def test_a_second_restart_leads_to_the_same_as_one(come_to):
    once = restarted(IN_PHASE[come_to]())
    twice = restarted(restarted(IN_PHASE[come_to](), after_us=S), after_us=9 * S)
    assert phase(twice) == phase(once)


def test_quiet_lasts_after_a_restart_for_what_is_left_of_it():
    before = then(resting(), "quiet")
    before.wait(4 * MIN)
    after = restarted(before, after_us=2 * MIN)
    after.run(lambda: bool(ran(after)))
    assert (after.now_us, phase(after), ran(after)) == (4 * MIN, "rounds", ["round 2"])


def test_the_time_without_the_program_counts_as_time_without_anybody():
    after = restarted(resting(day(presence_us=30 * MIN)), after_us=31 * MIN, presence_us=30 * MIN)
    assert (phase(after), ran(after)) == ("nobody there", [])


def test_a_stopped_opening_goes_on_after_a_restart_only_when_somebody_is_back():
    after = restarted(then(opening(), "stop"))
    assert (phase(after), ran(after)) == ("stopped", [])
    then(after, "back")
    assert (phase(after), ran(after)) == ("opening", ["opening"])


def test_a_run_that_was_none_of_a_day_leaves_no_day():
    driver = in_round()
    others = [entry for entry in driver.entries if not isinstance(entry.fact, kinds.DayTurned)]
    driver.entries = others
    assert left_by(driver).day is None


# -- what was left on the machine

WORK = script("round", command("go", "go", "begun"), tidy_up=(command("end", "end {go.job}", "ended"),))
WORKS = msgspec.structs.replace(
    folder(OPENING, WORK, CLOSING, machine=LANDMARKS, rest_us=60 * S), way_home=FINDS_HOME.way_home
)


@pytest.mark.parametrize("meanwhile", ["", "away", "close", "stop"])
def test_what_a_killed_round_had_started_is_stopped_first_whatever_the_phase(meanwhile):
    """Even where nothing is to begin: jobs may be running."""
    before = then(day(WORKS), "open")
    before.run(lambda: bool(before.facts(kinds.PlaceSought)))
    before.stands(b"READY: ")
    before.run(lambda: "round 1" in ran(before))
    for echo in (b"G", b"O"):
        before.prints(echo)
    before.run(lambda: before.typed.endswith(b"\r"))
    before.prints(b"\r\nJOB 7 BEGUN: GO\r\n")
    if meanwhile:
        then(before, meanwhile)
    after = restarted(before, WORKS)
    after.stands(b"READY: ")
    after.run(lambda: bool(after.facts(kinds.TidyUpStarted)))
    assert after.facts(kinds.ScriptStarted)[-1].script == "round"
    assert after.typed[-1:] == b"e"


def test_nothing_is_typed_after_a_restart_where_nothing_was_left_and_nothing_is_to_begin():
    after = restarted(then(resting(), "away"), FINDS_HOME)
    after.run(within_us=3600 * S)
    assert after.typed == b""


@pytest.mark.parametrize("date", ["", "2026-11-26"])
def test_after_hands_off_a_restart_types_nothing_until_somebody_has_looked(date):
    after = restarted(then(resting(), "hands off"), date=date)
    after.run(within_us=600 * S)
    assert (ran(after), after.over) == ([], "failed")
    assert "hands off" in after.facts(kinds.SessionFailed)[-1].why
    then(after, "clear")
    assert after.facts(kinds.SessionCleared)


def test_a_keyboard_that_was_taken_is_looked_at_after_a_restart():
    after = restarted(then(resting(), "here", "take keyboard"))
    after.run(within_us=600 * S)
    assert ran(after) == []
    [failed] = after.facts(kinds.SessionFailed)
    assert failed.why.endswith("had the keyboard when the program ended")
    given_back = restarted(then(resting(), "here", "take keyboard", "give back"))
    assert given_back.facts(kinds.SessionFailed) == []


# -- midnight

CARRIES = ("before opening", "rounds", "away", "quiet", "nobody there", "stopped", "over")


@pytest.mark.parametrize("come_to", CARRIES)
def test_the_new_file_at_midnight_keeps_the_day_and_the_day_that_is_over_is_followed_by_the_next(come_to):
    driver = IN_PHASE[come_to]()
    carried = driver.decider.carry_over(driver.now_us)
    assert carried is not None
    assert carried.day.phase == come_to
    after = next_day(driver)
    assert phase(after) == ("before opening" if come_to in ("over", "nobody there") else come_to)
    assert ran(after) == []
    if come_to == "rounds":
        after.run(lambda: bool(ran(after)))
        assert ran(after) == ["round 2"]


@pytest.mark.parametrize("come_to", ["opening", "closing"])
def test_no_new_file_begins_while_a_script_runs(come_to):
    driver = IN_PHASE[come_to]()
    assert driver.decider.carry_over(driver.now_us) is None
