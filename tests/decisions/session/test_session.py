"""A session types only where it knows that it may, and whatever happens it ends told and tidied up."""

from __future__ import annotations

import pytest

from exhibit.decisions.machine.description import Calendar
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.session.states import TRANSITIONS
from exhibit.facts import kinds
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.heron import (
    CANCEL,
    ECHO_US,
    SECRET,
    SETTLE_US,
    XOFF_LIMITED,
    S,
    command,
    folder,
    hands_on,
    machine,
    opened,
    pause,
    press,
    read,
    script,
    secret,
    wait,
)
from tests.decisions.heron import pack as check_pack
from tests.decisions.one_round import (
    END_IT,
    GO,
    GO_BEGINS,
    QUIETLY,
    Dripping,
    answer,
    awaiting_new_line,
    come_to,
    ended_steps,
    in_every_state,
    one_round,
    tidied,
    types,
    typing,
    waiting,
)
from tests.decisions.playbook import play

# -- a script that goes as it is written


def test_a_command_is_typed_at_its_settled_prompt_and_what_follows_is_waited_for():
    play(
        one_round(GO, wait("until-it-ends", "ended")),
        """
        opens
            tell script started: round round 1
            arm script 1200 s
            tell step started: go
            arm step 30 s
        prints "READY: "
            arm settle 0.01 s
        passes settle
            tell landmark reached: ready
            type g
            arm echo 2 s
        prints "G"
            type o
            arm echo 2 s
        prints "O"
            arm echo 0.01 s
        passes echo
            type RETURN
            arm echo 2 s
        prints "\\r\\n"
            drop echo
            tell typing confirmed: go at attempt 1
        prints "JOB 3 BEGUN: X\\r\\n"
            arm unended 2 s
            tell pattern seen: begun 3 X
            tell step matched: go by begun
            tell step ended: go
            drop step
            tell step started: until-it-ends
            arm step 30 s
            drop unended
        later 1 s
        prints "JOB 3 ENDED\\r\\n"
            arm unended 2 s
            tell pattern seen: ended 3
            tell step matched: until-it-ends by ended
            tell step ended: until-it-ends
            drop step
            tell tidy up started: (the script is done)
            drop script
            tell script ended: done tidy
            drop unended
            tell session resting
            end done
        """,
    )


def test_hands_on_steps_packs_and_pauses_come_one_after_the_other():
    play(
        one_round(hands_on("key"), check_pack("reeds-in"), pause("look")),
        """
        opens
            tell script started: round round 1
            arm script 1200 s
            tell step started: key
            arm step 600 s
            tell hands on asked: key
        confirm reeds-in
            tell request refused: (nobody is being asked for the step reeds-in now)
        confirm key
            tell hands on confirmed: key
            tell step ended: key
            drop step
            tell step started: reeds-in
            arm step 600 s
            tell hands on asked: reeds-in
        confirm key
            tell request refused: (nobody is being asked for the step key now)
        confirm reeds-in
            tell hands on confirmed: reeds-in
            tell pack mounted: REEDS 1
            tell step ended: reeds-in
            drop step
            tell step started: look
            arm step 5 s
        passes step
            tell step ended: look
            tell tidy up started: (the script is done)
            drop script
            tell script ended: done tidy
            tell session resting
            end done
        """,
    )


def test_a_secret_is_typed_at_its_prompt():
    driver = play(
        one_round(secret("sign")),
        """
        opens
            tell script started: round round 1
            tell step started: sign
        prints "SIGN WORD? "
        passes settle
            tell landmark reached: word
            type (secret)
        passes echo
            type (secret)
        passes echo
            type RETURN
        prints "\\r\\nDESK TERN: "
            tell typing confirmed: at attempt 1
        passes settle
            tell landmark reached: desk
            tell step matched: sign by desk
            tell step ended: sign
            tell tidy up started: (the script is done)
            tell script ended: done tidy
            tell session resting
            end done
        """,
        without=QUIETLY,
    )
    assert driver.secrets_typed == SECRET.encode()


def test_a_wait_for_what_stands_already_is_over_at_once_with_its_fields():
    driver = Driver(
        one_round(
            pause("first"), wait("sign-on", "desk"), command("use", "{sign-on.name}", "begun", at="desk")
        )
    )
    driver.open_line()
    driver.stands(b"DESK TERN: ")
    driver.passes("step")
    assert driver.typed == b"T"


def test_a_frame_that_was_read_before_isnt_the_one_that_is_waited_for():
    driver = Driver(one_round(wait("shown", "board"), read("frame")))
    driver.open_line()
    frame = b"\x1b[1;1HHERON BOARD 09.15\x1b[24;1H"
    driver.prints(frame)
    assert ended_steps(driver) == ["shown"]
    driver.prints(frame)
    assert ended_steps(driver) == ["shown", "frame"]


# -- where nothing may be typed


@pytest.mark.parametrize(
    "standing", [b"", b"GOOD MORNING", b"SURE (NO)? ", b"DESK TERN: ", b"SIGN WORD? ", b"READY: X"]
)
def test_nothing_is_typed_at_another_prompt_or_at_none(standing):
    driver = Driver(one_round(GO))
    driver.open_line()
    driver.prints(standing)
    driver.run()
    assert driver.typed == b""
    assert driver.over == "failed"
    assert driver.facts(kinds.StepOverdue)[0].waited_for == ["ready"]


