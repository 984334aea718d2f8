"""A bridge that is started again in mid-day goes on with the day as it stood; it never opens it by itself."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.session.day_programme import PARTS, ByTheDay
from exhibit.facts import kinds
from exhibit.facts.use_before import UseBefore
from tests.decisions.again import check_decided_again
from tests.decisions.driver import Driver
from tests.decisions.heron import S, command, folder, script
from tests.decisions.session import test_limits
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


# -- what holds the rounds


def a_part_stands() -> Driver:
    """Half a minute before midnight."""
    driver = test_limits.resting_for_the_hour("2026-11-25T23:39:30+00:00")
    driver.prints(b"LEFT STANDS\r\n")
    return driver


def used(driver: Driver) -> UseBefore:
    return driver.decider.use_before(driver.now_us)


def turned(driver: Driver) -> tuple[str, str, str]:
    fact = driver.facts(kinds.DayTurned)[-1]
    return fact.phase, fact.by, fact.why


HOLDING = test_limits.RESTS_FOR_THE_HOUR
BEFORE = {
    "midnight": (next_day, "so it was before midnight"),
    "a restart": (restarted, "so it was before the program was started again"),
}


@pytest.mark.parametrize("last", BEFORE)
@pytest.mark.parametrize("first", BEFORE)
def test_what_a_person_has_to_see_to_is_said_after_midnight_and_after_a_restart(first, last):
    """And after any number of them, with only the last one named."""
    driver = a_part_stands()
    for name in (first, last):
        goes_on, before = BEFORE[name]
        driver = goes_on(driver, HOLDING, used=used(driver))
        assert turned(driver) == ("stopped", PARTS, f"{test_limits.STANDS}; {before}")


@pytest.mark.parametrize("name", BEFORE)
def test_what_holds_the_rounds_is_looked_at_again_and_goes_once_it_was_seen_to(name):
    before = a_part_stands()
    driver = BEFORE[name][0](before, HOLDING, used=used(before))
    if not driver.facts(kinds.LineOpened):
        driver.open_line()
    driver.asks("back")
    assert turned(driver) == ("stopped", PARTS, test_limits.STANDS)
    driver.prints(b"LEFT TURNS\r\n")
    driver.asks("back")
    assert phase(driver) == "rounds"


def test_where_nobody_gave_a_reason_none_is_made_up():
    driver = restarted(then(resting(), "close"))
    assert turned(driver)[2] == "so it was before the program was started again"
