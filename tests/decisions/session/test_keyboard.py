"""A person can have the keyboard: between scripts, while somebody is at the machine, and one at a time."""

from __future__ import annotations

import pytest

from exhibit.decisions.session.keyboard import PRESENT_WITHIN_US, SURE
from exhibit.facts import kinds
from tests.decisions.driver import Driver
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import S, hands_on, pause
from tests.decisions.one_round import one_round
from tests.decisions.session.test_homing import described, started

BY = "an engineer"


def failed(*, seen: bool = True) -> Driver:
    """A session that has failed, so that no script types; somebody has just said that they are there."""
    driver = Driver(one_round(hands_on("key")))
    driver.open_line()
    driver.asks("refuse", "key")
    if seen:
        driver.asks("here")
    return driver


def taken() -> Driver:
    driver = failed()
    driver.asks("take keyboard", by=BY)
    assert [fact.by for fact in driver.facts(kinds.KeyboardTaken)] == [BY]
    return driver


def keyed(driver: Driver, text: str, by: str = BY, *, sure: bool = False) -> str:
    return driver.decider.why_not_typed(text, by, driver.now_us, sure=sure)


def refusals(driver: Driver) -> list[str]:
    return [fact.why for fact in driver.facts(kinds.RequestRefused)]


def test_it_is_taken_once_and_given_back():
    driver = taken()
    driver.asks("take keyboard", by="another")
    assert refusals(driver) == [f"{BY} has the keyboard"]
    driver.asks("give back", by=BY)
    driver.asks("take keyboard", by="another")
    assert len(driver.facts(kinds.KeyboardTaken)) == 2


def test_not_while_a_script_runs():
    driver = Driver(one_round(pause("look")))
    driver.open_line()
    driver.asks("here")
    driver.asks("take keyboard", by=BY)
    assert driver.facts(kinds.KeyboardTaken) == []
    assert "a script is running" in refusals(driver)[0]


def test_not_unless_somebody_at_the_machine_has_said_so_within_ten_minutes():
    driver = failed(seen=False)
    driver.asks("take keyboard", by=BY)
    assert "nobody has said at the machine" in refusals(driver)[0]
    driver.asks("here")
    driver.now_us += PRESENT_WITHIN_US + 1
    driver.asks("take keyboard", by=BY)
    assert driver.facts(kinds.KeyboardTaken) == []


def test_a_confirmed_step_is_a_sign_of_somebody_there():
    driver = Driver(one_round(hands_on("key"), hands_on("other")))
    driver.open_line()
    driver.asks("confirm", "key")
    driver.asks("refuse", "other")
    driver.asks("take keyboard", by=BY)
    assert len(driver.facts(kinds.KeyboardTaken)) == 1


def test_while_it_is_taken_only_the_holder_types_and_only_while_somebody_is_there():
    driver = taken()
    assert keyed(driver, "x") == ""
    assert "has the keyboard" in keyed(driver, "x", "another")
    driver.now_us += PRESENT_WITHIN_US + 1
    assert "nobody has said at the machine" in keyed(driver, "x")


@pytest.mark.parametrize(
    "typed", [["wipe all\r"], ["wi", "pe", " all", "\r"], ["wix\x7fpe all\r"], ["HALT\n"]]
)
def test_a_command_that_the_folder_bars_wants_a_second_word(typed):
    driver = taken()
    *begun, end = typed
    assert [keyed(driver, text) for text in begun] == ["" for _ in begun]
    assert SURE in keyed(driver, end)
    assert keyed(driver, end, sure=True) == ""


@pytest.mark.parametrize("text", ["", "ä", "go\rmore"])
def test_only_one_line_of_what_the_machine_has_characters_for(text):
    assert keyed(taken(), text)


def test_a_cancelled_line_is_forgotten():
    driver = taken()
    assert keyed(driver, "wipe all\x18") == ""
    assert keyed(driver, "go\r") == ""


def test_no_script_begins_until_it_is_given_back_and_then_the_program_finds_its_place_first():
    far_end = FarHeron()
    driver = started(far_end, where=described())
    driver.asks("here")
    driver.asks("take keyboard", by=BY)
    driver.run(within_us=60 * S)
    assert driver.facts(kinds.ScriptStarted) == []
    driver.note(kinds.BytesTyped(bytes="", count=1, by="an engineer at the keyboard"))
    far_end.typed(ord("x"), driver.now_us)
    driver.run(within_us=5 * S)
    driver.asks("give back", by=BY)
    driver.run(lambda: bool(driver.facts(kinds.ScriptStarted)))
    assert [fact.why for fact in driver.facts(kinds.PlaceSought)][-1] == "the keyboard was given back"
    assert driver.typed.startswith(b"\x18")
    driver.run(lambda: driver.over is not None)
    assert driver.over == "done"


def test_a_lost_line_takes_it_back():
    driver = taken()
    driver.lose_line()
    assert [fact.why for fact in driver.facts(kinds.KeyboardGivenBack)] == ["the line was lost"]


def test_hands_off_takes_it_back():
    driver = taken()
    driver.asks("hands off")
    assert len(driver.facts(kinds.KeyboardGivenBack)) == 1
    assert "nobody has the keyboard" in keyed(driver, "x")


def test_what_the_machine_says_of_a_persons_typing_fails_nothing():
    far_end = FarHeron()
    driver = started(far_end, where=described())
    driver.asks("here")
    driver.asks("take keyboard", by=BY)
    driver.prints(b"DRIVE LEFT FAILED\r\n")
    assert driver.facts(kinds.SessionFailed) == []
