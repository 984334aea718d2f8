"""Before a script begins it is known where the console stands; else a person is asked."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from exhibit.decisions.machine.script import SILENT, Folder
from exhibit.decisions.session.left_open import NOTHING
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
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
    SECRET,
    XOFF_LIMITED,
    S,
    command,
    folder,
    hands_on,
    machine,
    opened,
    pause,
    press,
    script,
)

XOFF, XON = b"\x13", b"\x11"
LANDMARKS = {
    "signed-out": ("ready",),
    "signed-in": ("desk",),
    "word-wanted": ("word",),
    "question": ("sure",),
    "status-display": ("board", "gauge"),
    "just-ended": ("ended",),
}
WAY = msgspec.structs.replace(
    AT_REST,
    ways={
        "signed-in": (command("leave-desk", "leave", "ready", at="desk"),),
        "word-wanted": (press("give-up-word", "enter", "ready", at="word"),),
        "status-display": (press("put-away", "space", "ready", at="board"),),
        "question": (command("say-no", "no", "ready", at="sure"),),
    },
)
ROUND = script(
    "round",
    command("begin", "begin shuttle", "begun"),
    pause("look"),
    tidy_up=(command("end-shuttle", "end {begin.job}", "stopped"),),
)
SCRIPTS = (script("opening", hands_on("turn-key")), ROUND, script("closing", pause("close")))
ROUNDS = Wanted(before=(), rounds=1, after=())


def described(nudge: bytes = RETURN, displays: tuple[Any, ...] = MACHINE.displays, **changes: Any) -> Folder:
    there = machine(typing={"nudge": nudge}, landmarks=LANDMARKS, displays=displays)
    return msgspec.structs.replace(
        folder(*SCRIPTS, machine=there), way_home=msgspec.structs.replace(WAY, **changes)
    )


def left(**changes: Any) -> kinds.LastRecordingRead:
    return msgspec.structs.replace(NOTHING, recording="the last", **changes)


def started(
    far_end: FarHeron | None = None,
    last: kinds.LastRecordingRead = NOTHING,
    wanted: Wanted = ROUNDS,
    where: Folder | None = None,
) -> Driver:
    """The line has just been opened. What the machine printed before isn't heard."""
    where = where or described()
    if far_end is not None:
        while far_end.next_us() is not None:
            far_end.take()
    driver = Driver(decider_for(where, opened(where.machine), wanted, {"word": SECRET}), far_end)
    driver.note(last)
    driver.open_line()
    return driver


def keys(driver: Driver) -> list[str]:
    return [fact.key for fact in driver.facts(kinds.KeySent)]


def places(driver: Driver) -> list[str]:
    return [fact.place for fact in driver.facts(kinds.PlaceRecognised)]


def ran(driver: Driver) -> list[str]:
    return [fact.script for fact in driver.facts(kinds.ScriptStarted)]


def asked(driver: Driver) -> str:
    """Why a person was asked."""
    (fact,) = driver.facts(kinds.PersonAsked)
    assert driver.over == "failed"
    return fact.why


# -- listening, and one key


def test_nothing_is_typed_before_the_line_was_quiet_for_a_while():
    driver = started(FarHeron())
    driver.wait(S)
    driver.prints(b"SOMETHING\r\n")
    driver.passes("home")
    assert driver.typed == b""
    driver.passes("home")
    assert driver.typed == RETURN
    assert driver.now_us == 3 * S


def test_one_nudge_shows_where_the_console_stands_and_the_script_begins_there():
    driver = started(FarHeron())
    driver.run()
    assert keys(driver) == ["nudge"]
    assert places(driver) == ["signed-out"]
    assert driver.over == "done"
    assert driver.far_end.executed == ["BEGIN SHUTTLE", "END 1"]


def test_where_a_prompt_came_by_itself_no_key_is_typed():
    driver = started()
    driver.stands(b"READY: ")
    driver.passes("home")
    assert keys(driver) == []
    assert places(driver) == ["signed-out"]
    assert ran(driver) == ["round"]


def test_a_machine_whose_folder_names_no_nudge_gets_none():
    driver = started(FarHeron(), where=described(nudge=b""))
    driver.run()
    assert driver.typed == b""
    assert "the machine is silent" in asked(driver)