def test_nothing_is_typed_at_a_prompt_that_hasnt_settled():
    driver = Driver(one_round(GO))
    driver.open_line()
    for _ in range(50):
        driver.prints(b"READY: ")
        driver.wait(9_000)
        driver.prints(b"\r\n")
        if driver.deadlines["settle"] <= driver.now_us + 9_000:
            driver.passes("settle")
    assert driver.typed == b""


def test_nothing_is_typed_at_a_prompt_from_before_the_line_was_lost():
    driver = Driver(one_round(pause("first"), GO))
    driver.stands(b"READY: ")
    driver.open_line()
    driver.passes("step")
    assert driver.typed == b""
    driver.stands(b"\r\nREADY: ")
    assert driver.typed == b"g"


@pytest.mark.parametrize(
    ("typed", "folds"),
    [("wipe left", "upper case"), ("HALT", "as typed"), ("halting", "upper case"), ("WIPE  A", "as typed")],
)
def test_what_must_never_be_typed_isnt_nor_anything_that_begins_so(typed, folds):
    driver = Driver(one_round(command("bad", typed, "ready"), described=machine(typing={"folds_to": folds})))
    driver.open_line()
    driver.stands(b"READY: ")
    assert driver.typed == b""
    assert driver.facts(kinds.TypingRefused)[0].command == typed
    assert driver.over == "failed"


def test_a_step_may_type_the_one_pattern_that_it_lifts_and_no_other():
    # The invented machine's folder says never to type HALT nor WIPE {...}.
    for lifts, typed, expected in (
        ("HALT", "HALT", b"H"),
        ("HALT", "WIPE A", b""),
        ("WIPE {...}", "HALT", b""),
    ):
        step = command("end", typed, "ready", lifts=lifts)
        driver = Driver(one_round(step))
        driver.open_line()
        driver.stands(b"READY: ")
        assert driver.typed == expected
        assert bool(driver.facts(kinds.TypingRefused)) == (expected == b"")


def test_what_the_machine_gave_is_only_typed_if_a_keyboard_has_it():
    described = machine(eighth_bit="data")
    driver = Driver(one_round(GO, command("use", "{go.what}", "ready"), described=described))
    types(driver, b"GO", b"JOB 3 BEGUN: A\xe9B\r\nREADY: ")
    assert driver.facts(kinds.TypingRefused)[0].why == "it has a character that can't be typed"
    assert driver.over == "failed"


@pytest.mark.parametrize("secrets", [{}, {"word": ""}, {"word": "p\xe4ss"}, {"word": "two\nlines"}])
def test_a_secret_that_isnt_there_or_cant_be_typed_fails_its_step_and_is_not_shown(secrets):
    driver = Driver(one_round(secret("sign"), secrets=secrets))
    driver.open_line()
    driver.stands(b"SIGN WORD? ")
    assert driver.typed == b""
    assert "secret word" in driver.facts(kinds.StepFailed)[0].why
    assert not secrets.get("word") or secrets["word"] not in repr(driver.entries)


def test_a_year_that_a_system_cant_hold_is_never_typed():
    calendar = Calendar(
        name="tall", year="as it is", fixed_year=0, earliest=1970, latest=1999, template="{year}"
    )
    driver = Driver(
        one_round(command("date", "{date: tall}", "ready"), described=machine(calendars={"tall": calendar}))
    )
    driver.open_line()
    driver.stands(b"READY: ")
    assert driver.typed == b""
    assert "1999" in driver.facts(kinds.StepFailed)[0].why


def asked_about_the_date(**changes):
    """A round that tells the date, on 31 December 2027, at its prompt."""
    step = command("date", "{date: tall}", "ready", **changes)
    driver = Driver(one_round(step, tidy_up=(command("after", "END", "ready"),)))
    driver.open_line()
    driver.note(kinds.Heartbeat(wall="2027-12-31T09:30:00+01:00"))
    driver.stands(b"READY: ")
    return driver


def test_a_person_is_asked_whether_a_date_may_be_told_and_nothing_is_typed_before():
    driver = asked_about_the_date()
    assert driver.typed == b""
    (asked,) = driver.facts(kinds.HandsOnAsked)
    assert "may be given the date 31.12.1999" in asked.words["en"]
    assert asked.caution == {}
    driver.note(kinds.RequestMade(request="confirm", step="date", by="somebody"))
    answer(driver, b"31.12.1999", b"\r\nREADY: ")
    assert driver.facts(kinds.StepEnded)[0].step == "date"
    assert len(driver.facts(kinds.HandsOnAsked)) == 1


def test_a_person_who_says_no_ends_the_script_and_it_is_tidied_up():
    driver = asked_about_the_date()
    driver.note(kinds.RequestMade(request="refuse", step="date", by="somebody", why="the disc is younger"))
    (failed,) = driver.facts(kinds.StepFailed)
    assert failed.why == "a person said that the machine may not be given this date: the disc is younger"
    assert driver.typed == b"E"


def test_a_person_who_is_asked_about_a_date_has_ten_minutes():
    driver = asked_about_the_date()
    driver.wait(599 * S)
    assert driver.facts(kinds.StepFailed) == []
    driver.passes("step")
    (failed,) = driver.facts(kinds.StepFailed)
    assert "a person to confirm" in failed.why
    assert driver.typed == b"E"


def test_the_date_is_that_of_the_last_heartbeat_not_of_the_opening():
    driver = Driver(one_round(command("date", "{date: tall}", "ready")))
    driver.open_line()
    driver.note(kinds.Heartbeat(wall="2026-12-31T23:59:59+01:00"))
    driver.wait(5 * S)
    driver.stands(b"READY: ")
    answer(driver, b"1.1.1999", b"")
    assert driver.typed == b"1.1.1999\r"


