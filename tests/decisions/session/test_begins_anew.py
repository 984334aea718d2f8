"""After a power failure the opening begins anew: with the keyholder's word, and after the usual homing."""

from __future__ import annotations

import pytest

from exhibit.decisions.session.day_programme import ByTheDay
from exhibit.decisions.session.day_requests import AGREED
from exhibit.facts import kinds
from tests.decisions.again import check_decided_again
from tests.decisions.driver import Driver
from tests.decisions.heron import S
from tests.decisions.session.day import FINDS_HOME, HERON, IN_PHASE, day, phase, ran, refused, then

pytestmark = pytest.mark.pure

OPEN = ("opening", "rounds", "away", "quiet", "stopped")


def failed(come_to: str = "rounds") -> Driver:
    driver = then(IN_PHASE[come_to](), "hands off")
    assert driver.over == "failed"
    return driver


@pytest.mark.parametrize("come_to", OPEN)
def test_with_the_keyholders_word_the_opening_begins_at_its_first_step(come_to):
    driver = failed(come_to)
    driver.asks("open", why=AGREED)
    assert phase(driver) == "opening"
    assert ran(driver)[-1] == "opening"
    assert driver.facts(kinds.HandsOnAsked)[-1].step == "key"
    assert driver.facts(kinds.SessionCleared)
    check_decided_again(HERON, ByTheDay(), driver.entries)


@pytest.mark.parametrize("come_to", OPEN)
def test_without_it_nothing_begins(come_to):
    driver = failed(come_to)
    before = ran(driver)
    driver.asks("open")
    driver.asks("open", why="it looks all right")
    assert len(refused(driver)) == 2
    assert (driver.over, ran(driver)) == ("failed", before)
    assert driver.facts(kinds.SessionCleared) == []


def test_the_word_alone_opens_no_day_that_runs():
    driver = IN_PHASE["rounds"]()
    driver.asks("open", why=AGREED)
    assert refused(driver) == ["the day is open already"]
    assert phase(driver) == "rounds"


def at_home() -> Driver:
    """Homing has found the machine, the opening has begun, and then somebody said hands off."""
    driver = then(day(FINDS_HOME), "open")
    driver.run(lambda: "opening" in ran(driver))
    return then(driver, "hands off")


def test_a_silent_machine_is_listened_to_before_its_opening_begins():
    driver = at_home()
    sought = len(driver.facts(kinds.PlaceSought))
    driver.asks("open", why=AGREED)
    assert ran(driver) == ["opening"]
    assert len(driver.facts(kinds.PlaceSought)) == sought + 1
    driver.run(lambda: ran(driver) == ["opening", "opening"], within_us=60 * S)
    assert driver.facts(kinds.PlaceRecognised)[-1].place == "silent"


def test_a_machine_that_never_lost_its_power_is_not_opened_again_and_gets_no_command():
    driver = at_home()
    driver.asks("open", why=AGREED)
    driver.stands(b"READY: ")
    typed = driver.typed
    driver.run(lambda: bool(driver.facts(kinds.ScriptLeftOut)), within_us=60 * S)
    assert driver.facts(kinds.ScriptLeftOut)[-1].script == "opening"
    assert driver.typed[len(typed) :].strip(b"\r") == b""


def test_on_a_full_disc_nothing_begins():
    driver = failed()
    driver.note(kinds.RecordNearlyFull(left_bytes=1))
    driver.asks("open", why=AGREED)
    assert "was full" in refused(driver)[-1]
    assert driver.over == "failed"