@pytest.mark.parametrize(
    "last", [left(half_typed="EN"), left(unanswered="LEAVE"), left(closed=False, may_lack=True)], ids=str
)
def test_where_a_command_may_stand_half_typed_the_cancel_key_comes_first(last):
    far_end = FarHeron()
    for byte in b"EN":
        far_end.typed(byte, 0)
    driver = started(far_end, last)
    driver.run()
    assert keys(driver) == ["cancel"]
    assert driver.typed.startswith(CANCEL)
    assert driver.far_end.executed == ["BEGIN SHUTTLE", "END 1"]
    assert driver.over == "done"


def test_a_prompt_that_stands_is_not_trusted_while_half_a_command_may_stand_behind_it():
    driver = started(last=left(half_typed="WI"))
    driver.stands(b"\r\nREADY: ")
    driver.passes("home")
    assert driver.typed == CANCEL
    assert places(driver) == []


def test_a_cancel_key_that_nobody_answers_is_followed_by_no_return_where_half_a_command_is_known_of():
    driver = started(FarHeron(), left(half_typed="WI"))
    driver.far_end.way_in = lambda byte: b""
    driver.run()
    assert driver.typed == CANCEL
    assert "the machine is silent" in asked(driver)


def test_where_the_last_recording_only_broke_off_the_nudge_may_follow_a_cancel_key_without_answer():
    driver = started(FarHeron(), left(closed=False, may_lack=True))
    driver.far_end.way_in = lambda byte: b"" if bytes((byte,)) == CANCEL else bytes((byte,))
    driver.run()
    assert keys(driver) == ["cancel", "nudge"]
    assert driver.over == "done"


def test_into_an_open_question_nothing_is_typed_until_a_person_has_looked():
    driver = started(last=left(question="sure"))
    driver.run()
    assert driver.typed == b""
    assert "question sure" in asked(driver)
    driver.asks("clear")
    driver.passes("home")
    assert driver.typed == CANCEL
    driver.prints(b" CANCELLED\r\nSURE (NO)? ")
    driver.run(lambda: len(driver.typed) > 1)
    assert places(driver) == ["question"]
    assert driver.typed == CANCEL + b"n"  # the way home from there, by its own prompt


# -- places


@pytest.mark.parametrize(
    ("place", "executed"),
    [("ready", []), ("desk", ["LEAVE"]), ("word", []), ("board", [])],
)
def test_from_each_place_the_way_home_is_gone(place, executed):
    driver = started(FarHeron(place), last=left(closed=False, may_lack=True))
    driver.run()
    assert driver.over == "done"
    assert driver.far_end.executed == [*executed, "BEGIN SHUTTLE", "END 1"]
    assert driver.far_end.place == "ready"


def test_a_display_that_never_pauses_is_recognised_all_the_same():
    driver = started(where=described(displays=(BOARD,)))
    frame = b"\x1b[2J\x1b[1;1HHERON BOARD 09.15\x1b[3;1HLOAD 1\x1b[24;1H"
    for _ in range(2):
        driver.wait(900_000)
        driver.prints(frame)
    driver.passes("home")
    assert places(driver) == ["status-display"]
    assert driver.typed == b" "


def test_a_display_that_stands_only_until_its_next_frame_begins_is_recognised_too():
    driver = started(where=described(displays=(BOARD,)))
    while not places(driver):
        driver.now_us += 900_000
        driver.prints(b"\x1b[1;1HHERON BOARD 09.15\x1b[24;1H")
        if not places(driver):
            driver.prints(b"\r\nMORE\r\nTO COME")
            assert driver.decider._watched.status_display is None
        if driver.deadlines.get("home", driver.now_us + 1) <= driver.now_us:
            driver.passes("home")
        assert driver.now_us < 10 * S
    assert places(driver) == ["status-display"]
    driver.passes("listen")
    assert driver.typed == b" "


def test_a_machine_that_never_pauses_otherwise_is_asked_about():
    driver = started()
    while driver.over is None:
        driver.now_us += 900_000
        driver.prints(b"MORE\r\n")
        if driver.deadlines.get("home", driver.now_us + 1) <= driver.now_us:
            driver.passes("home")
        assert driver.now_us < 120 * S
    assert driver.typed == b""
    assert "keeps printing" in asked(driver)


def test_the_last_line_can_be_a_landmark_once_it_is_quiet():
    driver = started()
    driver.prints(b"JOB 4 ENDED\r\n")
    driver.run()
    assert places(driver) == ["just-ended"]
    assert driver.typed == b""
    assert "it is at just-ended, and its folder has no way home from there: ask an engineer" in asked(driver)