# -- typing that goes wrong


def test_what_came_back_wrong_is_cancelled_and_typed_again_at_the_settled_prompt():
    play(
        one_round(GO),
        GO_BEGINS,
        """
        prints "G"
            type o
        prints "X"
            tell typing garbled: 'GX' for 'GO' at attempt 1
            type CANCEL
        prints " CANCELLED\\r\\nJOB 9 BEGUN: X\\r\\nREADY: "
        passes settle
            tell landmark reached: ready
            type g
        prints "G"
            type o
        prints "O"
        passes echo
            type RETURN
        prints "\\r\\nJOB 3 BEGUN: X\\r\\n"
            tell typing confirmed: go at attempt 2
            tell pattern seen: begun 3 X
            tell step matched: go by begun
            tell step ended: go
            tell tidy up started: (the script is done)
            tell script ended: done tidy
            tell session resting
            end done
        """,
        without=QUIETLY,
    )


def test_after_the_cancel_key_another_prompt_fails_the_step():
    play(
        one_round(GO),
        GO_BEGINS,
        """
        prints "X"
            tell typing garbled: 'X' for 'G' at attempt 1
            type CANCEL
        prints "\\r\\nSURE (NO)? "
        passes settle
            tell landmark reached: sure
            tell step failed: go (after the cancel key, the console showed sure)
            tell tidy up started: (after the cancel key, the console showed sure)
            tell script ended: failed tidy
            tell session failed
            end failed
        """,
        without=QUIETLY,
    )


def test_a_notice_in_the_middle_of_the_echo_is_lifted_out_and_nothing_is_typed_twice():
    play(
        one_round(GO),
        GO_BEGINS,
        """
        prints "\\r\\n== GALE ==\\r\\nG"
            tell interruption seen: notice
            type o
        prints "O"
        passes echo
            type RETURN
        """,
        without=QUIETLY,
    )


def test_what_came_in_the_middle_of_the_echo_and_is_no_notice_costs_a_second_attempt():
    play(
        one_round(GO),
        GO_BEGINS,
        """
        prints "\\r\\nWHO IS THERE?\\r\\n"
            tell typing garbled: '\\\\r\\\\nWHO IS THERE?\\\\r\\\\n' for 'G' at attempt 1
            type CANCEL
        prints " CANCELLED\\r\\nREADY: "
        passes settle
            tell landmark reached: ready
            type g
        """,
        without=QUIETLY,
    )


def test_a_secret_that_is_echoed_is_cancelled_and_the_script_fails():
    driver = play(
        one_round(secret("sign")),
        """
        opens
            tell script started: round round 1
            tell step started: sign
        prints "SIGN WORD? "
        passes settle
            tell landmark reached: word
            type (secret)
        prints "W"
        later 0.1 s
            type CANCEL
            tell step failed: sign (the machine showed the secret that was being typed, so it was cancelled)
            tell tidy up started: (the machine showed the secret that was being typed, so it was cancelled)
            tell script ended: failed tidy
            tell session failed
            end failed
        prints "RENQUAY\\r\\nSIGN WORD? "
        """,
        without=QUIETLY,
    )
    assert driver.secrets_typed == b"W"
    assert driver.facts(kinds.SecretWithheld) == [kinds.SecretWithheld(was_typed=True)]


def test_typing_that_the_line_doesnt_take_fails_the_step_and_only_the_cancel_key_is_tried():
    play(
        one_round(GO),
        """
        opens
            tell script started: round round 1
            tell step started: go
        typing fails
        prints "READY: "
        passes settle
            tell landmark reached: ready
            type g
            tell step failed: go (what was typed could not be sent: stuck)
            type CANCEL
            tell tidy up started: (what was typed could not be sent: stuck)
            tell script ended: failed tidy
            tell session failed
            end failed
        """,
        without=QUIETLY,
    )


def test_a_cancel_key_that_the_line_doesnt_take_costs_no_step_of_the_tidy_up():
    play(
        one_round(GO, tidy_up=(command("leave", "Y", "word"),)),
        GO_BEGINS,
        """
        typing fails
        stop
            type CANCEL
            tell tidy up started: (a docent said stop)
            tell step started: leave (tidying)
        typing works
        prints "\\r\\nREADY: "
        passes settle
            tell landmark reached: ready
            type Y
        """,
        without=QUIETLY,
    )


def test_a_key_that_the_line_doesnt_take_fails_its_step():
    driver = Driver(one_round(press("away", "space", "ready", at="board")))
    driver.open_line()
    driver.typing_fails = "stuck"
    driver.prints(b"\x1b[1;1HHERON BOARD 09.15\x1b[24;1H")
    driver.passes("listen")
    assert "stuck" in driver.facts(kinds.StepFailed)[0].why
    assert driver.over == "failed"


# -- late


