"""A machine is called silent only if something was due from it, and only until anything is heard."""

from __future__ import annotations

import pytest

from exhibit.decisions.console.silence import NOTHING_HEARD
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.heron import MACHINE, SECRET, S, command, folder, hands_on, opened, press, script, secret

WITHIN_US = MACHINE.typing.answer_within_us


def round_of(*steps, described=MACHINE) -> Driver:
    wanted = Wanted(before=(), rounds=1, after=())
    where = folder(script("round", *steps), machine=described)
    driver = Driver(decider_for(where, opened(described), wanted, {"word": SECRET}))
    driver.open_line()
    return driver


def watched() -> Driver:
    """Nothing is typed at it."""
    driver = Driver(decider_for(folder(script("round")), opened()))
    driver.open_line()
    return driver


def silent(driver: Driver) -> list[kinds.AnyFact]:
    return driver.facts(kinds.MachineSilent)


def rest_until(driver: Driver, at_us: int) -> None:
    """All deadlines pass that are due by then."""
    driver.run(within_us=at_us - driver.now_us)
    driver.now_us = max(driver.now_us, at_us)


def test_an_echo_that_never_comes_makes_it_silent_since_it_was_last_heard():
    driver = round_of(command("go", "go", "begun"))
    driver.wait(3 * S)
    driver.stands(b"READY: ")
    heard_us, typed_us = 3 * S, driver.now_us
    rest_until(driver, typed_us + WITHIN_US - 1)
    assert silent(driver) == []
    rest_until(driver, typed_us + WITHIN_US)
    assert silent(driver) == [kinds.MachineSilent(heard_us=heard_us, due_us=typed_us, due="typing")]


def test_it_is_said_once_and_withdrawn_when_anything_is_heard():
    driver = round_of(command("go", "go", "begun"))
    driver.stands(b"READY: ")
    rest_until(driver, 60 * S)
    driver.prints(b"?")
    driver.note(kinds.Heartbeat(wall="2026-11-25T09:01:00+00:00"))  # which the piece comes before
    assert len(silent(driver)) == 1
    assert driver.facts(kinds.HeardAgain) == [kinds.HeardAgain(silent_us=60 * S)]


def test_while_a_job_works_nothing_is_due_until_its_step_is_late():
    driver = round_of(command("go", "go", "begun"))
    driver.stands(b"READY: ")
    driver.prints(b"G")
    driver.prints(b"O")
    driver.passes("echo")
    driver.prints(b"\r\n")
    heard_us = driver.now_us
    rest_until(driver, 29 * S)
    assert silent(driver) == []
    rest_until(driver, 60 * S)
    (fact,) = silent(driver)
    assert (fact.due, fact.heard_us) == ("step", heard_us)
    assert fact.due_us < 31 * S


def test_a_person_who_is_slow_makes_no_machine_silent():
    driver = round_of(hands_on("turn"))
    driver.stands(b"READY: ")
    rest_until(driver, 700 * S)
    assert driver.facts(kinds.StepOverdue) != []
    assert silent(driver) == []


def test_a_secret_has_no_echo_but_its_return_has_an_answer():
    driver = round_of(secret("say"))
    driver.stands(b"SIGN WORD? ")
    while not driver.typed.endswith(b"\r"):
        driver.passes("echo")
    returned_us = driver.now_us
    rest_until(driver, returned_us + WITHIN_US)
    assert [fact.due_us for fact in silent(driver)] == [returned_us]


def test_a_resting_machine_is_not_called_silent():
    driver = watched()
    driver.stands(b"READY: ")
    rest_until(driver, 3600 * S)
    assert silent(driver) == []
    assert NOTHING_HEARD not in driver.deadlines


FRAME = b"\x1b[2J\x1b[1;1HHERON BOARD 09.15\x1b[3;1HLOAD 3\x1b[24;1H"


@pytest.mark.parametrize("every_s", [2, 20])
def test_a_display_that_came_regularly_and_stopped_is_due(every_s):
    driver = watched()
    for _ in range(3):
        rest_until(driver, driver.now_us + every_s * S)
        driver.prints(FRAME)
    stopped_us = driver.now_us
    rest_until(driver, stopped_us + every_s * S + WITHIN_US - 1)
    assert silent(driver) == []
    rest_until(driver, stopped_us + every_s * S + WITHIN_US)
    (fact,) = silent(driver)
    assert (fact.due, fact.heard_us, fact.due_us) == ("display", stopped_us, stopped_us + every_s * S)


def test_a_display_that_comes_when_it_pleases_is_never_due():
    driver = watched()
    for pause_s in (1, 30, 4, 50):
        rest_until(driver, driver.now_us + pause_s * S)
        driver.prints(FRAME)
    rest_until(driver, 3600 * S)
    assert silent(driver) == []


def test_a_display_that_gave_way_to_text_is_not_due():
    driver = watched()
    for _ in range(4):
        rest_until(driver, driver.now_us + 2 * S)
        driver.prints(FRAME)
    driver.prints(b"\x1b[2J\r\n\r\nGOOD NIGHT\r\n")
    rest_until(driver, 3600 * S)
    assert silent(driver) == []


def test_a_lost_line_is_not_a_silent_machine():
    driver = round_of(command("go", "go", "begun"))
    driver.stands(b"READY: ")
    driver.lose_line()
    rest_until(driver, 3600 * S)
    assert silent(driver) == []


def test_a_key_that_nobody_answers_makes_it_silent():
    driver = round_of(press("key", "space", "begun"))
    driver.prints(b"SOMETHING\r\n")
    rest_until(driver, 20 * S)
    assert [fact.due for fact in silent(driver)] == ["typing"]


def test_a_person_at_the_machine_ends_it():
    driver = round_of(press("key", "space", "ready"))
    rest_until(driver, 10 * S)
    assert len(silent(driver)) == 1
    driver.note(kinds.HandsOnConfirmed(step="turn", by="a docent"))
    driver.prints(b"X")
    assert driver.facts(kinds.HeardAgain) == []