def test_what_is_no_text_is_told_as_noise_and_nothing_is_typed():
    driver = started()
    driver.prints(bytes(range(0x80, 0xA0)) * 3)
    driver.run()
    assert driver.typed == b""
    assert "of the last 95 characters 95 aren't text" in asked(driver)
    assert "its speed set differently" in asked(driver)


def test_noise_before_a_prompt_that_we_know_is_no_matter_of_settings():
    driver = started()
    driver.prints(bytes((0x81, 0x05, 0x98, 0x1C)) * 24 + b"\r\nREADY: ")
    driver.run()
    assert driver.facts(kinds.PersonAsked) == []
    assert [fact.place for fact in driver.facts(kinds.PlaceRecognised)][:1] == ["signed-out"]


def test_what_is_unknown_is_shown_to_a_person():
    driver = started(where=described(nudge=b""))
    driver.prints(b"HALTED AT 1777\r\n")
    driver.run()
    assert "none of the states that the folder describes" in asked(driver)
    assert driver.facts(kinds.PersonAsked)[0].rows == ["HALTED AT 1777"]


def test_ways_that_lead_in_a_circle_come_to_an_end():
    circle = {
        "signed-out": (command("sign", "sign", "word"),),
        "word-wanted": (press("give-up", "enter", "ready", at="word"),),
    }
    driver = started(FarHeron(), where=described(ways=circle, home=("question",)))
    driver.run()
    assert "none of them led home" in asked(driver)
    assert len(driver.far_end.executed) == 2


# -- which script begins


def test_from_cold_the_opening_begins():
    driver = started(wanted=Wanted(rounds=1))
    driver.run(lambda: driver.facts(kinds.HandsOnAsked) != [])
    assert places(driver) == [SILENT]
    assert ran(driver) == ["opening"]
    assert driver.now_us == 6 * S


def test_from_an_open_question_to_which_nothing_answers_a_person_is_asked_and_no_opening_begins():
    driver = started(last=left(question="sure"), wanted=Wanted(rounds=0, after=()))
    driver.run()
    assert ran(driver) == []
    assert "question sure" in asked(driver)
    assert driver.typed == b""


def test_an_opening_is_left_out_where_the_machine_is_open_already():
    driver = started(FarHeron("desk"), wanted=Wanted(rounds=1))
    driver.run()
    assert [fact.script for fact in driver.facts(kinds.ScriptLeftOut)] == ["opening"]
    assert ran(driver) == ["home", "round", "closing"]


def test_a_round_does_not_begin_at_a_machine_from_which_nothing_is_heard():
    driver = started()
    driver.run()
    assert places(driver) == [SILENT]
    assert ran(driver) == []
    assert "is it off" in asked(driver)


def test_a_stop_while_it_listens_ends_all_and_nothing_is_typed():
    driver = started(FarHeron())
    driver.asks("stop")
    driver.run()
    assert driver.over == "stopped"
    assert driver.typed == b""


def test_a_line_that_is_lost_while_it_listens_is_listened_to_anew():
    driver = started(FarHeron())
    driver.wait(S)
    driver.lose_line()
    assert driver.deadlines == {}
    driver.open_line()
    driver.run()
    assert driver.over == "done"


# -- what was left unfinished


def test_an_exerciser_that_was_left_going_is_stopped_first_by_its_number():
    far_end = FarHeron()
    far_end.jobs[7] = "SHUTTLE"
    driver = started(far_end, left(script="round", step="look", numbers={"begin": {"job": "7"}}))
    driver.run()
    assert driver.far_end.executed == ["END 7", "BEGIN SHUTTLE", "END 1"]
    assert [fact.why for fact in driver.facts(kinds.TidyUpStarted)][0] == "it was left unfinished"


def test_a_number_that_was_put_away_already_is_not_named_again():
    was = left(script="round", step="end-shuttle", numbers={"begin": {"job": "7"}}, put_away=["end-shuttle"])
    driver = started(FarHeron(), was)
    driver.run()
    assert driver.far_end.executed == ["BEGIN SHUTTLE", "END 1"]


def test_a_command_whose_answer_nobody_heard_makes_a_person_look():
    driver = started(FarHeron(), left(script="round", step="begin", returned=True))
    driver.run()
    assert driver.over == "failed"
    assert "may have taken its command" in driver.facts(kinds.SessionFailed)[0].why
    driver.asks("clear")
    driver.run()
    assert driver.over == "done"
    assert driver.far_end.executed == ["BEGIN SHUTTLE", "END 1"]


