"""Hands off: nothing more is typed, in whatever state; then a person looks, and it goes on from there."""

from __future__ import annotations

import pytest

from exhibit.facts import kinds
from tests.decisions.driver import Driver
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import CANCEL, S, command, hands_on, pause
from tests.decisions.one_round import END_IT, GO, STATES, one_round
from tests.decisions.session.test_homing import described, started


def said(driver: Driver) -> bytes:
    before = driver.typed
    driver.asks("hands off")
    return driver.typed[len(before) :]


@pytest.mark.parametrize("state", STATES)
def test_nothing_more_is_typed_in_whatever_state_not_even_a_tidy_up(state):
    come_to, step, _ = STATES[state]
    driver = Driver(one_round(step, tidy_up=(command("leave", "leave", "ready"),)))
    come_to(driver)
    assert said(driver) == b""
    typed = driver.typed
    driver.prints(b"\x13\x11")
    driver.prints(b"\r\nREADY: ")
    driver.run(within_us=120 * S)
    assert driver.typed == typed
    (off,) = driver.facts(kinds.HandsOff)
    assert off.by == "a docent"
    assert driver.over == "failed"
    assert driver.facts(kinds.TidyUpStarted) == []


def test_what_stands_half_typed_is_named():
    driver = Driver(one_round(GO, tidy_up=(END_IT,)))
    STATES["typing"][0](driver)
    said(driver)
    (off,) = driver.facts(kinds.HandsOff)
    assert off.standing == "g"


def test_in_the_middle_of_a_tidy_up_it_ends_that_too():
    driver = Driver(one_round(pause("look"), tidy_up=(command("leave", "leave", "ready"),)))
    driver.open_line()
    driver.passes("step")
    driver.stands(b"READY: ")
    assert driver.typed == b"l"
    assert said(driver) == b""
    (ended,) = driver.facts(kinds.ScriptEnded)
    assert (ended.outcome, ended.tidy) == ("failed", False)


def test_between_two_rounds_none_begins_any_more():
    driver = Driver(one_round(hands_on("key")))
    driver.asks("hands off")
    driver.open_line()
    assert driver.facts(kinds.ScriptStarted) == []
    assert driver.over == "failed"


def test_once_somebody_has_looked_what_stands_there_is_cancelled_first_and_then_the_job_is_stopped():
    far_end = FarHeron()
    driver = started(far_end, where=described())
    driver.run(lambda: len(far_end.jobs) == 1)
    driver.run(lambda: driver.typed.endswith(b"en"))  # of "end 1", in the tidy-up
    said(driver)
    assert far_end.jobs
    driver.run(within_us=60 * S)
    typed = driver.typed
    driver.asks("clear")
    driver.run(lambda: not far_end.jobs)
    assert driver.typed[len(typed) :].startswith(CANCEL)
    assert far_end.executed[-1] == "END 1"