def test_an_overdue_step_fails_says_what_was_waited_for_and_each_step_of_the_tidy_up_is_tried():
    driver = play(
        one_round(GO, tidy_up=(command("leave", "leave", "word"), press("away", "space", "ready", "board"))),
        """
        opens
            tell script started: round round 1
            arm script 1200 s
            tell step started: go
            arm step 30 s
        prints "WHAT IS THIS"
        passes step
            tell step overdue: go waited for ready
            tell step failed: go (ready did not come in time)
            drop script
            tell tidy up started: (ready did not come in time)
            tell step started: leave (tidying)
            arm step 30 s
        passes step
            tell step overdue: leave waited for ready
            tell step failed: leave (ready did not come in time)
            tell step started: away (tidying)
            arm step 30 s
        passes step
            tell step overdue: away waited for board
            tell step failed: away (board did not come in time)
            tell script ended: failed untidy
            tell session failed
            end failed
        """,
    )
    assert driver.facts(kinds.StepOverdue)[0].last_lines == ["WHAT IS THIS"]
    assert driver.facts(kinds.StepOverdue)[0].within_us == 30 * S
    assert driver.facts(kinds.SessionFailed)[0].why == (
        "ready did not come in time; "
        "the step leave failed, because ready did not come in time; "
        "the step away failed, because board did not come in time"
    )


def test_a_script_over_its_limit_fails_whatever_it_is_at():
    driver = Driver(one_round(pause("long", 100 * S), within_us=60 * S))
    driver.open_line()
    driver.passes("script")
    assert driver.facts(kinds.StepFailed)[0].why == "the whole script took longer than its limit"
    assert driver.over == "failed"
    assert driver.deadlines == {}


def test_a_scripts_limit_doesnt_disturb_its_tidy_up_but_a_person_must_look():
    tidy_up = (pause("a", 50 * S), command("leave", "Y", "desk"))
    driver = Driver(one_round(pause("short", 40 * S), tidy_up=tidy_up, within_us=60 * S))
    driver.open_line()
    driver.prints(b"READY: ")
    driver.run(lambda: driver.typed == b"Y")
    answer(driver, b"Y", b"DESK TERN: ")
    ended = driver.facts(kinds.ScriptEnded)[0]
    assert (ended.outcome, ended.tidy, ended.why) == (
        "failed",
        True,
        "the whole script took longer than its limit",
    )


def test_while_the_machine_holds_what_is_typed_a_passing_limit_types_nothing():
    play(
        one_round(GO, tidy_up=(press("away", "space", "ready", at="ready"),), described=XOFF_LIMITED),
        """
        opens
            tell script started: round round 1
            arm script 1200 s
            tell step started: go
            arm step 30 s
        prints "READY: "
            arm settle 0.01 s
        passes settle
            tell landmark reached: ready
            type g
            arm echo 2 s
        prints "\\x13"
            tell typing held
            arm held 86400 s
            drop echo
        passes step
            tell step overdue: go waited for the echo of what was typed
            tell step failed: go (the echo of what was typed did not come in time)
            drop script
            tell tidy up started: (the echo of what was typed did not come in time)
            tell step started: away (tidying)
            arm step 30 s
        prints "\\x11"
            drop held
            tell typing let go
            type CANCEL
        prints "\\r\\nREADY: "
            arm settle 2 s
        passes settle
            tell landmark reached: ready
            type SPACE
        """,
    )


def test_a_machine_that_holds_for_ever_ends_failed_and_is_never_typed_at_later():
    driver = Driver(one_round(GO, described=XOFF_LIMITED))
    driver.open_line()
    driver.stands(b"READY: ")
    driver.prints(b"\x13")
    driver.run()
    assert driver.over == "failed"
    driver.prints(b"\x11")
    assert driver.typed == b"g"


def test_what_is_begun_while_the_machine_holds_is_typed_when_it_lets_go():
    play(
        one_round(GO),
        """
        opens
            tell script started: round round 1
            tell step started: go
        prints "\\x13READY: "
            tell typing held
        passes settle
            tell landmark reached: ready
        later 1 s
        prints "\\x11"
            tell typing let go
            type g
        """,
        without=QUIETLY,
    )


def test_what_was_held_up_is_never_typed_where_something_else_has_come_to_stand():
    driver = Driver(one_round(press("let-go", "cancel", "let-go"), tidy_up=(GO,), described=XOFF_LIMITED))
    driver.open_line()
    driver.prints(b"\x13")
    driver.run(lambda: bool(driver.facts(kinds.StepOverdue)))
    assert driver.facts(kinds.StepOverdue)[0].waited_for == ["the machine's leave to type (XON)"]
    driver.prints(b"\r\nSURE (NO)? \x11")
    driver.run()
    assert driver.typed == b""


def test_a_key_that_was_held_up_isnt_pressed_where_another_prompt_has_come_to_stand():
    driver = Driver(one_round(press("away", "space", "ready", at="ready")))
    driver.open_line()
    driver.prints(b"\x13READY: ")
    driver.passes("settle")
    driver.stands(b"\r\nSURE (NO)? ")
    driver.prints(b"\x11")
    assert driver.typed == b""
    driver.stands(b"\r\nREADY: ")
    assert driver.typed == b" "


def test_a_steps_time_begins_again_when_its_command_is_typed_anew():
    driver = Driver(one_round(GO))
    driver.open_line()
    driver.stands(b"READY: ")
    driver.wait(S)
    driver.prints(b"X")
    driver.stands(b" CANCELLED\r\nREADY: ")
    assert driver.typed == b"g" + CANCEL + b"g"
    assert driver.deadlines["step"] == driver.now_us + 30 * S


def test_a_key_for_an_unknown_place_that_was_held_up_waits_for_quiet_anew():
    driver = Driver(one_round(press("let-go", "cancel", "let-go")))
    driver.open_line()
    driver.prints(b"\x13")
    driver.passes("listen")
    assert driver.typed == b""
    driver.prints(b"\x11")
    driver.wait(S)
    assert driver.typed == b""
    driver.passes("listen")
    assert driver.typed == CANCEL


