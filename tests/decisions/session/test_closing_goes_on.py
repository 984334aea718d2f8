"""A closing of which only steps by hand are left goes on where it was broken off, and types nothing."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.rehearsal.recorded_run import runs_of
from exhibit.decisions.rehearsal.rehearsal import Rehearsal
from exhibit.decisions.session.day_programme import ByTheDay
from exhibit.facts import kinds
from tests.decisions.again import check_decided_again
from tests.decisions.driver import Driver
from tests.decisions.heron import AT_REST, S, folder, hands_on, pause, script, wait
from tests.decisions.session.day import LANDMARKS, OPENING, ROUND, day, phase, ran, restarted

pytestmark = pytest.mark.pure

CLOSING = script(
    "closing", wait("is-down", "ready"), hands_on("discs"), pause("stand-still"), hands_on("lock")
)
HERON = msgspec.structs.replace(
    folder(OPENING, ROUND, CLOSING, machine=LANDMARKS, rest_us=60 * S), way_home=AT_REST
)


def asked(driver: Driver) -> list[str]:
    steps = [step.name for step in CLOSING.steps]
    return [fact.step for fact in driver.facts(kinds.HandsOnAsked) if fact.step in steps]


def begun(driver: Driver) -> list[str]:
    """With which step each closing began."""
    facts = driver.facts(kinds.ScriptStarted)
    return [fact.from_step or "the first" for fact in facts if fact.script == "closing"]


def closing() -> Driver:
    """A closing that waits until the machine has shut down."""
    driver = day(HERON)
    driver.asks("open")
    driver.run(lambda: ran(driver) == ["opening"])
    driver.asks("confirm", "key")
    driver.run(lambda: ran(driver)[-1] == "round 1")
    driver.asks("close")
    driver.run(lambda: ran(driver)[-1] == "closing")
    return driver


def at_discs() -> Driver:
    """The machine has shut down, and the discs are to be stopped by hand."""
    driver = closing()
    driver.stands(b"READY: ")
    assert asked(driver) == ["discs"]
    return driver


def at_lock() -> Driver:
    """The last step by hand."""
    driver = at_discs()
    driver.asks("confirm", "discs")
    driver.passes("step")
    assert asked(driver) == ["discs", "lock"]
    return driver


def check_nothing_was_typed_and_it_ends(driver: Driver, typed: bytes) -> None:
    driver.asks("confirm", "lock")
    driver.run(within_us=3600 * S)
    assert driver.typed == typed
    assert (phase(driver), driver.over) == ("over", None)
    check_decided_again(HERON, ByTheDay(), driver.entries)


def test_a_closing_stopped_at_a_step_by_hand_goes_on_at_that_step():
    driver = at_lock()
    typed = driver.typed
    driver.asks("stop")
    assert (phase(driver), driver.facts(kinds.ScriptEnded)[-1].outcome) == ("stopped", "stopped")
    driver.asks("back")
    assert asked(driver) == ["discs", "lock", "lock"]
    assert begun(driver) == ["the first", "lock"]
    check_nothing_was_typed_and_it_ends(driver, typed)


def test_a_closing_stopped_while_it_pauses_between_two_of_them_goes_on_with_the_pause():
    driver = at_discs()
    driver.asks("confirm", "discs")
    typed = driver.typed
    driver.asks("stop")
    driver.asks("back")
    assert begun(driver) == ["the first", "stand-still"]
    driver.passes("step")
    check_nothing_was_typed_and_it_ends(driver, typed)


def test_a_closing_stopped_twice_goes_on_twice():
    driver = at_lock()
    typed = driver.typed
    for _ in range(2):
        driver.asks("stop")
        driver.asks("back")
    assert begun(driver) == ["the first", "lock", "lock"]
    check_nothing_was_typed_and_it_ends(driver, typed)


@pytest.mark.parametrize("breaks_off", ["refuse", "hands off"])
def test_a_closing_that_failed_at_a_step_by_hand_goes_on_there_when_somebody_has_looked(breaks_off):
    driver = at_lock()
    typed = driver.typed
    driver.asks(breaks_off, "lock", why="it sticks")
    assert driver.over == "failed"
    driver.asks("clear")
    assert begun(driver) == ["the first", "lock"]
    check_nothing_was_typed_and_it_ends(driver, typed)


def test_a_closing_that_still_waits_for_the_machine_begins_with_its_first_step_after_homing():
    driver = closing()
    sought = len(driver.facts(kinds.PlaceSought))
    driver.asks("stop")
    driver.asks("back")
    assert len(driver.facts(kinds.PlaceSought)) == sought + 1
    driver.stands(b"READY: ")
    driver.run(lambda: len(begun(driver)) == 2)
    assert begun(driver) == ["the first", "the first"]


@pytest.mark.parametrize(
    "since",
    [
        (kinds.TypedByHand(bytes="A", count=1),),
        (kinds.BytesTyped(bytes="A", count=1, by="engineer 1"),),
        (kinds.PartStarted(part="lower-drive", by="lower-ready"),),
        (kinds.KeyboardTaken(by="engineer 1"), kinds.KeyboardGivenBack(by="engineer 1")),
        (kinds.LineLost(why="unplugged"), kinds.LineOpened(line="a line")),
    ],
)
def test_once_the_machine_may_stand_otherwise_it_does_not_go_on_there(since):
    driver = at_lock()
    driver.asks("stop")
    sought = len(driver.facts(kinds.PlaceSought))
    for fact in since:
        driver.note(fact)
    driver.asks("back")
    assert begun(driver) == ["the first"]
    assert len(driver.facts(kinds.PlaceSought)) == sought + 1


def test_a_day_that_was_opened_again_has_its_whole_closing():
    driver = at_lock()
    for request in ("stop", "close", "hands off", "close", "clear", "open"):
        driver.asks(request)
    driver.run(lambda: "round" in ran(driver)[-1])
    driver.asks("stop")
    driver.asks("close")
    driver.run(lambda: ran(driver)[-1] == "closing")
    assert begun(driver)[-1] == "the first"


def test_after_a_restart_it_is_not_known_any_more_where_it_was_broken_off():
    driver = restarted(at_lock(), HERON)
    assert begun(driver) == []
    assert len(driver.facts(kinds.PlaceSought)) == 1


def test_a_run_that_went_on_in_the_middle_is_rehearsed_from_there():
    driver = at_lock()
    driver.asks("stop")
    driver.asks("back")
    driver.asks("confirm", "lock")
    opened = driver.entries[0].fact
    assert isinstance(opened, kinds.RecordingOpened)
    rehearsal = Rehearsal(HERON, opened)
    last = [rehearsal.take(run) for run in runs_of(iter(driver.entries))][-1]
    assert [step.name for step in last.then.steps] == [step.name for step in last.now.steps] == ["lock"]
    assert (last.now.outcome, last.notes, last.stopped) == ("done", {}, "")