def test_after_a_lost_line_the_place_is_found_before_the_tidy_up_begins():
    driver = started(FarHeron())
    driver.run(lambda: driver.far_end.executed == ["BEGIN SHUTTLE"] and "step" in driver.deadlines)
    driver.run(lambda: any(f.step == "look" for f in driver.facts(kinds.StepStarted)))
    driver.lose_line()
    driver.open_line()
    before = driver.typed
    driver.wait(S)
    assert driver.typed == before
    driver.run()
    assert driver.far_end.executed == ["BEGIN SHUTTLE", "END 1"]
    assert places(driver) == ["signed-out", "signed-out"]
    assert driver.over == "failed"


def test_half_a_command_on_a_line_that_came_back_is_cancelled_before_anything_else():
    driver = started(FarHeron())
    driver.run(lambda: driver.typed.endswith(b"begin sh"))
    driver.lose_line()
    driver.open_line()
    before = driver.typed
    driver.run()
    assert driver.typed.removeprefix(before).startswith(CANCEL)
    assert driver.far_end.executed == []


def test_a_line_that_comes_back_silent_asks_and_what_was_begun_is_put_away_after_go_on():
    driver = started(FarHeron())
    driver.run(lambda: any(f.step == "look" for f in driver.facts(kinds.StepStarted)))
    driver.lose_line()
    driver.far_end.way_in = lambda byte: b""
    driver.open_line()
    driver.run()
    assert driver.over == "failed"
    assert driver.far_end.executed == ["BEGIN SHUTTLE"]
    driver.far_end.way_in = lambda byte: bytes((byte,))
    driver.asks("clear")
    driver.run()
    assert driver.far_end.executed == ["BEGIN SHUTTLE", "END 1"]
    assert driver.over == "done"


# -- go on


def test_go_on_after_a_failed_round_finds_home_and_begins_the_next_one():
    driver = started(FarHeron(), wanted=Wanted(before=(), rounds=2, after=("closing",)))
    driver.run(lambda: any(f.step == "look" for f in driver.facts(kinds.StepStarted)))
    driver.lose_line()
    driver.open_line()
    driver.run()
    assert driver.over == "failed"
    driver.asks("clear", by="a docent")
    assert driver.facts(kinds.SessionCleared) == [kinds.SessionCleared(by="a docent")]
    assert driver.over is None
    driver.run()
    assert [(f.script, f.round) for f in driver.facts(kinds.ScriptStarted)] == [
        ("round", 1),
        ("round", 2),
        ("closing", 0),
    ]
    assert driver.over == "done"


def test_after_go_on_a_prompt_from_before_is_not_believed_until_a_key_was_answered():
    driver = started(FarHeron(), wanted=Wanted(before=(), rounds=2, after=()))
    driver.run(lambda: any(f.step == "look" for f in driver.facts(kinds.StepStarted)))
    driver.lose_line()
    driver.open_line()
    driver.run()
    assert driver.over == "failed"
    assert places(driver)[-1] == "signed-out"  # its prompt still stands on the screen
    driver.far_end.way_in = lambda byte: b""  # and the machine has been switched off
    before = len(keys(driver))
    driver.asks("clear", by="a docent")
    driver.run()
    assert keys(driver)[before:] == ["nudge"]
    assert places(driver)[-1] == SILENT
    assert [fact.round for fact in driver.facts(kinds.ScriptStarted) if fact.script == "round"] == [1]
    assert driver.over == "failed"


def test_after_go_on_what_the_machine_says_by_itself_is_believed_without_a_key():
    driver = started(FarHeron(), wanted=Wanted(before=(), rounds=2, after=()))
    driver.run(lambda: any(f.step == "look" for f in driver.facts(kinds.StepStarted)))
    driver.lose_line()
    driver.open_line()
    driver.run()
    before = len(keys(driver))
    driver.asks("clear", by="a docent")
    driver.prints(b"\r\nREADY: ")
    driver.run()
    assert keys(driver)[before:] == []
    assert driver.over == "done"