# -- the tidy-up


def test_what_was_begun_is_ended_by_the_number_that_the_machine_gave():
    driver = Driver(one_round(GO, wait("until-it-ends", "ended"), tidy_up=(END_IT,)))
    types(driver, b"GO", b"JOB 17 BEGUN: X\r\nREADY: ")
    driver.run(lambda: b"X" in driver.typed)
    answer(driver, b"X 17", b"JOB 17 STOPPED\r\nREADY: ")
    assert b"X 17\r" in driver.typed
    assert tidied(driver) == ("failed", True)


def test_what_was_never_begun_is_left_out():
    driver = Driver(one_round(pause("first"), GO, tidy_up=(END_IT,)))
    driver.open_line()
    driver.stands(b"READY: ")
    driver.asks("stop")
    assert [fact.why for fact in driver.facts(kinds.StepLeftOut)] == [
        "the machine never gave job of the step go"
    ]
    assert driver.typed == b""
    assert (driver.over, tidied(driver)) == ("stopped", ("stopped", True))


def test_what_the_script_itself_ended_isnt_ended_again():
    driver = Driver(one_round(GO, END_IT, tidy_up=(command("once-more", "X {go.job}", "ready"),)))
    types(driver, b"GO", b"JOB 17 BEGUN: X\r\nREADY: ")
    driver.run(lambda: b"X" in driver.typed)
    answer(driver, b"X 17", b"JOB 17 STOPPED\r\nREADY: ")
    assert [fact.why for fact in driver.facts(kinds.StepLeftOut)] == ["it was done before"]
    assert driver.typed.count(b"X 17\r") == 1
    assert (driver.over, tidied(driver)) == ("done", ("done", True))


def test_a_step_for_another_place_is_left_out_and_all_is_tidy():
    driver = Driver(one_round(pause("first"), tidy_up=(command("leave", "leave", "word", at="desk"),)))
    driver.open_line()
    driver.stands(b"READY: ")
    driver.passes("step")
    assert [fact.why for fact in driver.facts(kinds.StepLeftOut)] == ["the console is at ready"]
    assert tidied(driver) == ("done", True)


def test_a_job_that_cant_be_ended_where_the_console_stands_isnt_tidy_and_a_person_must_look():
    driver = Driver(one_round(GO, pause("look"), tidy_up=(END_IT,)))
    types(driver, b"GO", b"JOB 17 BEGUN: X\r\nDESK TERN: ")
    driver.asks("stop")
    driver.run()
    assert tidied(driver) == ("failed", False)
    assert driver.over == "failed"
    assert "end-it was left out, because the console is at desk" in driver.facts(kinds.SessionFailed)[0].why


def test_what_may_have_begun_without_its_number_being_known_isnt_tidy():
    driver = Driver(one_round(GO, tidy_up=(END_IT,)))
    awaiting_new_line(driver)
    driver.asks("stop")
    driver.stands(b"\r\nJOB ## BEGUN: X\r\nREADY: ")
    assert tidied(driver) == ("failed", False)
    assert "may have taken its command" in driver.facts(kinds.SessionFailed)[0].why


def test_a_number_that_comes_when_its_step_was_given_up_already_is_used_in_the_tidy_up():
    driver = Driver(one_round(GO, tidy_up=(END_IT,)))
    waiting(driver)
    driver.asks("stop")
    driver.stands(b"JOB 17 BEGUN: X\r\nREADY: ")
    answer(driver, b"X 17", b"JOB 17 STOPPED\r\nREADY: ")
    assert driver.typed.endswith(b"X 17\r")
    assert tidied(driver) == ("stopped", True)


def test_where_a_job_may_go_on_the_tidy_up_is_gone_through_once_more():
    driver = Driver(
        one_round(GO, pause("look"), tidy_up=(END_IT, command("leave", "Y", "desk")), described=XOFF_LIMITED)
    )
    types(driver, b"GO", b"JOB 17 BEGUN: X\r\nREADY: ")
    driver.asks("stop")
    assert driver.typed.endswith(b"X")
    driver.prints(b"\x13")
    driver.passes("step")
    assert driver.facts(kinds.StepFailed)[0].step == "end-it"
    driver.passes("step")
    assert [fact.why for fact in driver.facts(kinds.TidyUpStarted)] == [
        "a docent said stop",
        "a job may still be running, so the tidy-up is tried once more",
    ]
    driver.prints(b"\x11")
    driver.stands(b"\r\nREADY: ")
    answer(driver, b"X 17", b"JOB 17 STOPPED\r\nREADY: ")
    answer(driver, b"Y", b"DESK TERN: ")
    assert b"X 17\r" in driver.typed
    assert tidied(driver) == ("stopped", True)


def test_it_is_gone_through_twice_at_most():
    driver = Driver(one_round(GO, pause("look"), tidy_up=(END_IT,)))
    types(driver, b"GO", b"JOB 17 BEGUN: X\r\n")
    driver.asks("stop")
    driver.run()
    assert len(driver.facts(kinds.TidyUpStarted)) == 2
    assert tidied(driver) == ("failed", False)


def test_a_step_that_ends_no_job_isnt_tried_again():
    driver = Driver(one_round(pause("look"), tidy_up=(command("leave", "Y", "desk"), END_IT)))
    driver.open_line()
    driver.run()
    assert len(driver.facts(kinds.TidyUpStarted)) == 1
    assert tidied(driver) == ("failed", False)


