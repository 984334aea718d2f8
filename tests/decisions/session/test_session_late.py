"""A step whose time is up is waited on, typed again, left out or asked about, as its script says."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from exhibit.decisions.machine.script import AnyStep, WhenLate
from exhibit.facts import kinds
from tests.decisions.driver import Driver
from tests.decisions.heron import (
    CANCEL,
    TYPING,
    S,
    command,
    hands_on,
    machine,
    pack,
    pause,
    press,
    read,
    secret,
    wait,
)
from tests.decisions.one_round import (
    GO,
    GO_IS_TYPED,
    QUIETLY,
    STATES,
    TIDY_UP,
    Dripping,
    answer,
    awaiting_new_line,
    ended_steps,
    one_round,
    tidied,
    typing,
)
from tests.decisions.playbook import play
from tests.decisions.session.test_session import asked_about_the_date


def late(step: AnyStep, then: Any, times: int = 0) -> AnyStep:
    return msgspec.structs.replace(step, late=WhenLate(then, times))


def then_of(driver: Driver) -> list[str]:
    return [fact.then for fact in driver.facts(kinds.StepOverdue)]


def at_limit(driver: Driver) -> None:
    """Time goes on until the step's time is up."""
    count = len(driver.facts(kinds.StepOverdue))
    driver.run(lambda: len(driver.facts(kinds.StepOverdue)) > count)


# -- wait on, leave out, stop


def test_a_step_that_is_waited_on_is_given_the_same_time_again_once():
    driver = Driver(one_round(late(wait("end", "ended"), "wait on")))
    driver.open_line()
    driver.passes("step")
    assert driver.deadlines["step"] == 60 * S
    assert driver.facts(kinds.StepFailed) == []
    driver.passes("step")
    assert then_of(driver) == ["wait on", "stop"]
    assert driver.over == "failed"


def test_what_comes_while_it_is_waited_on_counts():
    driver = Driver(one_round(late(wait("end", "ended"), "wait on")))
    driver.open_line()
    driver.passes("step")
    driver.prints(b"JOB 3 ENDED\r\n")
    assert (driver.over, tidied(driver)) == ("done", ("done", True))


def test_a_hands_on_step_that_is_waited_on_can_still_be_confirmed():
    driver = Driver(one_round(late(hands_on("key"), "wait on")))
    driver.open_line()
    driver.passes("step")
    driver.asks("confirm", "key")
    assert driver.over == "done"


@pytest.mark.parametrize("then", ["wait on", "again", "again, then ask", "stop", "ask", "leave out"])
@pytest.mark.parametrize("about_a_date", [False, True], ids=["step", "date"])
def test_who_is_asked_is_told_what_then_happens_when_the_time_is_up(then, about_a_date):
    when = WhenLate("again", 1, then_ask=True) if then == "again, then ask" else WhenLate(then, 1)
    driver = asked_about_the_date(late=when) if about_a_date else asked_for("key", when)
    whole_us = driver.deadlines["step"] - driver.now_us
    at_limit(driver)
    (asked,) = driver.facts(kinds.HandsOnAsked)
    assert [asked.late] == then_of(driver)
    if then == "wait on":
        assert driver.deadlines["step"] == driver.now_us + whole_us


def test_the_same_time_is_given_once_even_if_a_person_asks_for_it_besides():
    driver = asked_for("key", WhenLate("wait on"))
    driver.passes("step")
    driver.asks("not yet", "key")
    driver.passes("step")
    assert then_of(driver) == ["wait on", "stop"]
    assert driver.over == "failed"


def asked_for(step: str, when: WhenLate) -> Driver:
    driver = Driver(one_round(msgspec.structs.replace(hands_on(step), late=when)))
    driver.open_line()
    return driver


def test_a_date_that_is_asked_about_once_the_step_was_waited_on_is_told_that_late_then_stops_it():
    step = command("date", "{date: tall}", "ready", late=WhenLate("wait on"))
    driver = Driver(one_round(step))
    driver.open_line()
    driver.note(kinds.Heartbeat(wall="2027-12-31T09:30:00+01:00"))
    driver.passes("step")
    driver.stands(b"READY: ")
    (asked,) = driver.facts(kinds.HandsOnAsked)
    assert (then_of(driver), asked.late) == (["wait on"], "stop")


