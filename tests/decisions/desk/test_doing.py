"""The one thing that waits for a person."""

from typing import Any

import pytest

from exhibit.facts import kinds
from tests.decisions.desk.made_day import Told, asked, ended, overdue, prints, started
from tests.decisions.heron import S

DUE = kinds.DeadlineArmed(name="step", due_us=600 * S)
CONFIRMED = kinds.HandsOnConfirmed(step="drive", by="docent 1")
FAILED = kinds.SessionFailed(why="the board never came", last_lines=["READY:"])
AT_CONSOLE = {"waited_for": ["ready"], "step": "list", "script": "round"}
LATE_STEP: dict[str, Any] = {
    "script": "opening",
    "step": "drive",
    "waited_for": ["a person to confirm"],
    "within_us": 600 * S,
    "last_lines": [],
}
READY = kinds.LandmarkReached(landmark="ready", line="READY:")


def test_a_step_by_hand_has_its_number_its_caution_and_its_time():
    doing = Told(DUE, asked())["doing"]
    assert (doing["kind"], doing["number"], doing["count"]) == ("hands on", 2, 3)
    assert doing["caution"] == {"en": "Mains voltage behind the panels."}
    assert doing["until"] == "2026-11-25T09:10:00.000+00:00"
    assert doing["asked"] == 4


def test_a_step_that_the_folder_does_not_list_has_no_number():
    assert Told(asked("another"))["doing"]["number"] == 0


def test_a_question_without_a_caution_is_about_a_date():
    assert Told(asked("day", caution={}))["doing"]["kind"] == "date"


@pytest.mark.parametrize(
    "over",
    [
        CONFIRMED,
        kinds.HandsOnRefused(step="drive", by="docent 1", why="no key"),
        kinds.StepFailed(script="opening", step="drive", why="x"),
        kinds.TidyUpStarted(script="opening", why="x"),
        ended("opening", "stopped"),
        kinds.RecordingClosed(why="x"),
    ],
    ids=lambda fact: type(fact).__name__,
)
def test_the_question_ends_with_what_answers_it(over):
    assert Told(asked(), over)["doing"] is None


def test_the_answer_to_another_step_leaves_it_open():
    assert Told(asked(), kinds.HandsOnConfirmed(step="key", by="docent 1"))["doing"]["step"] == "drive"


def test_a_step_that_was_put_off_says_why_and_has_its_time_again():
    put_off = kinds.HandsOnPutOff(step="drive", by="docent 1", because="too early", words={"en": "Wait."})
    doing = Told(DUE, asked(), put_off, kinds.DeadlineArmed(name="step", due_us=900 * S))["doing"]
    assert doing["because"]["because"] == "too early"
    assert doing["because"]["words"] == {"en": "Wait."}
    assert doing["until"] == "2026-11-25T09:15:00.000+00:00"


def test_it_is_known_what_happens_when_its_time_is_up_and_that_it_is_given_again_only_once():
    told = Told(DUE, asked(late="wait on"))
    assert told["doing"]["late"] == "wait on"
    told.tell(kinds.StepOverdue(**LATE_STEP, then="wait on"))
    assert (told["doing"]["kind"], told["doing"]["late"]) == ("hands on", "stop")
    told.tell(kinds.HandsOnPutOff(step="drive", by="docent 1"))
    assert told["doing"]["late"] == "stop"
    assert Told(DUE, asked())["doing"]["late"] == ""


def test_a_late_step_by_hand_keeps_its_words_and_can_be_waited_on():
    told = Told(DUE, asked(), overdue())
    doing = told["doing"]
    assert (doing["kind"], doing["advice"]["seen"]) == ("late", "nobody confirmed")
    assert doing["words"] == {"en": "Start the drive."}
    assert doing["caution"]
    told.tell(kinds.LateAnswered(step="drive", answer="wait on", by="docent 1"))
    assert told["doing"]["kind"] == "hands on"
    assert told["doing"]["advice"] is None