def test_a_command_that_was_cancelled_before_its_return_began_nothing():
    driver = Driver(one_round(GO, tidy_up=(END_IT,)))
    typing(driver)
    driver.asks("stop")
    driver.stands(b" CANCELLED\r\nREADY: ")
    assert tidied(driver) == ("stopped", True)


def test_the_key_that_is_for_an_unknown_place_is_pressed_when_nothing_came_to_stand_for_a_while():
    play(
        one_round(press("let-go", "cancel", "let-go")),
        """
        opens
            tell script started: round round 1
            arm script 1200 s
            tell step started: let-go
            arm step 30 s
            arm listen 2 s
        prints "3 OF 24 DONE\\r\\n"
        passes listen
            type CANCEL
        prints "LET GO OF JOB 3\\r\\n"
            arm unended 2 s
            tell pattern seen: let-go 3
            tell step matched: let-go by let-go
            tell step ended: let-go
            drop step
            tell tidy up started: (the script is done)
            drop script
            tell script ended: done tidy
            drop unended
            tell session resting
            end done
        """,
    )


def test_the_key_for_an_unknown_place_isnt_pressed_while_the_machine_prints():
    driver = Driver(one_round(press("let-go", "cancel", "let-go")), far_end := Dripping(9))
    driver.open_line()
    driver.run(lambda: driver.typed != b"")
    assert far_end.left == 0
    assert driver.now_us == far_end.last_us + 2 * S


def test_a_machine_that_never_falls_quiet_is_told_so_and_no_key_is_pressed():
    driver = Driver(one_round(press("let-go", "cancel", "let-go")), Dripping(99))
    driver.open_line()
    driver.run(lambda: bool(driver.facts(kinds.StepOverdue)))
    assert driver.typed == b""
    assert driver.facts(kinds.StepOverdue)[0].waited_for == ["quiet"]


def test_the_key_for_an_unknown_place_isnt_pressed_where_a_prompt_comes_to_stand():
    driver = Driver(one_round(pause("first"), tidy_up=(press("let-go", "cancel", "let-go"),)))
    driver.open_line()
    driver.passes("step")
    driver.prints(b"READY: ")
    driver.run()
    assert driver.typed == b""
    assert tidied(driver) == ("done", True)


def test_the_key_for_an_unknown_place_waits_for_a_prompt_that_is_about_to_settle():
    driver = Driver(one_round(pause("first"), tidy_up=(press("let-go", "cancel", "let-go"),)))
    driver.open_line()
    driver.passes("step")
    driver.wait(2 * S - 1_000)
    driver.prints(b"READY: ")
    driver.passes("listen")
    assert driver.typed == b""
    driver.passes("settle")
    assert driver.typed == b""
    assert tidied(driver) == ("done", True)


def test_a_display_no_longer_stands_when_a_key_was_pressed_at_it():
    board = b"\x1b[1;1HHERON BOARD 09.15\x1b[24;1H"
    driver = Driver(
        one_round(press("one", "space", "let-go", "board"), press("two", "enter", "ready", "board"))
    )
    driver.open_line()
    driver.prints(board)
    driver.passes("listen")
    driver.prints(b"LET GO OF JOB 3\r\n")
    assert driver.typed == b" "
    driver.prints(board)
    driver.passes("listen")
    assert driver.typed == b" \r"


def test_a_key_is_pressed_at_a_display_only_when_nothing_comes_behind_its_frame():
    """A line that stood still hands over much at once, and may end at a prompt: there the key is input."""
    driver = Driver(one_round(press("away", "space", "ready", at="board")))
    driver.open_line()
    for clock in (b"09.15", b"09.16"):
        driver.prints(b"\x1b[2J\x1b[1;1HHERON BOARD " + clock + b"\x1b[24;1H")
    assert driver.deadlines["listen"] == driver.now_us + SETTLE_US
    driver.prints(b"\x1b[2J\x1b[1;1HBOARD PUT AWAY\r\nREADY: ")
    while driver.deadlines.keys() & {"settle", "listen"}:
        driver.passes(min(driver.deadlines, key=driver.deadlines.__getitem__))
    assert driver.typed == b""


def test_a_key_is_pressed_at_a_display_that_is_painted_without_a_pause_after_a_while():
    driver = Driver(one_round(press("away", "space", "ready", at="board")))
    driver.open_line()
    while not driver.typed:
        assert driver.now_us <= ECHO_US
        driver.prints(b"\x1b[1;1HHERON BOARD 09.15\x1b[24;1H")
        driver.now_us += SETTLE_US // 2
        for name in [
            name for name in ("listen",) if driver.deadlines.get(name, driver.now_us) < driver.now_us
        ]:
            driver.passes(name)
    assert driver.now_us >= ECHO_US


# -- steps that are for one place only


def test_a_key_isnt_pressed_at_a_display_that_a_question_was_printed_over():
    driver = Driver(one_round(pause("first"), press("away", "space", "ready", at="board")))
    driver.open_line()
    driver.prints(b"\x1b[1;1HHERON BOARD 09.15\x1b[24;1H")
    driver.prints(b"\r\nREALLY END ALL JOBS? ")
    driver.run()
    assert driver.typed == b""