def test_go_on_after_a_failed_opening_begins_it_again():
    driver = started(wanted=Wanted(rounds=0, after=()))
    driver.run(lambda: driver.facts(kinds.HandsOnAsked) != [])
    driver.asks("refuse", "turn-key", why="no key")
    assert driver.over == "failed"
    driver.asks("clear")
    driver.run(lambda: len(driver.facts(kinds.HandsOnAsked)) == 2)
    driver.asks("confirm", "turn-key")
    assert driver.over == "done"


def test_go_on_is_refused_where_nothing_has_failed():
    driver = started(FarHeron())
    driver.asks("clear")
    assert [fact.why for fact in driver.facts(kinds.RequestRefused)] == ["nothing has failed"]
    driver.run()
    assert driver.over == "done"


def test_go_on_is_refused_once_the_disc_was_full():
    driver = started(FarHeron())
    driver.note(kinds.RecordNearlyFull(left_bytes=4096))
    driver.note(kinds.Heartbeat(wall="2026-11-25T09:00:00+00:00"))
    assert driver.over == "failed"
    driver.asks("clear")
    assert "disc" in driver.facts(kinds.RequestRefused)[0].why
    assert driver.over == "failed"


def test_go_on_without_a_way_home_begins_what_follows():
    plain = folder(*SCRIPTS)
    driver = Driver(decider_for(plain, opened(), Wanted(rounds=0)))
    driver.open_line()
    driver.asks("refuse", "turn-key", why="no key")
    assert driver.over == "failed"
    driver.asks("clear")
    driver.asks("confirm", "turn-key")
    driver.run()
    assert ran(driver) == ["opening", "opening", "closing"]
    assert driver.over == "done"


# -- what would be easy to get wrong


def test_after_the_cancel_key_a_prompt_counts_only_when_no_late_echo_can_come_any_more():
    driver = started(last=left(half_typed="WI"))
    driver.passes("home")
    driver.prints(b"READY: ")
    driver.run(lambda: driver.facts(kinds.LandmarkReached) != [])
    assert driver.now_us >= 2 * S + ECHO_US


def test_a_display_that_stood_before_the_cancel_key_no_longer_counts():
    driver = started(last=left(half_typed="WI"))
    driver.prints(b"\x1b[2J\x1b[1;1HHERON BOARD 09.15\x1b[24;1H")
    driver.run()
    assert driver.typed == CANCEL
    assert places(driver) == []
    assert "none of the states that the folder describes" in asked(driver)


def test_the_number_of_a_job_that_the_cancel_key_let_go_of_is_put_away_after_a_lost_line():
    follows = script(
        "round",
        command("follow", "begin shuttle", "ended"),
        tidy_up=(
            press("let-go", "cancel", "let-go"),
            command("end-it", "end {let-go.job}", "stopped"),
        ),
    )
    where = described()
    where = msgspec.structs.replace(where, scripts={**where.scripts, "round": follows})
    driver = started(where=where)
    driver.prints(b"READY: ")
    driver.run(lambda: driver.typed != b"")
    driver.lose_line()
    driver.open_line()
    driver.passes("home")
    assert driver.typed.endswith(CANCEL)
    driver.prints(b"LET GO OF JOB 9\r\nREADY: ")
    driver.run(lambda: driver.typed.endswith(b"e"))
    assert [f.step for f in driver.facts(kinds.StepStarted)] == ["follow", "let-go", "end-it"]


def test_an_opening_that_lost_its_line_is_not_begun_again_by_itself():
    driver = started(wanted=Wanted(before=("opening", "opening"), rounds=0, after=()))
    driver.run(lambda: driver.facts(kinds.HandsOnAsked) != [])
    driver.lose_line()
    driver.open_line()
    driver.run()
    assert driver.over == "failed"
    assert ran(driver) == ["opening"]


def test_once_a_person_has_looked_the_nudge_may_follow_a_cancel_key_that_nobody_answered():
    driver = started(FarHeron(), left(half_typed="WI"))
    driver.far_end.way_in = lambda byte: b"" if bytes((byte,)) == CANCEL else bytes((byte,))
    driver.run()
    assert keys(driver) == ["cancel"]
    driver.asks("clear")
    driver.run()
    assert keys(driver) == ["cancel", "cancel", "nudge"]
    assert driver.over == "done"


def test_a_crackle_on_the_line_is_nothing_that_the_machine_said():
    driver = started(wanted=Wanted(rounds=0, after=()))
    driver.prints(b"\x00\xff\x80\r\n")
    driver.run(lambda: driver.facts(kinds.HandsOnAsked) != [])
    assert places(driver) == [SILENT]


