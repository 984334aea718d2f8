"""Where the console stands without a prompt, and how typing differs from one landmark to another."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from exhibit.decisions.machine.description import Machine, Silence
from exhibit.decisions.machine.script import SILENT, Folder
from exhibit.decisions.page.console_view import ConsoleView
from exhibit.decisions.session.left_open import NOTHING
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.facts.display import Display
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import (
    AT_REST,
    BOARD,
    CANCEL,
    ECHO_US,
    MACHINE,
    RETURN,
    TYPING,
    S,
    command,
    folder,
    hands_on,
    machine,
    opened,
    press,
    read,
    script,
)

RUBOUT, PAINT = b"\x7f", b"\x0c"
XOFF, XON = b"\x13", b"\x11"
LANDMARKS = {
    "signed-out": ("ready",),
    "signed-in": ("desk",),
    "word-wanted": ("word",),
    "question": ("sure",),
    "status-display": ("board", "gauge"),
}
GO = script("round", command("go", "go", "begun"))
OPENING = script("opening", hands_on("turn-key"), command("go-on", "go", "begun"))
ROUND = Wanted(before=(), rounds=1, after=())
DAY = Wanted(before=("opening",), rounds=0, after=())


def left(**changes: Any) -> kinds.LastRecordingRead:
    return msgspec.structs.replace(NOTHING, recording="the last", **changes)


def heron(
    *silences: Silence, typing: dict[str, Any] | None = None, at: dict[str, Any] | None = None, **changes: Any
) -> Machine:
    """The Heron with these silences; `at` is how its typing differs by landmark."""
    usual = msgspec.structs.replace(TYPING, **(typing or {}))
    return machine(
        typing=typing or {},
        landmarks={**LANDMARKS, **{silence.landmark: () for silence in silences}},
        silences=silences,
        typing_at={name: msgspec.structs.replace(usual, **there) for name, there in (at or {}).items()},
        **changes,
    )


def described(there: Machine, *scripts: Any, **way: Any) -> Folder:
    return msgspec.structs.replace(
        folder(*(scripts or (GO, OPENING)), machine=there), way_home=msgspec.structs.replace(AT_REST, **way)
    )


def started(
    where: Folder, wanted: Wanted = ROUND, last: kinds.LastRecordingRead = NOTHING, far: Any = None
) -> Driver:
    driver = Driver(decider_for(where, opened(where.machine), wanted, {}), far)
    driver.note(last)
    driver.open_line()
    return driver


def without_home(there: Machine, *steps: Any, tidy_up: tuple[Any, ...] = ()) -> Driver:
    """A round of these steps that begins wherever the console is."""
    where = folder(script("round", *steps, tidy_up=tidy_up), machine=there)
    driver = Driver(decider_for(where, opened(there), ROUND, {}))
    driver.open_line()
    return driver


def places(driver: Driver) -> list[str]:
    return [fact.place for fact in driver.facts(kinds.PlaceRecognised)]


def why_failed(driver: Driver) -> str:
    assert driver.over == "failed"
    return driver.facts(kinds.SessionFailed)[-1].why


# -- a state without a prompt


def test_a_silence_is_the_landmark_that_the_folder_names_and_a_script_can_begin_there():
    where = described(heron(Silence(landmark="switched-off")), begins={"opening": ("switched-off",)})
    driver = started(where, DAY)
    driver.run(lambda: driver.facts(kinds.HandsOnAsked) != [])
    assert places(driver) == ["switched-off"]


def test_the_way_home_from_a_silence_can_press_the_key_that_ends_it():
    ways = {"asleep": (press("wake-it", "space", "ready"),)}
    driver = started(described(heron(Silence(landmark="asleep")), ways=ways))
    driver.passes("home")
    assert places(driver) == ["asleep"]
    driver.run(lambda: driver.typed == b" ")
    driver.stands(b"READY: ")
    assert places(driver) == ["asleep", "signed-out"]
    assert driver.typed == b" g"


def test_a_terminal_that_shows_nothing_until_a_key_comes_is_woken_by_the_folders_key():
    where = described(heron(Silence(landmark="asleep", wake=b"\x07"), typing={"nudge": RETURN}))
    driver = started(where)
    driver.passes("home")
    assert driver.typed == b"\x07", "and no nudge"
    driver.prints(b"READY: ")
    driver.run(lambda: driver.typed != b"\x07")
    assert places(driver) == ["signed-out"]
    assert driver.typed == b"\x07g"


def test_a_machine_that_the_key_doesnt_wake_is_at_the_other_silence():
    silences = Silence(landmark="asleep", wake=b"\x07"), Silence(landmark="switched-off")
    driver = started(described(heron(*silences), begins={"opening": ("switched-off",)}), DAY)
    driver.run(lambda: driver.facts(kinds.HandsOnAsked) != [])
    assert driver.typed == b"\x07"
    assert places(driver) == ["switched-off"]
    driver = started(described(heron(*silences[:1])))
    driver.run()
    assert places(driver) == [SILENT]
    assert "is it off" in why_failed(driver)


def test_a_machine_that_printed_something_isnt_woken():
    driver = started(described(heron(Silence(landmark="asleep", wake=b"\x07"), typing={"nudge": RETURN})))
    driver.prints(b"LOADING\r\n")
    driver.passes("home")
    driver.passes("home")
    assert driver.typed == RETURN


def test_no_key_wakes_a_machine_that_may_show_a_question():
    driver = started(described(heron(Silence(landmark="asleep", wake=RETURN))), last=left(question="sure"))
    driver.run()
    assert driver.typed == b""


# -- typing that differs by landmark


def test_what_is_typed_at_a_landmark_follows_its_own_settings():
    there = heron(at={"signed-out": {"echo": "none", "pause_after_us": 1000}})
    driver = without_home(there, command("go", "go", "desk"), command("look", "ab", "begun", at="desk"))
    driver.stands(b"READY: ")
    driver.run(lambda: driver.typed == b"go" + RETURN)
    driver.prints(b"\r\n")
    driver.stands(b"DESK TERN: ")
    driver.run()
    assert driver.typed.startswith(b"go\ra" + CANCEL), "at the desk an echo is waited for in vain"


def test_a_command_is_cancelled_with_the_key_of_the_landmark_at_which_it_was_typed():
    driver = without_home(heron(at={"signed-out": {"cancel": RUBOUT}}), command("go", "go", "begun"))
    driver.stands(b"READY: ")
    driver.prints(b"X")
    assert driver.typed == b"g" + RUBOUT


def test_a_command_is_folded_as_its_landmark_folds():
    driver = without_home(heron(at={"signed-out": {"folds_to": "as typed"}}), command("go", "go", "begun"))
    driver.stands(b"READY: ")
    driver.prints(b"g")
    assert driver.typed == b"go"


def test_no_beginning_of_a_command_is_forbidden_however_a_landmark_folds():
    there = heron(typing={"folds_to": "as typed"}, at={"signed-out": {"folds_to": "upper case"}})
    driver = without_home(there, command("halt-it", "halt", "begun"))
    driver.stands(b"READY: ")
    assert driver.typed == b""
    assert "never to type" in why_failed(driver)


def test_after_a_restart_half_a_command_is_cancelled_with_the_key_of_its_landmark():
    driver = started(
        described(heron(at={"signed-out": {"cancel": RUBOUT}})), last=left(half_typed="BO", prompt="ready")
    )
    driver.passes("home")
    assert driver.typed == RUBOUT
    driver.stands(b"\r\nREADY: ")
    driver.run(lambda: driver.typed != RUBOUT)
    assert driver.typed == RUBOUT + b"g"


def test_the_nudge_is_the_one_of_the_landmark_that_was_showing_last():
    there = heron(typing={"nudge": RETURN}, at={"signed-in": {"nudge": b"\x07"}})
    driver = started(described(there), last=left(prompt="desk"))
    driver.passes("home")
    assert driver.typed == b"\x07"


def test_the_recording_says_which_prompt_came_last_and_what_its_cancel_key_left():
    driver = without_home(heron(at={"signed-out": {"cancel": RUBOUT}}), command("go", "go", "begun"))
    driver.stands(b"READY: ")
    driver.prints(b"G")
    driver.prints(b"X")
    last = driver.decider.left_open("the last")
    assert (last.prompt, last.half_typed) == ("ready", "go")
    driver.stands(b"\r\nREADY: ")
    assert driver.decider.left_open("the last").half_typed == "g", "cancelled, and begun again"


# -- no cancel key


def test_without_a_cancel_key_a_garbled_command_is_never_followed_by_anything():
    there = heron(typing={"cancel": b""})
    driver = without_home(there, command("go", "go", "begun"), tidy_up=(command("end-it", "end", "ready"),))
    driver.stands(b"READY: ")
    driver.prints(b"X")
    driver.stands(b"\r\n== GALE ==\r\nREADY: ")
    driver.run()
    assert driver.typed == b"g"
    why = why_failed(driver)
    assert '"g" is half typed on the console (the console shows "X")' in why
    assert "no key that cancels it" in why
    assert "Remove it at the machine itself" in why


def test_what_a_late_step_leaves_half_typed_without_a_cancel_key_is_said_too():
    there = heron(typing={"cancel": b"", "echo": "none", "pause_after_us": 60 * S})
    driver = without_home(there, command("go", "go", "begun"))
    driver.stands(b"READY: ")
    driver.run()
    assert driver.typed == b"g"
    assert '"g" is half typed on the console' in why_failed(driver)


def test_a_key_isnt_pressed_behind_half_a_command_either():
    there = heron(typing={"cancel": b""})
    driver = without_home(there, command("go", "go", "begun"), tidy_up=(press("let-go", "enter", "ready"),))
    driver.stands(b"READY: ")
    driver.prints(b"X")
    driver.run()
    assert driver.typed == b"g"
    assert driver.over == "failed"


def test_once_a_person_who_was_told_has_looked_the_machine_is_nudged_and_the_run_goes_on():
    there = heron(typing={"cancel": b"", "nudge": RETURN})
    driver = started(described(there), last=left(half_typed="WI", prompt="ready"))
    driver.run()
    assert driver.typed == b""
    assert '"WI" is half typed on the console' in why_failed(driver)
    driver.asks("clear")
    driver.passes("home")
    assert driver.typed == RETURN
    driver.prints(b"\r\nREADY: ")
    driver.run(lambda: driver.typed != RETURN)
    assert driver.typed == RETURN + b"g"


def test_a_person_who_wasnt_told_of_half_a_command_is_told_before_anything_is_typed():
    there = heron(typing={"cancel": b"", "nudge": RETURN})
    driver = started(described(there), last=left(half_typed="WI", prompt="ready"))
    driver.prints(bytes(range(0x80, 0xA0)) * 3 + XON)
    driver.run()
    assert "its speed set differently" in why_failed(driver)
    driver.asks("clear")
    driver.run()
    assert driver.typed == b""
    assert '"WI" is half typed on the console' in why_failed(driver)


def test_part_of_a_secret_is_not_said():
    driver = started(described(heron(typing={"cancel": b""})), last=left(half_typed="***", prompt="word"))
    driver.run()
    assert "part of a secret is half typed" in why_failed(driver)
    assert "*" not in why_failed(driver)


def test_a_machine_without_a_cancel_key_is_operated_as_long_as_nothing_goes_wrong():
    there = heron(typing={"cancel": b"", "nudge": RETURN})
    beginning = script("round", command("begin", "begin shuttle", "begun"))
    driver = started(described(there, beginning), far=FarHeron())
    driver.run()
    assert driver.over == "done"
    assert driver.far_end.executed == ["BEGIN SHUTTLE"]


# -- a machine that throws half a command away itself


def test_a_command_that_the_machine_threw_away_is_typed_again_at_its_new_prompt_without_a_cancel_key():
    driver = without_home(heron(typing={"cancel": b""}), command("go", "go", "begun"))
    driver.stands(b"READY: ")
    driver.prints(b"G")
    driver.prints(b"\r\nREADY: ")
    driver.passes("echo")
    assert driver.decider.left_open("the last").half_typed == ""
    driver.passes("settle")
    assert driver.typed == b"gog"
    for echo in (b"G", b"O"):
        driver.prints(echo)
    driver.passes("echo")
    assert driver.typed == b"gogo" + RETURN


def test_it_isnt_cancelled_where_the_script_is_stopped_either():
    driver = without_home(heron(), command("go", "go", "begun"))
    driver.stands(b"READY: ")
    driver.prints(b"G")
    driver.prints(b"\r\nREADY: ")
    driver.asks("stop")
    driver.run()
    assert driver.typed == b"go"
    assert driver.decider.left_open("the last").half_typed == ""


# -- a cancel key after which no prompt comes


QUIET_CANCEL = {"after_cancel": "nothing"}


def test_where_no_prompt_follows_the_cancel_key_the_line_is_typed_again_if_it_can_be_shown_whole():
    there = heron(typing={**QUIET_CANCEL, "show_again": b"\x12"})
    driver = without_home(there, command("go", "go", "begun"))
    driver.stands(b"READY: ")
    driver.prints(b"X")
    assert driver.typed == b"g" + CANCEL
    driver.passes("settle")
    assert driver.now_us >= ECHO_US
    assert driver.typed == b"g" + CANCEL + b"g"
    assert driver.decider.left_open("the last").half_typed == "gg", "the first one may be there still"
    driver.prints(b"G")
    driver.prints(b"O")
    driver.passes("echo")
    assert driver.typed.endswith(b"\x12")
    driver.prints(b"\r\nREADY: GGO")  # the cancel key was lost
    assert not driver.typed.endswith(RETURN)


def test_where_nothing_shows_whether_it_was_cancelled_a_person_is_asked_and_nothing_more_is_typed():
    driver = without_home(heron(typing=QUIET_CANCEL), command("go", "go", "begun"))
    driver.stands(b"READY: ")
    driver.prints(b"X")
    driver.run()
    assert driver.typed == b"g" + CANCEL
    assert "doesn't show whether it took it" in why_failed(driver)


def test_after_a_restart_too_a_person_is_asked_where_nothing_shows_that_it_was_cancelled():
    there = heron(typing={**QUIET_CANCEL, "nudge": RETURN})
    driver = started(described(there), last=left(half_typed="WI", prompt="ready"))
    driver.run()
    assert driver.typed == CANCEL
    assert '"WI" is half typed' in why_failed(driver)
    driver.asks("clear")
    driver.passes("home")
    assert driver.typed == CANCEL + RETURN


# -- a key that nothing answered


def test_a_prompt_that_comes_after_an_unanswered_key_is_listened_to_before_anything_is_typed():
    where = described(heron(typing={"nudge": RETURN}), begins={"opening": (SILENT,)})
    driver = started(where, DAY)
    driver.run(lambda: driver.facts(kinds.HandsOnAsked) != [])
    assert driver.typed == RETURN
    driver.asks("confirm", "turn-key")
    driver.stands(b"READY: ")
    stood_us = driver.now_us
    assert driver.typed == RETURN
    driver.run(lambda: driver.typed != RETURN)
    assert driver.now_us >= stood_us + AT_REST.listen_us - 20_000
    assert driver.typed == RETURN + b"g"


def test_a_question_that_comes_then_is_answered_only_with_a_person_there():
    asks = script("opening", command("answer", "no", "ready", at="sure"))
    where = described(heron(typing={"nudge": RETURN}), asks, begins={"opening": (SILENT,)})
    driver = started(where, DAY)
    driver.run(lambda: places(driver) == [SILENT])
    driver.stands(b"SURE (NO)? ")
    driver.run()
    assert driver.typed == RETURN
    assert "it may answer sure" in why_failed(driver)
    attended = script("opening", hands_on("turn-key"), command("answer", "no", "ready", at="sure"))
    driver = started(described(heron(typing={"nudge": RETURN}), attended, begins={"opening": (SILENT,)}), DAY)
    driver.run(lambda: driver.facts(kinds.HandsOnAsked) != [])
    driver.asks("confirm", "turn-key")
    driver.stands(b"SURE (NO)? ")
    driver.run(lambda: driver.typed != RETURN)
    assert driver.typed == RETURN + b"n"


def test_no_nudge_follows_a_cancel_key_that_was_answered():
    driver = started(
        described(heron(typing={"nudge": RETURN})), last=left(closed=False, may_lack=True, prompt="ready")
    )
    driver.passes("home")
    assert driver.typed == CANCEL
    driver.prints(b"SOMETHING ELSE\r\n")
    driver.run()
    assert driver.typed == CANCEL
    assert "none of the states that the folder describes" in why_failed(driver)


def test_no_nudge_is_typed_at_a_question_that_stood_before_a_person_said_go_on():
    driver = started(described(heron(typing={"nudge": RETURN})))
    driver.stands(b"SURE (NO)? ")
    driver.run()
    assert driver.over == "failed"
    driver.asks("clear")
    driver.run()
    assert RETURN not in driver.typed


# -- a display that is painted anew


FRAME = b"\x1b[2J\x1b[1;1HHERON BOARD 09.15\x1b[3;1HLOAD 1\x1b[24;1H"
PAINTED = msgspec.structs.replace(BOARD, paint_again=PAINT)
GAUGE = MACHINE.displays[1]


def test_a_damaged_display_is_painted_anew_and_read():
    driver = without_home(heron(displays=(PAINTED, GAUGE)), read("look"))
    driver.prints(FRAME)
    driver.run(lambda: driver.over is not None)
    driver = without_home(heron(displays=(PAINTED, GAUGE)), press("x", "space", "board"), read("look"))
    driver.run(lambda: driver.typed == b" ")
    driver.prints(FRAME)
    driver.prints(b"\r\nNOISE\r\nON IT")
    driver.run(lambda: driver.typed != b" ")
    assert driver.typed == b" " + PAINT
    driver.prints(FRAME)
    assert driver.over == "done"


def test_it_isnt_painted_anew_while_the_machine_prints():
    driver = without_home(heron(displays=(PAINTED, GAUGE)), press("x", "space", "board"), read("look"))
    driver.run(lambda: driver.typed == b" ")
    driver.prints(FRAME)
    for _ in range(8):
        driver.now_us += S
        driver.prints(b"\r\nNOISE")
        while min(driver.deadlines.values()) <= driver.now_us:
            driver.passes(min(driver.deadlines, key=driver.deadlines.__getitem__))
    assert driver.typed == b" "
    driver.run(lambda: driver.typed != b" ")
    assert driver.typed == b" " + PAINT


def test_it_is_painted_anew_once_only():
    driver = without_home(heron(displays=(PAINTED, GAUGE)), press("x", "space", "board"), read("look"))
    driver.run(lambda: driver.typed == b" ")
    driver.prints(FRAME)
    driver.prints(b"\r\nNOISE\r\nON IT")
    driver.run()
    assert driver.typed == b" " + PAINT
    assert driver.over == "failed"


def test_a_display_that_isnt_damaged_or_isnt_known_is_left_alone():
    driver = without_home(heron(displays=(PAINTED, GAUGE)), press("x", "space", "board"), read("look"))
    driver.run(lambda: driver.typed == b" ")
    driver.prints(FRAME)
    driver.run()
    assert driver.typed == b" "
    driver = without_home(heron(displays=(PAINTED, GAUGE)), read("look"))
    driver.prints(b"NOISE\r\nON IT")
    driver.run()
    assert driver.typed == b""


def test_on_the_way_home_a_display_that_was_showing_is_painted_anew_before_a_person_is_asked():
    where = described(
        heron(displays=(PAINTED, GAUGE)),
        ways={"status-display": (press("away", "space", "ready", at="board"),)},
    )
    driver = started(where, last=left(display="board", prompt="board"))
    driver.passes("home")
    assert driver.typed == PAINT
    driver.prints(FRAME)
    driver.run(lambda: driver.typed != PAINT)
    assert places(driver) == ["status-display"]
    assert driver.typed == PAINT + b" "


# -- lines that end with a carriage return alone


@pytest.mark.parametrize("kind", ["screen", "paper"])
def test_a_machine_that_sends_no_line_feed_is_understood_and_shown_line_by_line(kind):
    display = Display(kind=kind, line_end="return")
    there = heron(display=display, **({"displays": ()} if kind == "paper" else {}))
    driver = without_home(there, command("go", "go", "ended"))
    driver.prints(b"GOOD DAY\r")
    driver.stands(b"READY: ")
    driver.prints(b"G")
    driver.prints(b"O")
    driver.passes("echo")
    driver.prints(b"\r")
    assert len(driver.facts(kinds.TypingConfirmed)) == 1
    driver.prints(b"JOB 3 ENDED\r")
    assert driver.over == "done"
    rows = [row.rstrip() for row in driver.decider._watched.rows() if row.strip()]
    assert rows == ["GOOD DAY", "READY: GO", "JOB 3 ENDED"]
    view = ConsoleView(opened(there, display=display), 1)
    for fact in driver.facts(kinds.BytesReceived):
        view.receive(fact.bytes, 2)
    assert [row.rstrip() for row in view.text_rows() if row.strip()] == rows


# -- XOFF for hours


def test_a_machine_that_blocks_typing_for_hours_while_it_works_fails_nothing():
    driver = without_home(heron(), command("go", "go", "ended"), command("leave", "leave", "desk"))
    driver.stands(b"READY: ")
    for echo in (b"G", b"O"):
        driver.prints(echo)
    driver.passes("echo")
    driver.prints(b"\r\n" + XOFF)
    driver.run(within_us=5 * 3600 * S)
    assert driver.over is None
    assert driver.facts(kinds.TroubleRaised, kinds.StepOverdue) == []
    driver.prints(b"JOB 3 ENDED\r\n" + XON)
    driver.stands(b"READY: ")
    assert driver.typed == b"go" + RETURN + b"l"


def test_a_prompt_that_came_while_typing_was_blocked_is_typed_at_after_hours():
    driver = without_home(heron(), command("go", "go", "ended"))
    driver.prints(XOFF)
    driver.stands(b"READY: ")
    driver.run(within_us=5 * 3600 * S)
    assert driver.typed == b""
    driver.prints(XON)
    assert driver.typed == b"g"


def test_what_the_machine_lets_be_typed_again_has_its_time_limit_again():
    driver = without_home(heron(), command("go", "go", "ended"))
    driver.prints(XOFF)
    driver.run(within_us=3600 * S)
    driver.prints(XON)
    driver.run(within_us=60 * S)
    assert driver.over == "failed"


def test_the_search_for_the_place_lasts_as_long_as_typing_is_blocked_and_keeps_no_key():
    driver = started(described(heron(typing={"nudge": RETURN})))
    driver.prints(XOFF)
    driver.run(within_us=5 * 3600 * S)
    assert driver.over is None
    assert driver.facts(kinds.KeySent) == []
    driver.prints(XON)
    assert driver.typed == b""
    driver.run(lambda: driver.typed != b"", within_us=60 * S)
    assert driver.typed == RETURN


def test_a_person_who_has_looked_is_told_that_typing_is_blocked():
    driver = started(described(heron(typing={"nudge": RETURN})))
    driver.prints(b"HELLO\r\n")
    driver.run()
    assert driver.over == "failed"
    driver.prints(XOFF)
    driver.asks("clear")
    driver.run()
    assert "blocking typing" in why_failed(driver)


@pytest.mark.parametrize("heard", [b"", b"HELLO\r\n"])
def test_without_anything_of_this_a_silent_machine_is_silent_as_ever(heard):
    driver = started(described(heron()))
    driver.prints(heard)
    driver.run()
    assert places(driver) == ([] if heard else [SILENT])