def test_a_step_that_is_only_for_one_place_is_left_out_elsewhere():
    driver = Driver(one_round(command("if-signed-on", "leave", "ready", at="desk", only_if_there=True), GO))
    driver.open_line()
    driver.stands(b"READY: ")
    assert [fact.step for fact in driver.facts(kinds.StepLeftOut)] == ["if-signed-on"]
    assert driver.typed == b"g"


def test_a_step_that_is_for_one_place_waits_elsewhere():
    driver = Driver(one_round(command("signed-on", "leave", "ready", at="desk")))
    driver.open_line()
    driver.stands(b"READY: ")
    assert driver.facts(kinds.StepLeftOut) == []
    driver.stands(b"\r\nDESK TERN: ")
    assert driver.typed == b"l"


@pytest.mark.parametrize("stands_before", [True, False])
def test_a_frame_that_isnt_shown_isnt_waited_for_if_it_neednt_be(stands_before):
    driver = Driver(one_round(pause("first"), read("frame", only_if_there=True)))
    driver.open_line()
    if stands_before:
        driver.stands(b"READY: ")
    driver.passes("step")
    if not stands_before:
        driver.stands(b"READY: ")
    assert [fact.step for fact in driver.facts(kinds.StepLeftOut)] == ["frame"]
    assert driver.over == "done"


def test_a_frame_that_is_shown_is_read_if_it_neednt_be():
    driver = Driver(one_round(read("frame", only_if_there=True)))
    driver.open_line()
    driver.prints(b"\x1b[1;1HHERON BOARD 09.15\x1b[24;1H")
    assert ended_steps(driver) == ["frame"]


# -- in every state: stop, the line goes away, the disc is full


@in_every_state
def test_stop_cancels_what_is_half_typed_tidies_up_and_types_nothing_else(state):
    driver, cancels = come_to(state)
    before = driver.typed
    driver.asks("stop")
    assert driver.typed == before + cancels
    driver.prints(b"\r\nREADY: ")
    driver.run(lambda: driver.typed != before + cancels)
    driver.prints(b"\r\nREADY: ")
    driver.run()
    assert driver.typed == before + cancels + b" "
    assert tidied(driver) == ("stopped", True)
    assert driver.over == "stopped"
    assert driver.deadlines == {}
    assert driver.facts(kinds.RequestRefused) == []


@in_every_state
def test_a_lost_line_is_typed_at_no_more_and_tidied_up_when_it_is_back(state):
    driver, _ = come_to(state)
    before = driver.typed
    driver.lose_line()
    driver.run()
    assert driver.typed == before
    assert driver.over is None
    assert {"step", "script", "echo"} & set(driver.deadlines) == set()
    driver.open_line()
    assert driver.typed == before, "nobody knows yet what the console shows"
    driver.prints(b"\r\nREADY: ")
    driver.run(lambda: driver.typed != before)
    driver.prints(b"\r\nREADY: ")
    driver.run()
    assert driver.typed == before + b" "
    assert tidied(driver) == ("failed", True)
    assert driver.over == "failed"


@in_every_state
def test_stop_while_the_line_is_away_ends_untidy_and_told(state):
    driver, _ = come_to(state)
    before = driver.typed
    driver.lose_line()
    driver.asks("stop")
    assert tidied(driver) == ("failed", False)
    assert driver.over == "failed"
    driver.open_line()
    driver.prints(b"\r\nREADY: ")
    driver.run()
    assert driver.typed == before


@in_every_state
def test_a_full_disc_ends_the_script_and_it_is_still_tidied_up(state):
    driver, cancels = come_to(state)
    before = driver.typed
    driver.note(kinds.RecordNearlyFull(left_bytes=4096))
    driver.note(kinds.Heartbeat(wall="2026-11-25T09:00:00+00:00"))
    driver.prints(b"\r\nREADY: ")
    driver.run(lambda: driver.typed != before + cancels)
    driver.prints(b"\r\nREADY: ")
    driver.run()
    assert driver.typed == before + cancels + b" "
    assert tidied(driver) == ("failed", True)
    assert "disc" in driver.facts(kinds.SessionFailed)[0].why


@in_every_state
def test_after_a_failure_nothing_is_typed_whatever_comes(state):
    driver, _ = come_to(state)
    driver.lose_line()
    driver.asks("stop")
    assert driver.over == "failed"
    before = driver.typed
    for printed in (b"\r\nREADY: ", b"\r\nSIGN WORD? ", b"\x11", b"G", b"\x1b[1;1HHERON BOARD 1\x1b[24;1H"):
        driver.open_line()
        driver.prints(printed)
        driver.run()
    driver.asks("confirm", "key")
    driver.asks("stop")
    assert driver.typed == before
    assert [fact.request for fact in driver.facts(kinds.RequestRefused)] == ["confirm", "stop"]


def test_stop_during_the_tidy_up_lets_it_end_and_nothing_comes_after():
    decider = decider_for(
        folder(script("round", pause("look"), tidy_up=(pause("a"), pause("b")))),
        opened(),
        Wanted(before=(), rounds=None, after=()),
    )
    driver = Driver(decider)
    driver.open_line()
    driver.passes("step")
    driver.asks("stop")
    driver.run()
    assert ended_steps(driver) == ["look", "a", "b"]
    assert tidied(driver) == ("stopped", True)
    assert driver.over == "stopped"


def test_a_line_that_is_lost_during_the_tidy_up_has_it_begin_again_and_a_person_look():
    driver = Driver(one_round(pause("look"), tidy_up=(pause("a"), pause("b"))))
    driver.open_line()
    driver.passes("step")
    driver.passes("step")
    driver.lose_line()
    driver.open_line()
    driver.run()
    assert ended_steps(driver) == ["look", "a", "a", "b"]
    assert tidied(driver) == ("failed", True)


