"""What the docent's page knows of a closing: which steps by hand are left, and where it goes on."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from exhibit.facts import kinds
from exhibit.facts.docent_words import HandStep
from tests.decisions.desk.made_day import FOR_DOCENT, Told, asked
from tests.decisions.heron import in_english, opened

pytestmark = pytest.mark.pure

STEPS = [HandStep(name=name, words=in_english(name)) for name in ("stop", "lock")]
SAID = msgspec.structs.replace(
    FOR_DOCENT,
    closing=STEPS,
    closing_types=True,
    last_by_hand=["stop", "stand-still", "lock"],
    parts={"closing.stop": "drive"},
)
DONE = kinds.ScriptEnded(script="closing", outcome="done", tidy=True, why="")
STOPPED = kinds.ScriptEnded(script="closing", outcome="stopped", tidy=True, why="docent 1 said stop")


def turned(phase: kinds.DayPhase) -> kinds.DayTurned:
    return kinds.DayTurned(phase=phase, by="docent 1")


def started(script: str, **more: Any) -> kinds.ScriptStarted:
    return kinds.ScriptStarted(script=script, title={}, by="docent 1", **more)


def at_step(step: str, script: str = "closing") -> kinds.StepStarted:
    return kinds.StepStarted(script=script, step=step)


def confirmed(step: str) -> tuple[kinds.AnyFact, ...]:
    done = kinds.HandsOnConfirmed(step=step, by="docent 1")
    return at_step(step), asked(step, "closing"), done, kinds.StepEnded(script="closing", step=step)


def closing(*facts: kinds.AnyFact) -> Told:
    return Told().tell(_first(), turned("closing"), started("closing"), *facts)


def _first() -> kinds.RecordingOpened:
    return opened(for_docent=SAID)


def left(told: Told) -> list[str]:
    return [step["name"] for step in told["closing_left"]["steps"]]


def test_every_step_is_left_until_it_is_confirmed_in_the_closing():
    told = closing(*confirmed("stop"))
    assert left(told) == ["lock"]
    assert left(told.tell(*confirmed("lock"), DONE, turned("over"))) == []


def test_a_step_that_is_asked_for_once_more_or_whose_part_was_started_again_is_left():
    assert left(closing(*confirmed("stop"), asked("stop", "closing"))) == ["stop", "lock"]
    started_again = kinds.PartStarted(part="drive", by="drive-ready")
    assert left(closing(*confirmed("stop"), started_again)) == ["stop", "lock"]


def test_a_step_of_the_same_name_in_another_script_is_none_of_the_closing():
    told = closing(
        started("opening"), at_step("stop", "opening"), kinds.HandsOnConfirmed(step="stop", by="x")
    )
    assert left(told) == ["stop", "lock"]


def test_once_the_machine_is_open_again_all_are_left():
    again = (at_step("key", "opening"), kinds.HandsOnConfirmed(step="key", by="x"))
    told = closing(*confirmed("stop"), turned("over"), turned("opening"), started("opening"), *again)
    assert (left(told), told["closing_left"]["typed"]) == (["stop", "lock"], False)


def test_an_opening_in_which_nobody_did_anything_opens_nothing_again():
    told = closing(*confirmed("stop"), *confirmed("lock"), DONE, turned("over"), turned("opening"))
    told.tell(started("opening"), at_step("key", "opening"), turned("closing"))
    told.tell(kinds.BytesTyped(bytes="\x18", count=1, by="homing"), turned("over"))
    assert (left(told), told["closing_left"]["typed"]) == ([], True)


def test_what_a_recording_before_had_is_not_known():
    told = Told().tell(_first(), turned("over"))
    assert (left(told), told["closing_left"]["typed"]) == (["stop", "lock"], False)


def test_all_is_typed_once_the_last_steps_have_begun():
    told = closing(at_step("bye"))
    assert told["closing_left"]["typed"] is False
    assert told.tell(at_step("stop"))["closing_left"]["typed"] is True


def test_a_closing_that_was_stopped_goes_on_at_its_step_by_hand():
    told = closing(at_step("stop"), turned("stopped"), STOPPED)
    assert told["closing_left"]["goes_on_at"] == "stop"
    assert told.tell(kinds.KeyboardTaken(by="engineer 1"))["closing_left"]["goes_on_at"] == ""
    assert closing(at_step("bye"), turned("stopped"), STOPPED)["closing_left"]["goes_on_at"] == ""


def test_scripts_that_were_started_without_a_day_are_not_said_to_go_on():
    told = Told().tell(_first(), started("closing"), at_step("stop"))
    assert told["closing_left"]["goes_on_at"] == ""


def test_a_day_that_is_over_waits_for_nobody_but_a_failure_after_it_does():
    failed = kinds.SessionFailed(why="it sticks", last_lines=[])
    told = closing(at_step("stop"), failed, turned("over"))
    assert told["doing"] is None
    assert told.tell(failed)["doing"]["kind"] == "failure"
