"""A step by hand that was done too early or in vain is asked for again, with what to look at and do now."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.machine.script import AnyStep
from exhibit.facts import kinds
from tests.decisions.driver import Driver
from tests.decisions.heron import (
    S,
    command,
    hands_on,
    in_english,
    machine,
    pack,
    pause,
    wait,
)
from tests.decisions.one_round import one_round
from tests.decisions.session.test_session_late import late

EARLY, VAIN = in_english("Wait for the lamp."), in_english("Look at the switches.")


def key(**more: object) -> AnyStep:
    return msgspec.structs.replace(hands_on("key"), too_early=EARLY, didnt=VAIN, **more)


def asked_for(*steps: AnyStep) -> Driver:
    driver = Driver(one_round(*steps))
    driver.open_line()
    return driver


def put_off(driver: Driver) -> list[tuple[str, str]]:
    return [(fact.because, fact.words.get("en", "")) for fact in driver.facts(kinds.HandsOnPutOff)]


@pytest.mark.parametrize(
    ("request_", "words"), [("too early", "Wait for the lamp."), ("didn't", "Look at the switches.")]
)
def test_the_step_has_its_time_again_and_the_folder_says_what_to_do(request_, words):
    driver = asked_for(key())
    driver.wait(100 * S)
    driver.asks(request_, "key")
    assert put_off(driver) == [(request_, words)]
    assert driver.deadlines["step"] == 700 * S
    driver.asks("confirm", "key")
    assert driver.over == "done"


def test_the_program_has_words_of_its_own_in_the_languages_of_the_folder():
    driver = Driver(one_round(hands_on("key"), described=machine(languages={"de-CH": "x", "fr": "y"})))
    driver.open_line()
    driver.asks("too early", "key")
    (fact,) = driver.facts(kinds.HandsOnPutOff)
    assert fact.words["de-CH"].startswith("Berühren Sie erst einmal nichts mehr.")
    assert fact.words["fr"].startswith("Touch nothing more for now.")


def test_the_second_time_in_a_row_that_it_didnt_work_says_whom_to_call():
    driver = asked_for(key())
    for _ in range(3):
        driver.asks("didn't", "key")
    once, twice, thrice = (words for _, words in put_off(driver))
    call = "leave everything as it is and call: The office."
    assert once == "Look at the switches."
    assert twice.startswith("Look at the switches. ")
    assert call in twice
    assert call in thrice


@pytest.mark.parametrize("between", ["not yet", "too early"])
def test_another_answer_between_two_begins_the_row_anew(between):
    driver = asked_for(key())
    for request in ("didn't", between, "didn't"):
        driver.asks(request, "key")
    assert put_off(driver)[-1] == ("didn't", "Look at the switches.")


def test_a_row_counts_for_one_step_only():
    driver = asked_for(key(), msgspec.structs.replace(key(), name="other"))
    driver.asks("didn't", "key")
    driver.asks("confirm", "key")
    driver.asks("didn't", "other")
    assert put_off(driver)[-1] == ("didn't", "Look at the switches.")


def test_not_yet_says_nothing_more():
    driver = asked_for(key())
    driver.asks("not yet", "key")
    assert put_off(driver) == [("not yet", "")]


@pytest.mark.parametrize("request_", ["too early", "didn't"])
def test_nobody_is_asked_so_nothing_is_put_off(request_):
    driver = asked_for(pause("look"))
    driver.asks(request_, "look")
    assert put_off(driver) == []
    assert len(driver.facts(kinds.RequestRefused)) == 1


def test_a_pack_can_be_in_too_early_too():
    driver = asked_for(msgspec.structs.replace(pack("in"), too_early=EARLY))
    driver.asks("too early", "in")
    assert put_off(driver) == [("too early", "Wait for the lamp.")]
    assert driver.facts(kinds.PackMounted) == []


# -- the machine itself shows that it was too early


def shows(step: AnyStep) -> AnyStep:
    return msgspec.structs.replace(step, too_early=EARLY, too_early_shows=("warm",))


def test_the_machine_shows_it_before_the_step_is_confirmed():
    driver = asked_for(shows(hands_on("key")))
    driver.wait(100 * S)
    driver.prints(b"DRIVE LEFT WARM\r\n")
    assert put_off(driver) == [("too early", "Wait for the lamp.")]
    assert driver.deadlines["step"] == 700 * S
    driver.asks("confirm", "key")
    assert driver.over == "done"


AFTER = {
    "waits": wait("end", "ended"),
    "waits for its prompt": command("go", "go", "begun"),
    "lets visitors read": pause("look"),
    "asks for another step": hands_on("other"),
}


@pytest.mark.parametrize("after", AFTER.values(), ids=AFTER)
def test_the_machine_shows_it_after_that_so_the_step_is_asked_for_again(after):
    driver = asked_for(pause("first"), shows(hands_on("key")), after)
    driver.passes("step")
    driver.asks("confirm", "key")
    driver.prints(b"DRIVE LEFT WARM\r\n")
    assert [fact.step for fact in driver.facts(kinds.HandsOnAsked)][-1] == "key"
    assert put_off(driver) == [("too early", "Wait for the lamp.")]
    assert driver.facts(kinds.StepFailed, kinds.StepOverdue) == []
    driver.asks("confirm", "key")
    assert [fact.step for fact in driver.facts(kinds.StepStarted)][-1] == after.name


def test_even_when_a_person_was_already_asked_what_to_do_about_the_late_step_after_it():
    driver = asked_for(shows(hands_on("key")), late(wait("end", "ended"), "ask"))
    driver.asks("confirm", "key")
    driver.passes("step")
    driver.prints(b"DRIVE LEFT WARM\r\n")
    assert put_off(driver) == [("too early", "Wait for the lamp.")]
    driver.asks("confirm", "key")
    driver.prints(b"JOB 3 ENDED\r\n")
    assert driver.over == "done"


def test_once_something_was_typed_it_is_about_something_else():
    driver = asked_for(shows(hands_on("key")), command("go", "go", "begun"))
    driver.asks("confirm", "key")
    driver.stands(b"READY: ")
    assert driver.typed == b"g"
    driver.prints(b"\r\nDRIVE LEFT WARM\r\n")
    assert put_off(driver) == []


def test_another_trouble_says_nothing_about_the_step():
    driver = asked_for(hands_on("key"), wait("end", "ended"))
    driver.prints(b"DRIVE LEFT WARM\r\n")
    driver.asks("confirm", "key")
    driver.prints(b"DRIVE LEFT WARM\r\n")
    assert put_off(driver) == []


def test_a_step_of_the_script_before_is_not_asked_for_again():
    driver = Driver(one_round(shows(hands_on("key"))))
    driver.open_line()
    driver.asks("confirm", "key")
    assert driver.over == "done"
    driver.prints(b"DRIVE LEFT WARM\r\n")
    assert put_off(driver) == []