def test_a_step_that_is_left_out_says_why_and_the_next_is_begun():
    play(
        one_round(late(wait("end", "ended"), "leave out"), pause("look")),
        """
        opens
            tell script started: round round 1
            tell step started: end
        passes step
            tell step overdue: end waited for ended
            tell step left out: end (ended did not come in time)
            tell step started: look
        """,
        without=QUIETLY,
    )


def test_a_command_that_is_left_out_half_typed_is_cancelled():
    driver = Driver(one_round(late(GO, "leave out"), press("away", "space", "ready", at="ready")))
    typing(driver)
    driver.prints(b"\x13")
    at_limit(driver)
    assert driver.typed == b"g"
    driver.prints(b"\x11")
    assert driver.typed == b"g" + CANCEL
    driver.stands(b"\r\nREADY: ")
    assert driver.typed == b"g" + CANCEL + b" "


def test_the_job_of_a_command_that_was_left_out_is_still_ended_if_its_number_comes_late():
    end_it = command("end-it", "X {go.job}", "ready")
    driver = Driver(one_round(late(GO, "leave out"), pause("look"), tidy_up=(end_it,)))
    awaiting_new_line(driver)
    driver.prints(b"\r\n")
    at_limit(driver)
    driver.passes("step")
    driver.stands(b"JOB 17 BEGUN: X\r\nREADY: ")
    answer(driver, b"X 17", b"JOB 17 STOPPED\r\nREADY: ")
    assert driver.typed.endswith(b"X 17\r")


def test_the_prompt_that_the_cancel_key_brings_back_doesnt_hide_the_number_that_comes_after_it():
    end_it = command("end-it", "X {go.job}", "ready")
    go = command("go", "go", "begun ready")
    driver = Driver(one_round(go, tidy_up=(pause("look"), end_it)))
    awaiting_new_line(driver)
    driver.run(lambda: driver.facts(kinds.TidyUpStarted) != [])
    driver.stands(b"\r\nREADY: ")
    driver.stands(b"\r\nJOB 17 BEGUN: X\r\nREADY: ")
    driver.passes("step")
    answer(driver, b"X 17", b"JOB 17 STOPPED\r\nREADY: ")
    assert driver.typed.endswith(b"X 17\r")


def test_behind_the_cancel_key_of_another_landmark_too_an_answer_is_one_that_came_late():
    there = msgspec.structs.replace(TYPING, cancel=b"\x15")
    described = machine(landmarks={"loader": ("ready",)}, typing_at={"loader": there})
    driver = Driver(one_round(GO, tidy_up=(pause("look"),), described=described))
    awaiting_new_line(driver)
    driver.run(lambda: driver.facts(kinds.TidyUpStarted) != [])
    assert driver.typed == b"go\r\x15"
    driver.stands(b"\r\nJOB 17 BEGUN: X\r\nREADY: ")
    assert [fact.step for fact in driver.facts(kinds.AnsweredLate)] == ["go"]