@pytest.mark.parametrize(
    ("before", "seen"),
    [
        ((), "nothing"),
        ((prints("X"),), "still printing"),
        ((prints("READY:"), READY), "its prompt"),
        ((prints("SURE?"), kinds.LandmarkReached(landmark="sure", line="SURE?")), "another prompt"),
    ],
)
def test_a_late_step_says_what_was_seen(before, seen):
    told = Told(started(), *before).tell(overdue(**AT_CONSOLE), after_s=5 if seen == "still printing" else 60)
    assert told["doing"]["advice"]["seen"] == seen


def test_a_console_that_has_been_quiet_is_said_to_be():
    told = Told(started(), prints("WAIT")).tell(overdue(**AT_CONSOLE, last_lines=["WAIT"]), after_s=60)
    assert told["doing"]["advice"]["seen"] == "quiet"
    assert told["doing"]["advice"]["lines"] == ["WAIT"]


def test_a_late_step_that_is_waited_on_asks_no_more():
    answered = kinds.LateAnswered(step="list", answer="wait on", by="docent 1")
    assert Told(started(), overdue(**AT_CONSOLE), answered)["doing"] is None


def test_a_late_step_that_goes_on_by_itself_asks_nobody():
    again = kinds.StepOverdue(
        script="round", step="list", waited_for=["ready"], within_us=S, last_lines=[], then="again"
    )
    assert Told(started(), again)["doing"] is None


def test_a_failure_stays_until_somebody_has_looked():
    told = Told(started(), FAILED, ended(outcome="failed"))
    assert told["doing"]["kind"] == "failure"
    assert told["doing"]["advice"] == {"why": "the board never came", "lines": ["READY:"], "times": 1}
    told.tell(kinds.SessionCleared(by="docent 1"))
    assert told["doing"] is None


def test_a_console_that_nobody_can_place_wants_somebody_to_look():
    told = Told(kinds.PersonAsked(why="half a command is there", rows=["READY: WI", ""]))
    assert told["doing"]["kind"] == "failure"
    assert told["doing"]["advice"]["lines"] == ["READY: WI"]


def test_a_step_that_was_done_before_says_when_until_the_closing_is_done():
    again = started("opening", 0)
    told = Told(asked(), CONFIRMED, ended("opening", "stopped"), again, asked())
    assert told["doing"]["done_at"] == "2026-11-25T09:00:03.000+00:00"
    assert Told(asked())["doing"]["done_at"] == ""
    told.tell(CONFIRMED, ended("opening"), started("closing", 0), ended("closing"), again, asked())
    assert told["doing"]["done_at"] == ""


def test_the_step_that_the_program_is_at_has_its_beginning_and_its_end():
    told = Told(started(), kinds.StepStarted(script="round", step="list"), DUE)
    assert told["at_step"] == {
        "script": "round",
        "name": "list",
        "since": "2026-11-25T09:00:03.000+00:00",
        "until": "2026-11-25T09:10:00.000+00:00",
        "again": False,
    }
    told.tell(kinds.StepOverdue(**LATE_STEP | AT_CONSOLE, then="wait on"))
    assert told["at_step"]["again"]
    assert told.tell(kinds.StepEnded(script="round", step="list"))["at_step"] is None


def test_a_step_by_hand_is_not_the_programs():
    assert Told(kinds.StepStarted(script="opening", step="drive"), DUE, asked())["at_step"] is None


def test_a_failure_that_comes_back_is_counted_until_a_script_is_done():
    cleared = kinds.SessionCleared(by="docent 1")
    told = Told(started(), FAILED, ended(outcome="failed"), cleared, started(), FAILED)
    assert told["doing"]["advice"]["times"] == 2
    told.tell(kinds.PersonAsked(why="the machine is silent", rows=[]))
    assert told["doing"]["advice"]["times"] == 2
    told.tell(ended(outcome="failed"), cleared, started(), ended(), started(), FAILED)
    assert told["doing"]["advice"]["times"] == 1