def test_an_opening_that_was_begun_twice_counts_once_when_another_day_goes_on():
    plain = folder(*SCRIPTS)
    driver = Driver(decider_for(plain, opened(), Wanted(rounds=2)), FarHeron())
    driver.open_line()
    driver.asks("refuse", "turn-key", why="no key")
    driver.asks("clear")
    driver.run(lambda: len(driver.facts(kinds.HandsOnAsked)) == 2)
    driver.asks("confirm", "turn-key")
    driver.run(lambda: "rest" in driver.deadlines)
    carried_over = driver.decider.carry_over(driver.now_us)
    assert carried_over is not None
    assert carried_over.scripts == 2


GIVES_UP = {**WAY.ways, "word-wanted": (press("give-up-word", "cancel", "ready", at="word"),)}


def test_at_an_open_question_the_cancel_key_is_typed_where_the_way_home_begins_with_it():
    driver = started(FarHeron("word"), left(question="word"), where=described(ways=GIVES_UP))
    driver.passes("home")
    assert driver.typed == CANCEL
    driver = started(FarHeron("word"), left(question="sure"), where=described(ways=GIVES_UP))
    driver.run()
    assert driver.typed == b""
    assert "question sure" in asked(driver)


def test_where_nothing_known_stands_the_tidy_up_that_is_still_due_says_whether_to_cancel():
    follows = script("round", pause("look"), tidy_up=(press("let-go", "cancel", "ready"),))
    where = described()
    where = msgspec.structs.replace(where, scripts={**where.scripts, "round": follows})
    driver = started(FarHeron(), left(script="round", step="look"), where=where)
    driver.passes("home")
    assert driver.typed == CANCEL
    driver = started(FarHeron(), left(), where=where)
    driver.passes("home")
    assert driver.typed == RETURN


def test_a_display_that_shows_a_trouble_ends_the_search_at_once():
    """No way home is begun from there, though nothing else was waited for: by then the session has failed."""
    frame = b"\x1b[2J\x1b[1;1HHERON BOARD 09.15\x1b[6;1H%b\x1b[24;1H"
    ends = {**WAY.ways, "word-wanted": (press("give-up-word", "enter", "ended", at="word"),)}
    driver = started(where=described(ways=ends))
    driver.passes("home")
    driver.stands(b"SIGN WORD? ")
    driver.passes("home")
    assert driver.typed == RETURN + RETURN, "the nudge, and the way home"
    driver.prints(b"\r\nJOB 3 ENDED\r\n")
    driver.wait(S)
    driver.prints(frame % b"3 SHUTTLE")
    driver.passes("frame")
    driver.wait(S)
    driver.prints(frame % b"3 STUCK")
    assert driver.over == "failed"
    (failed,) = driver.facts(kinds.SessionFailed)
    assert failed.why == "something was wrong: A job is stuck"
    assert places(driver) == ["word-wanted"]
    driver.run()
    assert driver.typed == RETURN + RETURN


# -- a machine that blocks typing


def with_a_limit_for_xoff() -> Folder:
    where = described()
    there = msgspec.structs.replace(where.machine, troubles=XOFF_LIMITED.troubles)
    return msgspec.structs.replace(where, machine=there)


def test_no_key_waits_for_a_machine_that_holds_up_what_is_typed():
    """It would go out whenever the machine lets go, though a person was told that nothing more is typed."""
    driver = started(where=with_a_limit_for_xoff())
    driver.prints(XOFF)
    driver.run(lambda: bool(driver.facts(kinds.PersonAsked)), within_us=200 * S)
    assert "blocking typing" in asked(driver)
    assert keys(driver) == []
    driver.prints(XON)
    driver.run()
    assert driver.typed == b""


def test_no_held_key_goes_out_into_an_opening_that_began_because_nothing_was_heard():
    driver = started(wanted=Wanted(rounds=0, after=()))
    driver.prints(XOFF)
    driver.run(within_us=200 * S)
    driver.prints(XON)
    assert driver.typed == b""
    assert ran(driver) == []


def test_the_key_is_typed_when_the_machine_has_let_go():
    driver = started(FarHeron())
    driver.prints(XOFF)
    driver.wait(S)
    driver.passes("home")
    driver.prints(XON)
    driver.run()
    assert keys(driver) == ["nudge"]
    assert driver.over == "done"