def test_a_late_step_says_whether_the_echo_or_the_prompt_after_the_cancel_key_is_missing():
    for within_us, awaited in (
        (S // 2, "the echo of what was typed"),
        (20 * S, "the prompt after the cancel key"),
    ):
        driver = Driver(one_round(msgspec.structs.replace(GO, within_us=within_us)))
        typing(driver)
        at_limit(driver)
        assert driver.facts(kinds.StepOverdue)[0].waited_for == [awaited]


# -- again


def test_a_command_is_typed_again_where_its_prompt_stands_again_settled():
    play(
        one_round(late(GO, "again", 1)),
        GO_IS_TYPED,
        """
        prints "\\r\\nJ?B 3 BE-UN\\r\\nREADY: "
            tell typing confirmed: go at attempt 1
        passes settle
            tell landmark reached: ready
        passes step
            tell step overdue: go waited for begun
            type g
        prints "G"
            type o
        prints "O"
        passes echo
            type RETURN
        prints "\\r\\nJOB 4 BEGUN: X\\r\\n"
            tell typing confirmed: go at attempt 1
            tell pattern seen: begun 4 X
            tell step matched: go by begun
            tell step ended: go
            tell tidy up started: (the script is done)
            tell script ended: done tidy
            tell session resting
            end done
        """,
        without=QUIETLY,
    )


@pytest.mark.parametrize("times", [1, 2, 3])
def test_a_command_is_typed_again_so_many_times_and_no_more(times):
    driver = Driver(one_round(late(GO, "again", times)))
    driver.open_line()
    driver.stands(b"READY: ")
    for _ in range(times + 1):
        answer(driver, b"GO", b"READY: ")
        at_limit(driver)
    assert then_of(driver) == ["again"] * times + ["stop"]
    assert driver.typed == b"go\r" * (times + 1)
    assert driver.over == "failed"


@pytest.mark.parametrize(
    "stands", [b"", b"\r\nWHAT?", b"\r\nSURE (NO)? ", b"\r\nDESK TERN: ", b"\r\nSIGN WORD? ", b"\r\nREADY: X"]
)
def test_a_command_is_never_typed_again_elsewhere(stands):
    driver = Driver(one_round(late(GO, "again", 2)))
    awaiting_new_line(driver)
    driver.prints(b"\r\n" + stands)
    driver.run()
    assert driver.typed == b"go\r"
    assert then_of(driver) == ["stop"]
    assert driver.over == "failed"


def test_a_prompt_that_hasnt_settled_when_time_is_up_isnt_one():
    driver = Driver(one_round(late(GO, "again", 2)))
    awaiting_new_line(driver)
    driver.prints(b"\r\n")
    driver.wait(driver.deadlines["step"] - driver.now_us - 1)
    driver.prints(b"READY: ")
    driver.passes("step")
    driver.run()
    assert driver.typed == b"go\r"


def test_a_command_whose_prompt_never_came_isnt_typed_again():
    driver = Driver(one_round(late(GO, "again", 2)))
    driver.open_line()
    driver.run()
    assert (driver.typed, then_of(driver)) == (b"", ["stop"])


# -- ask


STEPS = {name: late(step, "ask") for name, (_, step, _) in STATES.items() if name != "pausing"}
in_every_state = pytest.mark.parametrize("state", STEPS)


def asked_in(state: str, *then: AnyStep) -> tuple[Driver, bytes, bytes]:
    """A driver that is asking, what was typed when time was up, and what was typed for that."""
    arrive, _, cancels = STATES[state]
    driver = Driver(one_round(STEPS[state], *then, tidy_up=TIDY_UP, within_us=3000 * S))
    arrive(driver)
    driver.prints(b"\x13")  # the machine holds: no echo is late
    before = driver.typed
    driver.passes("step") if min(driver.deadlines, key=driver.deadlines.__getitem__) == "step" else None
    if not driver.facts(kinds.StepOverdue):
        at_limit(driver)
    assert then_of(driver) == ["ask"]
    driver.prints(b"\x11")
    return driver, before, cancels


@in_every_state
def test_while_a_person_is_asked_nothing_is_typed_but_the_cancel_key(state):
    driver, before, cancels = asked_in(state)
    its_prompt = b"\r\nREADY: " if state != "at prompt" else b"\r\nDESK TERN: "
    for printed in (its_prompt, b"\r\nSIGN WORD? ", b"\r\nSURE (NO)? ", its_prompt):
        driver.prints(printed)
        if "settle" in driver.deadlines:
            driver.passes("settle")
    assert driver.typed == before + cancels
    assert driver.over is None


@in_every_state
def test_a_person_who_says_leave_out_has_the_next_step_begun(state):
    driver, _, _ = asked_in(state, pause("next"))
    step = driver.facts(kinds.StepOverdue)[0].step
    driver.asks("leave out", step)
    assert driver.facts(kinds.LateAnswered) == [
        kinds.LateAnswered(step=step, answer="leave out", by="a docent")
    ]
    assert driver.facts(kinds.StepStarted)[-1].step == "next"
    assert "a docent said to leave it out" in driver.facts(kinds.StepLeftOut)[0].why


@in_every_state
def test_a_person_who_says_wait_on_gives_it_its_time_again_and_is_asked_again(state):
    driver, _, _ = asked_in(state)
    step = driver.facts(kinds.StepOverdue)[0].step
    driver.asks("wait on", step)
    assert driver.deadlines["step"] == driver.now_us + driver.facts(kinds.StepOverdue)[0].within_us
    driver.run(lambda: len(driver.facts(kinds.StepOverdue)) == 2)
    assert then_of(driver) == ["ask", "ask"]
    assert driver.over is None


@in_every_state
def test_a_person_who_says_stop_ends_it_and_it_is_tidied_up(state):
    driver, before, cancels = asked_in(state)
    driver.asks("stop")
    driver.prints(b"\r\nREADY: ")
    driver.run(lambda: driver.typed.endswith(b" "))
    driver.prints(b"\r\nREADY: ")
    driver.run()
    assert driver.typed == before + cancels + b" "
    assert tidied(driver) == ("stopped", True)


@in_every_state
def test_the_scripts_limit_ends_the_asking(state):
    driver, _, _ = asked_in(state)
    driver.run(lambda: bool(driver.facts(kinds.StepFailed)))
    assert driver.facts(kinds.StepFailed)[0].why == "the whole script took longer than its limit"
    driver.run()
    assert driver.over == "failed"


@in_every_state
def test_a_line_that_is_lost_while_a_person_is_asked_ends_the_asking(state):
    driver, _, _ = asked_in(state)
    driver.lose_line()
    driver.asks("wait on", driver.facts(kinds.StepOverdue)[0].step)
    assert "nobody is being asked" in driver.facts(kinds.RequestRefused)[0].why
    driver.open_line()
    driver.prints(b"\r\nREADY: ")
    driver.run(lambda: driver.typed.endswith(b" "))
    driver.run()
    assert driver.over == "failed"


def test_what_comes_after_all_ends_the_asking():
    driver = Driver(one_round(late(wait("end", "ended"), "ask"), pause("next")))
    driver.open_line()
    driver.passes("step")
    driver.prints(b"JOB 3 ENDED\r\n")
    assert ended_steps(driver) == ["end"]
    driver.asks("leave out", "end")
    assert "nobody is being asked" in driver.facts(kinds.RequestRefused)[0].why


def test_the_prompt_of_a_step_that_comes_while_a_person_is_asked_ends_the_asking():
    driver = Driver(one_round(late(GO, "ask")))
    driver.open_line()
    driver.passes("step")
    driver.prints(b"READY: ")
    assert driver.typed == b""  # it has not settled
    driver.passes("settle")
    assert driver.typed == b"g"
    assert [fact.by for fact in driver.facts(kinds.LateAnswered)] == ["the machine"]
    assert driver.deadlines["step"] == driver.now_us + driver.facts(kinds.StepOverdue)[0].within_us
    driver.asks("leave out", "go")
    assert "nobody is being asked" in driver.facts(kinds.RequestRefused)[0].why


def test_a_prompt_behind_the_cancel_key_doesnt_end_the_asking():
    """The step has typed: its command would be typed again although nobody has said so."""
    driver = Driver(one_round(late(GO, "ask")))
    typing(driver)
    driver.prints(b"\x13")
    at_limit(driver)
    driver.prints(b"\x11")
    assert driver.typed == b"g" + CANCEL
    driver.prints(b"\r\nREADY: ")
    driver.run(within_us=100 * S)
    assert driver.typed == b"g" + CANCEL
    driver.asks("wait on", "go")
    assert driver.typed == b"g" + CANCEL + b"g"


def test_a_step_that_was_only_held_up_goes_on_when_the_machine_lets_go():
    driver = Driver(one_round(late(GO, "ask")))
    driver.open_line()
    driver.prints(b"\x13")
    driver.stands(b"READY: ")
    at_limit(driver)
    assert driver.typed == b""
    driver.prints(b"\x11")
    assert driver.typed == b"g"


def test_a_hands_on_step_can_be_confirmed_while_it_is_asked_what_becomes_of_it():
    driver = Driver(one_round(late(pack("reeds-in"), "ask")))
    driver.open_line()
    driver.passes("step")
    driver.asks("confirm", "reeds-in")
    assert [fact.label for fact in driver.facts(kinds.PackMounted)] == ["REEDS 1"]
    assert driver.over == "done"


def late_date(answer_to_it: str, **request) -> Driver:
    """A person asked about a date let the ten minutes pass, so is asked about the step, and answers now."""
    driver = Driver(one_round(late(command("date", "{date: tall}", "ready"), "ask"), tidy_up=TIDY_UP))
    driver.open_line()
    driver.note(kinds.Heartbeat(wall="2027-12-31T09:30:00+01:00"))
    driver.stands(b"READY: ")
    driver.passes("step")
    assert then_of(driver) == ["ask"]
    driver.asks(answer_to_it, "date", **request)
    return driver


def test_a_date_that_is_agreed_to_although_the_answer_is_late_is_typed():
    driver = late_date("confirm")
    assert driver.typed == b"3"
    answer(driver, b"31.12.1999", b"READY: ")
    assert ended_steps(driver)[0] == "date"


def test_agreeing_to_a_late_date_also_answers_what_becomes_of_the_step():
    driver = late_date("confirm", by="a docent")
    assert driver.facts(kinds.LateAnswered) == [
        kinds.LateAnswered(step="date", answer="wait on", by="a docent")
    ]
    driver.asks("leave out", "date")
    assert "nobody is being asked" in driver.facts(kinds.RequestRefused)[0].why


def test_a_late_date_is_not_typed_if_it_is_refused_left_out_or_only_given_more_time():
    refused = late_date("refuse", why="the disc is younger")
    (failed,) = refused.facts(kinds.StepFailed)
    assert failed.why == "a person said that the machine may not be given this date: the disc is younger"
    assert refused.typed == b" "  # the tidy-up's key
    assert late_date("leave out").typed == b" "
    given_time = late_date("wait on")
    assert given_time.typed == b""
    given_time.asks("confirm", "date")
    assert given_time.typed == b"3"


@pytest.mark.parametrize("request_", ["wait on", "leave out"])
@pytest.mark.parametrize("step", ["go", "another"])
def test_an_answer_that_nobody_asked_for_is_refused(request_, step):
    driver = Driver(one_round(late(GO, "ask")))
    driver.open_line()
    driver.asks(request_, step)
    assert [fact.request for fact in driver.facts(kinds.RequestRefused)] == [request_]
    assert driver.facts(kinds.LateAnswered) == []
    if step == "another":
        driver.passes("step")
        driver.asks(request_, step)
        assert len(driver.facts(kinds.RequestRefused)) == 2


def test_a_key_for_an_unknown_place_isnt_pressed_while_a_person_is_asked():
    step = late(press("let-go", "cancel", "let-go"), "ask")
    driver = Driver(one_round(step), Dripping(99))
    driver.open_line()
    driver.run(lambda: then_of(driver) == ["ask"])
    driver.run(within_us=100 * S)
    assert driver.typed == b""
    driver.asks("wait on", "let-go")
    driver.run(lambda: driver.typed != b"")
    assert driver.typed == CANCEL


# -- directly behind a hands-on step, a wait looks back to when that was asked


@pytest.mark.parametrize("step", [hands_on("key"), pack("reeds-in")])
def test_what_is_printed_before_the_person_confirms_isnt_waited_for_in_vain(step):
    driver = Driver(one_round(step, wait("ready-at-once", "ended stopped")))
    driver.open_line()
    driver.prints(b"JOB 3 ENDED\r\nJOB 4 ENDED\r\n")
    driver.asks("confirm", step.name)
    matched = driver.facts(kinds.StepMatched)[0]
    assert (matched.name, matched.fields) == ("ended", {"job": "4"})
    assert driver.over == "done"


def test_what_was_printed_before_the_person_was_asked_doesnt_count():
    driver = Driver(one_round(pause("first"), hands_on("key"), wait("end", "ended")))
    driver.open_line()
    driver.prints(b"JOB 3 ENDED\r\n")
    driver.passes("step")
    driver.asks("confirm", "key")
    assert ended_steps(driver) == ["first", "key"]


@pytest.mark.parametrize("between", [pause("between"), hands_on("another")])
def test_only_a_wait_directly_behind_it_looks_back(between):
    driver = Driver(one_round(hands_on("key"), between, wait("end", "ended")))
    driver.open_line()
    driver.prints(b"JOB 3 ENDED\r\n")
    driver.asks("confirm", "key")
    driver.passes("step") if between.name == "between" else driver.asks("confirm", "another")
    assert "end" not in ended_steps(driver)
    driver.prints(b"JOB 4 ENDED\r\n")
    assert "end" in ended_steps(driver)


def test_a_command_behind_a_hands_on_step_doesnt_look_back():
    driver = Driver(one_round(hands_on("key"), GO))
    driver.open_line()
    driver.stands(b"JOB 3 BEGUN: X\r\nREADY: ")
    driver.asks("confirm", "key")
    assert driver.typed == b"g"
    answer(driver, b"GO", b"")
    assert "go" not in ended_steps(driver)


def test_a_frame_behind_a_hands_on_step_is_a_new_one():
    driver = Driver(one_round(hands_on("key"), read("frame")))
    driver.open_line()
    frame = b"\x1b[1;1HHERON BOARD 09.15\x1b[24;1H"
    driver.prints(frame)
    driver.asks("confirm", "key")
    assert "frame" not in ended_steps(driver)
    driver.prints(frame)
    assert "frame" in ended_steps(driver)


def test_a_secret_can_be_asked_about():
    driver = Driver(one_round(late(secret("sign"), "ask")))
    driver.open_line()
    driver.passes("step")
    assert then_of(driver) == ["ask"]


def test_a_late_step_that_isnt_done_yet_is_waited_for_again():
    driver = Driver(one_round(late(hands_on("key"), "ask"), within_us=600 * S))
    driver.open_line()
    driver.passes("step")
    driver.asks("not yet", "key")
    assert "step" in driver.deadlines
    driver.asks("confirm", "key")
    assert driver.over == "done"


def test_a_late_date_that_isnt_agreed_to_yet_is_asked_about_again():
    driver = late_date("not yet")
    assert driver.deadlines["step"] - driver.now_us == 600 * S
    assert driver.typed == b""
    driver.asks("confirm", "date")
    assert driver.typed == b"3"


# -- again, then ask


def test_a_command_that_stays_late_when_typed_again_is_asked_about():
    step = command("go", "go", "begun", within_us=20 * S)
    asked = msgspec.structs.replace(step, late=WhenLate("again", 1, True))
    driver = Driver(one_round(asked, pause("look")))
    answer_nothing(driver)
    at_limit(driver)
    answer_nothing(driver)
    at_limit(driver)
    assert then_of(driver) == ["again", "ask"]
    driver.asks("leave out", "go")
    driver.run()
    assert driver.over == "done"


def answer_nothing(driver: Driver) -> None:
    """The machine echoes and takes GO, shows its prompt again, and never says that anything has begun."""
    if not driver.facts(kinds.LineOpened):
        driver.open_line()
        driver.stands(b"READY: ")
    driver.prints(b"G")
    driver.prints(b"O")
    driver.passes("echo")
    driver.stands(b"\r\nREADY: ")


def test_where_it_cant_be_typed_again_a_person_is_asked_at_once():
    step = command("go", "go", "begun", within_us=20 * S)
    driver = Driver(one_round(msgspec.structs.replace(step, late=WhenLate("again", 1, True))))
    driver.open_line()
    at_limit(driver)
    assert then_of(driver) == ["ask"]


# -- a secret that was refused


SIGN = command("sign", "S", "word")


def told_the_word(driver: Driver) -> None:
    """The secret has been typed once more, with its RETURN."""
    driver.run(lambda: driver.typed.endswith(b"*" * 8 + b"\r"))


def refusing(late_: WhenLate, *then: bytes) -> Driver:
    """Signs on, and the machine answers the secret with each of these."""
    say = msgspec.structs.replace(secret("say"), late=late_)
    driver = Driver(one_round(SIGN, say))
    driver.open_line()
    driver.stands(b"READY: ")
    for answered in (b"\r\nSIGN WORD? ", *then):
        if answered.startswith(b"\r\nSIGN") and driver.typed.endswith(b"S"):
            driver.prints(b"S")
            driver.passes("echo")
        else:
            told_the_word(driver)
        driver.stands(answered)
    return driver


def refused(driver: Driver) -> list[tuple[str, int]]:
    return [(fact.landmark, fact.times) for fact in driver.facts(kinds.SecretRefused)]


def test_a_secret_that_is_asked_for_again_is_typed_again_as_often_as_its_step_says():
    driver = refusing(WhenLate("again", 2), *[b"\r\nNO.\r\nSIGN WORD? "] * 2, b"\r\nDESK TERN: ")
    driver.run()
    assert refused(driver) == [("word", 1), ("word", 2)]
    assert driver.over == "done"


def test_after_that_it_fails_and_by_default_it_is_typed_once_alone():
    for late_, tries in ((WhenLate("again", 1), 2), (WhenLate("stop"), 1)):
        driver = refusing(late_, *[b"\r\nNO.\r\nSIGN WORD? "] * tries)
        driver.run()
        assert len(driver.secrets_typed) == 8 * tries
        assert driver.over == "failed"


def test_where_the_sign_on_is_asked_for_instead_that_comes_first():
    driver = refusing(WhenLate("again", 1), b"\r\nNO.\r\nREADY: ")
    assert driver.typed.endswith(b"S")
    driver.prints(b"S")
    driver.passes("echo")
    driver.stands(b"\r\nSIGN WORD? ")
    told_the_word(driver)
    driver.stands(b"\r\nDESK TERN: ")
    driver.run()
    assert refused(driver) == [("ready", 1)]
    assert driver.over == "done"


def test_a_sign_on_that_is_refused_for_ever_comes_to_an_end():
    driver = refusing(WhenLate("again", 1), b"\r\nNO.\r\nREADY: ")
    driver.prints(b"S")
    driver.passes("echo")
    driver.stands(b"\r\nSIGN WORD? ")
    told_the_word(driver)
    driver.stands(b"\r\nNO.\r\nREADY: ")
    driver.run()
    assert len(driver.secrets_typed) == 16
    assert driver.over == "failed"


# -- it is the prompt


def asked_for_prompt(step: AnyStep | None = None, shows: bytes = b"WHAT NEXT> ") -> Driver:
    """A step is late that waits for its prompt, and this is on the console."""
    asks = late(step or command("go", "go", "begun"), "ask")
    driver = Driver(one_round(asks))
    driver.open_line()
    driver.prints(shows)
    at_limit(driver)
    assert driver.facts(kinds.StepOverdue)[-1].at_prompt == (step is None)
    return driver


def refusal(driver: Driver, step: str = "go") -> str:
    driver.asks("it is the prompt", step)
    assert driver.facts(kinds.PromptVouched) == []
    return driver.facts(kinds.RequestRefused)[-1].why


def test_a_person_can_say_that_what_the_console_shows_is_the_prompt():
    driver = asked_for_prompt()
    driver.asks("it is the prompt", "go", by="an engineer")
    (fact,) = driver.facts(kinds.PromptVouched)
    assert (fact.step, fact.by, fact.line.strip()) == ("go", "an engineer", "WHAT NEXT>")
    driver.prints(b"G")
    driver.prints(b"O")
    driver.passes("echo")
    driver.prints(b"\r\nJOB 1 BEGUN: X\r\n")
    driver.run()
    assert driver.over == "done"


def test_what_comes_back_wrong_there_is_cancelled_and_asked_about_again():
    driver = asked_for_prompt()
    driver.asks("it is the prompt", "go")
    driver.prints(b"Q")
    assert driver.typed == b"g" + CANCEL
    at_limit(driver)
    assert then_of(driver) == ["ask", "ask"]


def test_where_nothing_was_printed_nobody_can_say_so():
    assert "has printed nothing" in refusal(asked_for_prompt(shows=b""))


def test_no_secret_is_typed_on_a_persons_word():
    driver = asked_for_prompt(secret("say"))
    assert "never a secret" in refusal(driver, "say")
    assert driver.secrets_typed == b""


def test_not_while_typing_is_blocked():
    driver = asked_for_prompt()
    driver.prints(b"\x13")
    assert "blocks typing" in refusal(driver)


def test_not_at_another_prompt_that_is_known():
    driver = asked_for_prompt(shows=b"SURE (NO)? ")
    assert "sure" in refusal(driver)


def test_not_for_a_step_that_isnt_asked_about_or_has_typed_already():
    driver = asked_for_prompt()
    assert "nobody is being asked" in refusal(driver, "other")
    driver = Driver(one_round(late(GO, "ask")))
    driver.open_line()
    assert "nobody is being asked" in refusal(driver)