@pytest.mark.parametrize("while_tidying", [False, True])
def test_a_line_that_is_lost_after_a_stop_was_asked_ends_the_run_and_nothing_is_typed_later(while_tidying):
    end = press("away", "space", "ready", at="ready")
    driver = Driver(one_round(pause("look"), tidy_up=(pause("a"), end)))
    driver.open_line()
    if while_tidying:
        driver.passes("step")
    driver.asks("stop", why="closing time")
    assert driver.over is None
    driver.lose_line()
    assert tidied(driver) == ("failed", False)
    assert len(driver.facts(kinds.SessionFailed)) == 1
    driver.open_line()
    driver.prints(b"\r\nREADY: ")
    driver.run()
    assert driver.typed == b""


def test_a_disc_that_fills_up_during_the_tidy_up_doesnt_disturb_it():
    driver = Driver(one_round(pause("look"), tidy_up=(pause("a"), pause("b"))))
    driver.open_line()
    driver.passes("step")
    driver.note(kinds.RecordNearlyFull(left_bytes=4096))
    driver.run()
    assert ended_steps(driver) == ["look", "a", "b"]
    assert tidied(driver) == ("failed", True)
    assert driver.over == "failed"


def test_a_disc_that_fills_up_while_a_stopped_script_is_tidied_up_makes_it_a_failure():
    driver = Driver(one_round(pause("look"), tidy_up=(pause("a"), pause("b"))))
    driver.open_line()
    driver.asks("stop")
    driver.note(kinds.RecordNearlyFull(left_bytes=4096))
    driver.run()
    assert ended_steps(driver) == ["a", "b"]
    assert tidied(driver) == ("failed", True)
    assert "disc" in driver.facts(kinds.SessionFailed)[0].why
    assert driver.over == "failed"


def test_a_step_that_a_person_refuses_fails_with_their_reason():
    driver = Driver(one_round(hands_on("key")))
    driver.open_line()
    driver.asks("refuse", "key", why="the key is missing")
    assert driver.facts(kinds.HandsOnRefused) == [
        kinds.HandsOnRefused(step="key", by="a docent", why="the key is missing")
    ]
    assert "the key is missing" in driver.facts(kinds.SessionFailed)[0].why


def test_a_step_that_isnt_done_yet_is_given_its_time_again_as_often_as_a_person_says():
    driver = Driver(one_round(hands_on("key"), within_us=600 * S))
    driver.open_line()
    whole_us = driver.deadlines["step"]
    for waited_s in (20, 45):
        driver.wait(waited_s * S - driver.now_us)
        driver.asks("not yet", "key")
        assert driver.deadlines["step"] == driver.now_us + whole_us
    assert [fact.step for fact in driver.facts(kinds.HandsOnPutOff)] == ["key", "key"]
    assert driver.facts(kinds.StepOverdue) == []
    driver.asks("confirm", "key")
    assert driver.over == "done"


def test_a_date_that_isnt_agreed_to_yet_is_given_its_time_again():
    driver = asked_about_the_date()
    whole_us = driver.deadlines["step"] - driver.now_us
    driver.wait(60 * S)
    driver.asks("not yet", "date")
    assert driver.deadlines["step"] == driver.now_us + whole_us
    assert driver.typed == b""


def test_nothing_is_put_off_that_nobody_is_asked_for():
    driver = Driver(one_round(pause("look")))
    driver.open_line()
    driver.asks("not yet", "key")
    assert driver.facts(kinds.HandsOnPutOff) == []
    assert "nobody is being asked" in driver.facts(kinds.RequestRefused)[0].why


def test_a_person_who_doesnt_come_is_waited_for_up_to_the_limit():
    driver = Driver(one_round(hands_on("key")))
    driver.open_line()
    driver.passes("step")
    assert driver.facts(kinds.StepOverdue)[0].waited_for == ["a person to confirm"]


def test_every_state_can_be_left():
    states = {state for state, _ in TRANSITIONS} | set(TRANSITIONS.values())
    assert {state for state in states if not any(move[0] == state for move in TRANSITIONS)} == set()


def test_after_a_cancelled_secret_another_is_typed_only_when_no_late_answer_can_come():
    """A secret's prompt that was still on its way must not have a secret typed at what comes behind it."""
    sign_again = secret("sign-again")
    driver = Driver(one_round(secret("sign"), tidy_up=(sign_again,)))
    driver.open_line()
    driver.stands(b"SIGN WORD? ")
    driver.asks("stop")
    assert driver.typed == b"*" + CANCEL
    driver.prints(b"\r\nSIGN WORD? ")
    driver.wait(S)
    driver.prints(b"CANCELLED\r\nREADY: ")
    driver.run()
    assert driver.typed == b"*" + CANCEL


def test_what_was_never_started_is_not_waited_for_in_the_tidy_up():
    stop = command("stop", "STOP {go.job}", "ready")
    driver = Driver(one_round(hands_on("key"), command("go", "go", "begun"), tidy_up=(stop,)))
    driver.open_line()
    at_us = driver.now_us
    driver.asks("refuse", "key")
    assert [(fact.step, fact.why) for fact in driver.facts(kinds.StepLeftOut)] == [
        ("stop", "the machine never gave job of the step go")
    ]
    assert driver.now_us == at_us
    assert tidied(driver) == ("failed", True)
