"""What the terminal shows to the person at it, and what that person can answer."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest

from exhibit.bridge.request_door import Answer, Request, RequestDoor
from exhibit.commands.open_question import left_text, numbers
from exhibit.commands.terminal import TOO_SOON_S, Terminal
from exhibit.decisions.console.local_echo import local_echo
from exhibit.decisions.machine.description import Site
from exhibit.decisions.session.left_open import NOTHING
from exhibit.facts import kinds
from exhibit.facts.use_before import UseBefore
from exhibit.folder.whole import read_folder
from exhibit.simulator.tidebook.desks import WORDS
from exhibit.web.places import scripts_folder
from tests.decisions.heron import opened

SITE = Site(
    mains_stop={"en": "the red button by the door"},
    keyholder={"en": "call 4411"},
    rules={"en": "Two people."},
)
CAPTION = {
    "caption": "loaded",
    "kind": "seen",
    "words": {"en": "It has read TIDEBOOK."},
    "part": "disc",
    "because": [1],
    "source": {},
}
SECRETS = {f"EXHIBIT_SECRET_{desk}": word for desk, word in WORDS.items()}


class Bench:
    """A terminal, what it printed, and the requests that reached the bridge."""

    def __init__(self, place: Path, answer: Answer, **more) -> None:
        self.out = io.StringIO()
        self.heard: list[Request] = []
        self.door = RequestDoor(
            place / "door", lambda request, reply: (self.heard.append(request), reply(answer))
        )
        self.now_s = 100.0
        self.terminal = Terminal(place / "door", SITE, self.out, lambda: self.now_s, **more)

    def asks(self, step: str = "turn-the-key") -> str:
        """Asks for a step, and gives the person time to read it."""
        said = self.shown(msgspec.structs.replace(_asked(), step=step))
        self.now_s += TOO_SOON_S
        return said

    def typed(self, line: str) -> str:
        before = len(self.out.getvalue())
        self.terminal.answer(line)
        return self.out.getvalue()[before:]

    def looked(self) -> str:
        before = len(self.out.getvalue())
        self.terminal.look()
        return self.out.getvalue()[before:]

    def shown(self, fact: kinds.AnyFact) -> str:
        before = len(self.out.getvalue())
        self.terminal.report(kinds.Entry(1, 0, fact))
        return self.out.getvalue()[before:]


@pytest.fixture
def bench(tmp_path: Path):
    bench = Bench(tmp_path, Answer(accepted=True))
    yield bench
    bench.door.close()


def _asked() -> kinds.HandsOnAsked:
    return kinds.HandsOnAsked(
        script="opening", step="turn-the-key", words={"en": "Turn the key."}, caution={"en": "Mains inside."}
    )


@pytest.mark.parametrize("typing", [True, False])
def test_the_mains_stop_and_whom_to_call_come_first(bench: Bench, typing: bool):
    bench.terminal.show_cautions(typing=typing)
    said = bench.out.getvalue()
    assert said.index("the red button by the door") < said.index("call 4411") < said.index("Two people.")
    assert said.splitlines()[-2] == "That is not the mains stop."
    assert ("this program types nothing at the machine" in said) is not typing


def test_a_hands_on_step_comes_with_its_caution_first(bench: Bench):
    said = bench.shown(_asked())
    assert said.index("Mains inside.") < said.index("Turn the key.") < said.index("yes, not yet, or can't")
    assert 'type "too early"; if nothing came of it, type "it didn\'t"' in said


def test_what_the_folder_says_to_do_now_is_printed_with_the_step_that_was_put_off(bench: Bench):
    words = {"en": "Wait for the lamp."}
    put_off = kinds.HandsOnPutOff(step="turn-the-key", by="x", because="too early", words=words)
    assert "  Wait for the lamp.\n" in bench.shown(put_off)


@pytest.mark.parametrize(
    ("typed", "request_"),
    [
        ("yes", "confirm"),
        ("not yet", "not yet"),
        ("too early", "too early"),
        ("i did it too early", "too early"),
        ("done.", "confirm"),
        ("it didn't", "didn't"),
        ("can't", "refuse"),
        ("stop", "stop"),
    ],
)
def test_an_answer_reaches_the_bridge_with_the_step_it_is_for(bench: Bench, typed: str, request_: str):
    bench.asks()
    bench.terminal.answer(f" {typed.upper()}\n")
    (heard,) = bench.heard
    assert heard.request == request_
    assert heard.step == ("" if typed == "stop" else "turn-the-key")


@pytest.mark.parametrize(
    ("typed", "request_", "minutes"),
    [
        ("open", "open", 0),
        ("close", "close", 0),
        ("away", "away", 0),
        ("lunch", "away", 0),
        ("back", "back", 0),
        ("round now", "round now", 0),
        ("here", "here", 0),
        ("quiet 10", "quiet", 10),
        ("quiet for 5 minutes.", "quiet", 5),
    ],
)
def test_what_is_asked_of_the_day_reaches_the_bridge_even_while_a_step_is_asked_about(
    bench: Bench, typed: str, request_: str, minutes: int
):
    bench.asks()
    bench.terminal.answer(f"{typed}\n")
    assert [(one.request, one.minutes, one.step) for one in bench.heard] == [(request_, minutes, "")]


def test_another_bridge_asks_its_own_questions(bench: Bench):
    bench.asks()
    bench.shown(opened())
    assert "There is no question to answer" in bench.typed("yes")


def test_a_second_yes_at_once_does_not_confirm_the_step_that_is_asked_next(bench: Bench):
    bench.asks("turn-the-key")
    bench.typed("yes")
    bench.shown(kinds.HandsOnConfirmed(step="turn-the-key", by="the person at the terminal"))
    bench.shown(msgspec.structs.replace(_asked(), step="start-the-drive"))
    for _ in range(4):
        assert "less than a second after the question" in bench.typed("yes")
        bench.now_s += 0.25
    assert [heard.step for heard in bench.heard] == ["turn-the-key"]
    assert bench.typed("yes") == ""
    assert [heard.step for heard in bench.heard] == ["turn-the-key", "start-the-drive"]


def test_a_yes_at_once_does_not_answer_a_question_either(bench: Bench):
    bench.shown(kinds.HandsOnAsked(script="opening", step="date", words={"en": "Say yes if so."}, caution={}))
    assert "nothing was confirmed" in bench.typed("yes")
    assert bench.heard == []


@pytest.mark.parametrize(("typed", "request_"), [("can't", "refuse"), ("stop", "stop")])
def test_that_it_cant_be_done_and_a_stop_count_at_once(bench: Bench, typed: str, request_: str):
    bench.shown(_asked())
    bench.typed(typed)
    assert [heard.request for heard in bench.heard] == [request_]


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("can't", ""),
        ("Cannot", ""),
        ("cant, the lamp stays dark.", "the lamp stays dark"),
        ("Can’t: the lid is stuck", "the lid is stuck"),
        ("can't the KEY is missing", "the KEY is missing"),
    ],
)
def test_who_cant_do_it_may_say_why(bench: Bench, typed: str, why: str):
    bench.shown(_asked())
    bench.terminal.answer(f"{typed}\n")
    (heard,) = bench.heard
    assert (heard.request, heard.why) == ("refuse", why)


@pytest.mark.parametrize("typed", ["nobody is here", "nothing", "can", "canteen"])
def test_a_word_that_merely_begins_with_no_is_not_an_answer(bench: Bench, typed: str):
    bench.shown(_asked())
    bench.terminal.answer(f"{typed}\n")
    assert bench.heard == []


def test_a_no_leads_somewhere_and_its_reason_is_kept(bench: Bench):
    bench.asks()
    said = bench.typed("no, the lamp stays dark")
    assert bench.heard == []
    assert '"not yet" gives the step its time again' in said
    assert "ends the script" in said
    bench.typed("can't")
    (heard,) = bench.heard
    assert (heard.request, heard.why) == ("refuse", "the lamp stays dark")


def test_a_no_to_a_date_counts(bench: Bench):
    bench.shown(kinds.HandsOnAsked(script="opening", step="date", words={"en": "Say yes if so."}, caution={}))
    bench.typed("no, the disc is younger")
    (heard,) = bench.heard
    assert (heard.request, heard.step, heard.why) == ("refuse", "date", "the disc is younger")


def test_a_step_that_was_put_off_is_said_to_have_its_time_again_and_can_still_be_answered(bench: Bench):
    bench.asks()
    assert "its time again" in bench.shown(kinds.HandsOnPutOff(step="turn-the-key", by="a docent"))
    bench.typed("yes")
    assert [heard.request for heard in bench.heard] == ["confirm"]


def test_the_open_question_stays_last_with_its_number_the_time_left_and_the_answers(tmp_path: Path):
    bench = Bench(tmp_path, Answer(accepted=True), number=lambda script, step: "step 4 of 9 by hand")
    bench.shown(opened(rate=2.0))
    bench.shown(kinds.DeadlineArmed(name="step", due_us=1_200_000_000))
    said = bench.shown(_asked())
    assert said.splitlines()[-1] == (
        "  > Step 4 of 9 by hand, 10 min left. Answer: yes, not yet, or can't (and why)."
    )
    bench.shown(kinds.CaptionShown(**CAPTION))
    assert bench.looked() == ""
    bench.now_s += 61
    assert bench.looked().splitlines() == [
        "  Still to do: Turn the key.",
        "  > Step 4 of 9 by hand, 8 min left. Answer: yes, not yet, or can't (and why).",
    ]
    bench.now_s += 600
    assert bench.looked() == ""
    bench.typed("yes")
    bench.shown(kinds.HandsOnConfirmed(step="turn-the-key", by="a docent"))
    bench.now_s += 61
    assert bench.looked() == ""
    bench.door.close()


def test_a_terminal_that_can_renews_the_time_left_without_touching_what_is_being_typed(bench: Bench):
    bench.out.isatty = lambda: True
    bench.shown(kinds.DeadlineArmed(name="step", due_us=600_000_000))
    bench.shown(_asked())
    assert bench.looked() == ""
    bench.now_s += 60
    renewed = bench.looked()
    assert "9 min left" in renewed
    assert renewed.startswith("\x1b7")
    assert renewed.endswith("\x1b8")
    assert "\n" not in renewed
    bench.typed("perhaps")
    bench.now_s += 60
    assert bench.looked().startswith("  Still to do: Turn the key.")


@pytest.mark.parametrize(
    ("fact", "last"),
    [
        (kinds.SessionFailed(why="it did not come in time", last_lines=[]), 'type "go on"; or press Ctrl-C'),
        (
            kinds.StepOverdue(
                script="opening", step="load", waited_for=["loaded"], within_us=1, last_lines=[], then="ask"
            ),
            "Answer: wait on, leave out, or stop.",
        ),
    ],
)
def test_what_now_is_a_question_that_stays_last_too(bench: Bench, fact: kinds.AnyFact, last: str):
    assert last in bench.shown(fact).splitlines()[-1]
    bench.shown(kinds.CaptionShown(**CAPTION))
    bench.now_s += 2
    assert last in bench.looked().splitlines()[-1]


@pytest.mark.parametrize(
    ("left_s", "said"), [(721, "12 min left"), (120, "2 min left"), (119.9, "119 s left"), (-3, "0 s left")]
)
def test_the_time_left_is_never_more_than_there_is(left_s: float, said: str):
    assert left_text(round(left_s * 1_000_000)) == said


def test_the_hands_on_steps_of_a_script_are_numbered():
    folder = read_folder(scripts_folder() / "whimbrel")
    number = numbers(folder)
    assert number("opening", "turn-the-key") == "step 1 of 8 by hand"
    assert number("opening", "say-the-day") == ""


def test_a_question_without_a_caution_does_not_ask_for_an_act(bench: Bench):
    said = bench.shown(
        kinds.HandsOnAsked(script="opening", step="date", words={"en": "Say yes if so."}, caution={})
    )
    assert "PLEASE" not in said
    assert "Answer: yes, not yet, or no (and why)." in said


def test_a_word_that_is_no_answer_is_explained_and_reaches_nobody(bench: Bench):
    bench.shown(_asked())
    bench.terminal.answer("perhaps\n")
    assert bench.heard == []
    assert bench.out.getvalue().endswith("  Answer: yes, not yet, or can't (and why).\n")


def test_an_answer_to_a_step_that_is_over_reaches_nobody(bench: Bench):
    bench.shown(_asked())
    bench.shown(kinds.TidyUpStarted(script="opening", why="a person said stop"))
    bench.terminal.answer("yes\n")
    assert bench.heard == []


def test_a_late_step_is_shown_with_what_it_waited_for_and_the_last_lines(bench: Bench):
    said = bench.shown(
        kinds.StepOverdue(
            script="opening",
            step="load",
            waited_for=["loaded"],
            within_us=90_000_000,
            last_lines=["LOADING ..."],
        )
    )
    assert "loaded" in said
    assert "90 s" in said
    assert "    | LOADING ..." in said
    assert "    | (nothing)" in bench.shown(_late("stop"))


def _late(then: kinds.WhatThen, step: str = "load") -> kinds.StepOverdue:
    return kinds.StepOverdue(
        script="opening", step=step, waited_for=["loaded"], within_us=90_000_000, last_lines=[], then=then
    )


@pytest.mark.parametrize("typed", ["wait on", "leave out", "stop"])
def test_a_person_who_is_asked_about_a_late_step_can_answer(bench: Bench, typed: str):
    said = bench.shown(_late("ask"))
    assert all(f'"{word}"' in said for word in ("wait on", "leave out", "stop"))
    bench.terminal.answer(f" {typed.upper()}\n")
    (heard,) = bench.heard
    assert (heard.request, heard.step) == (typed, "" if typed == "stop" else "load")


@pytest.mark.parametrize(
    ("waited_for", "by_itself"),
    [("loaded", True), ("the echo of what was typed", False), ("quiet", False)],
)
def test_that_it_goes_on_by_itself_is_said_only_where_it_does(bench: Bench, waited_for: str, by_itself: bool):
    said = bench.shown(msgspec.structs.replace(_late("ask"), waited_for=[waited_for]))
    assert ("goes on by itself" in said) is by_itself


def test_a_late_step_whose_prompt_arrives_after_all_goes_on(bench: Bench):
    bench.shown(_late("ask"))
    said = bench.shown(kinds.LateAnswered(step="load", answer="wait on", by="the machine"))
    assert "has arrived after all" in said
    bench.terminal.answer("wait on\n")
    assert bench.heard == []


@pytest.mark.parametrize("then", ["wait on", "again", "leave out"])
def test_what_happens_to_a_late_step_is_shown_if_nobody_is_asked(bench: Bench, then: kinds.WhatThen):
    said = bench.shown(_late(then))
    assert said.count("\n") >= 2
    assert "WHAT NOW" not in said
    bench.terminal.answer("wait on\n")
    assert bench.heard == []


def test_a_hands_on_step_that_is_late_can_still_be_answered(bench: Bench):
    bench.asks()
    bench.shown(_late("ask", "turn-the-key"))
    for typed in ("yes", "wait on"):
        bench.terminal.answer(f"{typed}\n")
    assert [(heard.request, heard.step) for heard in bench.heard] == [
        ("confirm", "turn-the-key"),
        ("wait on", "turn-the-key"),
    ]


def test_a_word_that_is_no_answer_to_a_late_step_is_explained(bench: Bench):
    bench.shown(_late("ask"))
    bench.terminal.answer("yes\n")
    assert bench.heard == []
    assert '"wait on", "leave out" or "stop"' in bench.out.getvalue()


@pytest.mark.parametrize(
    "then",
    [
        kinds.LateAnswered(step="load", answer="wait on", by="a docent"),
        kinds.StepMatched(script="opening", step="load", name="loaded", line=""),
        kinds.StepLeftOut(script="opening", step="load", why="a docent said so"),
        kinds.TidyUpStarted(script="opening", why="a person said stop"),
    ],
)
def test_once_it_is_decided_nothing_is_asked_about_a_late_step(bench: Bench, then: kinds.AnyFact):
    bench.shown(_late("ask"))
    bench.shown(then)
    bench.terminal.answer("wait on\n")
    assert bench.heard == []


def test_what_visitors_read_about_the_console_is_shown_here_too(bench: Bench):
    shown = kinds.CaptionShown(
        caption="loaded",
        kind="seen",
        words={"en": "It has read TIDEBOOK."},
        part="disc",
        because=[1],
        source={},
    )
    assert "It has read TIDEBOOK." in bench.shown(shown)


def test_after_a_failure_it_says_that_nothing_is_typed_and_what_to_do(bench: Bench):
    said = bench.shown(kinds.SessionFailed(why="loaded did not come in time", last_lines=[]))
    assert "loaded did not come in time" in said
    assert "Nothing more is typed" in said
    assert "Look at the machine" in said


# -- the way home, and going on


def test_go_on_reaches_the_bridge(bench: Bench):
    bench.terminal.answer("  Go on\n")
    assert [heard.request for heard in bench.heard] == ["clear"]


def test_a_refused_request_while_something_is_asked_says_how_to_answer(tmp_path: Path):
    bench = Bench(tmp_path, Answer(accepted=False, why="nothing has failed"))
    bench.shown(_asked())
    bench.terminal.answer("go on")
    bench.door.close()
    assert "That was not done: nothing has failed." in bench.out.getvalue()


def test_a_lost_line_says_what_is_done_and_what_to_look_at(bench: Bench):
    said = bench.shown(kinds.LineLost(why="the adapter was pulled out"))
    assert "the adapter was pulled out" in said
    assert "Has a cable come out" in said
    assert "go on" not in bench.shown(kinds.LineOpened(line="/dev/x"))
    bench.shown(kinds.SessionFailed(why="the line is away", last_lines=[]))
    assert '"go on"' in bench.shown(kinds.LineOpened(line="/dev/x"))


def test_after_a_failure_the_person_learns_how_to_go_on(bench: Bench):
    said = bench.shown(kinds.SessionFailed(why="the machine is silent", last_lines=[]))
    assert "the machine is silent" in said
    assert '"go on"' in said
    assert "Ctrl-C" in said


def test_a_person_who_is_asked_sees_what_the_machine_shows(bench: Bench):
    said = bench.shown(kinds.PersonAsked(why="unknown", rows=["HALTED", "", "AT 1777  "]))
    assert "    | HALTED\n    | \n    | AT 1777\n" in said
    assert "(nothing)" in bench.shown(kinds.PersonAsked(why="unknown", rows=[]))


def test_what_the_last_run_left_open_is_shown(bench: Bench):
    last = msgspec.structs.replace(
        NOTHING, recording="monday.exhibit", script="round", numbers={"begin": {"job": "7"}}, question="sure"
    )
    said = bench.shown(last)
    assert "may have left jobs running: begin (job 7)" in said
    assert "question sure was not answered" in said
    assert "broke off" not in said
    assert "monday.exhibit, broke off" in bench.shown(msgspec.structs.replace(last, closed=False))
    assert bench.shown(NOTHING) == ""


@pytest.mark.parametrize(
    ("fact", "said"),
    [
        (kinds.PlaceSought(why="the line was opened"), "Listening"),
        (kinds.KeySent(key="cancel", why=""), "cancel key was typed"),
        (kinds.KeySent(key="nudge", why=""), "harmless key was typed"),
        (kinds.PlaceRecognised(place="signed-out", line="READY:"), "The machine is at: signed-out"),
        (kinds.PlaceRecognised(place="asleep", line=""), "The machine is silent, as it is at: asleep"),
        (
            kinds.ScriptLeftOut(script="opening", why="the machine is open"),
            "opening isn't needed: the machine",
        ),
        (kinds.LineUnreadable(cause="speed", what="It is no text.", do="Try 300."), "Try 300."),
        (kinds.LineReadable(cause="speed"), "Text arrives on the line after all"),
        (local_echo("too soon"), "doesn't prove what the machine took"),
        (local_echo("silent machine"), "Switch off the local echo"),
        (kinds.SessionCleared(by="a docent"), "Going on"),
    ],
)
def test_each_thing_on_the_way_home_is_put_into_words(bench: Bench, fact: kinds.AnyFact, said: str):
    assert said in bench.shown(fact)


def test_after_a_failure_any_other_word_is_answered_with_how_to_go_on(bench: Bench):
    failed = bench.shown(kinds.SessionFailed(why="no key", last_lines=[]))
    assert "go on" in failed
    assert "have it shut down in its own order, by its keyholder" in failed
    assert "witch it off" not in failed
    for word in ("yes", "help"):
        before = len(bench.out.getvalue())
        bench.terminal.answer(word)
        assert '"go on"' in bench.out.getvalue()[before:]
    bench.shown(kinds.SessionCleared(by="operator"))
    before = len(bench.out.getvalue())
    bench.terminal.answer("yes")
    assert '"go on"' not in bench.out.getvalue()[before:]
    assert bench.heard == []


def test_silence_is_described_as_such_and_not_as_a_place(bench: Bench):
    said = bench.shown(kinds.PlaceRecognised(place="silent", line=""))
    assert said.strip().startswith("The machine is silent")
    assert "desk-tides" in bench.shown(kinds.PlaceRecognised(place="desk-tides", line=""))


def test_a_character_of_another_encoding_ends_neither_the_listening_nor_the_run(tmp_path: Path):
    """One is typed in another encoding, and one is printed on a terminal that lacks the letter."""
    folder, line = scripts_folder() / "whimbrel", tmp_path / "none"
    run = ["run", f"{folder}", "--line", f"{line}", "--port", "0", "--recordings", f"{tmp_path}"]
    done = subprocess.run(
        [sys.executable, "-m", "exhibit", *run],
        input=b"l\xe4uft\nstop\n",
        env={**os.environ, "PYTHONIOENCODING": "ascii", **SECRETS},
        capture_output=True,
        check=False,
    )
    assert b"the site?s own rules" in done.stdout
    assert b"There is no question to answer." in done.stdout
    assert b"the bridge is not running" in done.stdout
    assert b"Traceback" not in done.stderr
    assert done.returncode == 2


def test_a_tidy_up_is_shown_once_there_is_something_to_stop(bench: Bench):
    assert bench.shown(kinds.TidyUpStarted(script="opening", why="is a cable out?")) == ""
    step = kinds.StepStarted(script="round", step="stop-shuttle", tidying=True)
    assert bench.shown(step) == "  Stopping what was started: is a cable out?\n"
    assert bench.shown(step) == ""
    bench.shown(kinds.TidyUpStarted(script="round", why="the script is done"))
    assert bench.shown(step) == ""


def test_after_a_harmless_key_without_an_answer_it_says_that_the_key_may_still_count(bench: Bench):
    bench.shown(kinds.KeySent(key="nudge", why="the console shows nothing that we know"))
    silent = kinds.PlaceRecognised(place="silent", line="")
    assert "may take that key as the answer" in bench.shown(silent)
    assert "may take that" not in bench.shown(silent)
    bench.shown(kinds.KeySent(key="nudge", why="the console shows nothing that we know"))
    bench.shown(kinds.PlaceRecognised(place="signed-out", line="READY"))
    assert "may take that" not in bench.shown(silent)


def test_a_failure_while_the_run_is_ended_gives_no_advice_to_go_on(bench: Bench):
    bench.shown(kinds.RequestMade(request="stop", by="this computer", why="asked to end"))
    said = bench.shown(kinds.SessionFailed(why="is a cable out?", last_lines=[]))
    assert "The scripts have stopped: is a cable out?\n" in said
    assert "Look at the machine" in said
    assert "go on" not in said
    assert "Ctrl-C" not in said


DOUBT = kinds.JobInDoubt(
    asked=1, exercisers=["shuttle"], command="BEGIN SHUTTLE", by="script round", why="it was cut off"
)


DOUBTED = {
    "asked": 1,
    "exercisers": ["shuttle"],
    "command": "BEGIN SHUTTLE",
    "by": "",
    "why": "it was cut off",
    "ends": "2026-11-25T09:04:00+00:00",
}


def test_a_job_in_doubt_is_named_with_its_command_and_what_ends_the_doubt(bench: Bench):
    said = bench.shown(DOUBT)
    assert "A job whose number isn't known, started by BEGIN SHUTTLE, may be running (shuttle)" in said
    assert 'type "no job is running"' in said
    assert "is running at" not in said
    assert "at the latest" not in said
    assert "Job 7" in bench.shown(msgspec.structs.replace(DOUBT, job="7"))
    either = msgspec.structs.replace(DOUBT, exercisers=["shuttle", "sums"])
    assert "it may be shuttle or sums" in bench.shown(either)


def test_a_command_that_was_just_typed_puts_nothing_in_doubt(bench: Bench):
    asked = kinds.JobAsked(asked=1, exercisers=["shuttle"], command="BEGIN", by="", ends_us=0)
    assert bench.shown(asked) == ""
    assert bench.shown(kinds.JobDoubtOver(asked=1, how="refused", by="cannot")) == ""


def test_a_job_in_doubt_comes_with_the_time_by_which_it_was_meant_to_end(bench: Bench):
    bench.shown(opened(wall="2026-11-25T09:00:00+00:00", rate=2.0))
    said = bench.shown(msgspec.structs.replace(DOUBT, ends_us=8 * 60 * 1_000_000))
    assert "was meant to end by itself by 09:04 at the latest" in said


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ("ended", "the machine printed its end (x)"),
        ("not listed", "it isn't among the jobs that the machine lists (x)"),
        ("a person", "x says so"),
    ],
)
def test_the_end_of_a_doubt_comes_with_how_it_is_known(bench: Bench, how: kinds.DoubtEnd, said: str):
    assert said in bench.shown(kinds.JobDoubtOver(asked=1, how=how, by="x"))


def test_a_listed_number_is_told_without_saying_that_the_job_runs(bench: Bench):
    said = bench.shown(kinds.JobListed(asked=1, job="7", by="board.jobs"))
    assert "a job that may be running is 7 (board.jobs shows it)" in said


def test_a_person_can_say_that_no_job_is_running_whatever_else_is_asked(bench: Bench):
    assert bench.typed("no job is running") == ""
    bench.asks()
    bench.typed("No job is running.")
    assert [heard.request for heard in bench.heard] == ["no job", "no job"]
    bench.typed("can't, the lid is stuck")
    assert bench.heard[-1].request == "refuse"


def test_what_the_run_before_left_in_doubt_is_named_when_the_next_one_starts(bench: Bench):
    job = kinds.InDoubt(**DOUBTED | {"ends": ""})
    before = UseBefore(at="2026-11-25T09:00:00+00:00", in_doubt=[kinds.InDoubt(**DOUBTED)])
    bench.shown(opened(use_before=before))
    said = bench.shown(msgspec.structs.replace(NOTHING, recording="last", in_doubt=[job]))
    assert "BEGIN SHUTTLE, may be running" in said
    assert "by 09:04 at the latest" in said
    # One that has no number yet gets one at once, and is reported then.
    job.asked = 0
    assert bench.shown(msgspec.structs.replace(NOTHING, recording="last", in_doubt=[job])) == ""


def test_it_says_why_the_rounds_go_on_by_themselves_and_how_often_they_may(bench: Bench):
    bench.shown(kinds.AnsweredLate(script="round", step="begin", name="begun", line="JOB 3 BEGUN"))
    bench.shown(kinds.RoundsWentOn(after="line lost", why="the line was lost", times=2, most=3))
    assert bench.out.getvalue().splitlines() == [
        "  The answer to the step begin came late: JOB 3 BEGUN",
        "  It is not repeated.",
        "  This round could not be finished: the line was lost.",
        "  Everything that it had started was stopped, so the rounds go on by themselves: "
        "2 of at most 3 times today.",
    ]


def test_it_says_since_when_nothing_is_heard_and_when_something_is_heard_again(bench: Bench):
    bench.shown(opened(wall="2026-11-25T19:09:00+01:00"))
    silent = kinds.MachineSilent(heard_us=30_000_000, due_us=31_000_000, due="typing")
    assert bench.shown(silent).splitlines() == [
        "  Something was due from the machine, but nothing has been heard since 19:09:30.",
        "  Is it on, and is the cable in place?",
    ]
    never = kinds.MachineSilent(heard_us=0, due_us=31_000_000, due="typing")
    assert "nothing has been heard from it yet" in bench.shown(never)
    again = bench.shown(kinds.HeardAgain(silent_us=12_400_000))
    assert again == "  The machine is heard again, after 12 s of its time.\n"


def test_only_of_a_step_that_waits_for_its_prompt_can_a_person_say_that_it_is_showing(bench: Bench):
    assert "it is the prompt" not in bench.shown(_late("ask"))
    assert bench.typed("it is the prompt") == 'Answer "wait on", "leave out" or "stop".\n'
    said = bench.shown(msgspec.structs.replace(_late("ask"), at_prompt=True))
    assert '"it is the prompt" makes it type there' in said
    bench.typed("it is the prompt")
    assert [(one.request, one.step) for one in bench.heard] == [("it is the prompt", "load")]
    told = bench.shown(kinds.PromptVouched(step="load", by="a person", line="WHAT> "))
    assert "a person says that it is its prompt" in told


def test_a_refused_secret_is_told_with_the_number_of_the_attempt(bench: Bench):
    fact = kinds.SecretRefused(script="round", step="say", landmark="word", times=1)
    assert bench.shown(fact) == "  The machine did not take the secret of the step say. Attempt 2.\n"


def test_a_closing_that_was_stopped_isnt_recommended(bench: Bench):
    assert "--script closing" in bench.shown(
        kinds.ScriptEnded(script="round", outcome="stopped", tidy=True, why="")
    )
    stopped = bench.shown(kinds.ScriptEnded(script="closing", outcome="stopped", tidy=True, why=""))
    assert "--script closing" not in stopped
    assert "Have its keyholder do the rest at the machine." in stopped


def test_who_asks_without_a_question_is_told_what_is_going_on(bench: Bench):
    assert bench.typed("where am I?").splitlines()[:2] == [
        "  Now: no script is running.",
        "  Nothing has come from the machine yet.",
    ]
    bench.shown(kinds.ScriptStarted(script="round", title={"en": "A round"}, by="session", round=2))
    bench.shown(kinds.StepStarted(script="round", step="load"))
    bench.shown(kinds.DeadlineArmed(name="step", due_us=180_000_000))
    bench.shown(kinds.BytesReceived(bytes="X", first_us=0))
    bench.now_s += 20
    assert bench.typed("").splitlines() == [
        "  Now: A round, at the step load for 20 s. It has another 160 s.",
        "  Something last came from the machine 20 s ago.",
        'There is no question to answer. To stop the typing, type "stop".',
    ]
    bench.shown(kinds.ScriptEnded(script="round", outcome="done", tidy=True, why=""))
    bench.shown(kinds.SessionResting(until_us=60_000_000))
    bench.now_s += 15
    assert bench.typed("").startswith("  Now: a break of another 45 s.\n")


def test_a_long_wait_is_broken_by_what_is_going_on_but_a_rest_is_not(bench: Bench):
    bench.shown(kinds.ScriptStarted(script="round", title={"en": "A round"}, by="session", round=2))
    bench.shown(kinds.StepStarted(script="round", step="load"))
    bench.now_s += 59
    assert bench.looked() == ""
    bench.now_s += 1
    assert bench.looked().startswith("  Now: A round, at the step load for 60 s.")
    bench.now_s += 59
    assert bench.looked() == ""
    bench.now_s += 1
    assert "for 120 s" in bench.looked()
    bench.shown(kinds.ScriptEnded(script="round", outcome="done", tidy=True, why=""))
    bench.now_s += 600
    assert bench.looked() == ""
