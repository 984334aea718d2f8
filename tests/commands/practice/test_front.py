"""What the program does at the simulated front as the docent answers, and what goes wrong on purpose."""

from __future__ import annotations

from pathlib import Path

import pytest

from exhibit.bridge.request_door import Answer, Request, RequestDoor
from exhibit.commands.practice import command
from exhibit.commands.practice.front import PractisedFront
from exhibit.commands.practice.mistakes import MISTAKES
from exhibit.commands.simulated_docent import read_acts
from exhibit.decisions.desk import practice_words, practised
from exhibit.facts import kinds
from exhibit.facts.parts_and_cards import PanelAct
from exhibit.folder.whole import read_folder
from exhibit.web.places import scripts_folder

FOLDER = scripts_folder() / "whimbrel"
SET = PanelAct(act="set", value="14000200")


def asked(step: str, script: str = "opening", **more: object) -> kinds.HandsOnAsked:
    return kinds.HandsOnAsked(script=script, step=step, words={}, caution={}, **more)  # type: ignore[arg-type]


def confirmed(step: str) -> kinds.HandsOnConfirmed:
    return kinds.HandsOnConfirmed(step=step, by="docent 1")


class Hands:
    """The front, and what was done there and said at the door."""

    def __init__(self, here: Path, mistake: str | None = None) -> None:
        self.acts: list[str] = []
        self.heard: list[tuple[str, str, str]] = []
        self._door = RequestDoor(here / "door", self._take)
        self._front = PractisedFront(read_acts(FOLDER), here / "front", here / "door", mistake, self._act)

    def _take(self, request: Request, reply: object) -> None:
        self.heard.append((request.request, request.by, request.why))
        reply(Answer(accepted=True))  # type: ignore[operator]

    def _act(self, _: Path, act: str) -> str:
        self.acts.append(act)
        return "refused: as by hand"

    def take(self, *facts: kinds.AnyFact) -> list[str]:
        """What was done at the front after these facts."""
        self.acts.clear()
        for fact in facts:
            self._front.take(kinds.Entry(1, 0, fact))
        return [*self.acts]

    def end(self) -> None:
        self._door.close()


@pytest.fixture
def hands(tmp_path):
    made: list[Hands] = []

    def make(mistake: str | None = None) -> Hands:
        made.append(Hands(tmp_path, mistake))
        return made[-1]

    yield make
    for one in made:
        one.end()


def test_nothing_is_done_before_the_docent_says_that_it_is_done(hands):
    front = hands()
    assert front.take(asked("press-start", panel=[SET])) == []
    assert front.take(kinds.HandsOnPutOff(step="press-start", by="docent 1", because="too early")) == []
    assert front.take(confirmed("press-start")) == ["switches 14000200", "press start"]
    assert front.heard == []


def test_a_pack_that_is_loaded_again_is_taken_out_first(hands):
    front = hands()
    once = front.take(asked("pack-in-upper"), confirmed("pack-in-upper"))
    assert once == ["load SALLOW 1 upper protected"]
    assert front.take(asked("pack-in-upper"), confirmed("pack-in-upper")) == ["unload upper", *once]


def test_start_is_pressed_before_the_small_drive_is_ready_whatever_the_docent_answers(hands):
    front = hands("early")
    assert front.take(asked("start-small"), confirmed("start-small")) == []
    early = front.take(asked("press-start", panel=[SET]))
    assert early == ["start small", "switches 14000200", "press start"]
    assert front.heard == [("here", practised.PRACTICE, "early")]
    assert front.take(asked("press-start", panel=[SET])) == []


def test_a_pack_is_loaded_with_its_switch_wrong_and_its_drive_stopped_once_that_was_seen(hands):
    front = hands("pack")
    assert front.take(asked("pack-in-upper"), confirmed("pack-in-upper")) == ["load SALLOW 1 upper writable"]
    raised = kinds.TroubleRaised(trouble="upper-could-be-written", line="", words={}, do={})
    assert front.take(raised) == []
    assert front.heard == [("here", practised.PRACTICE, "pack")]
    assert front.take(kinds.TroubleSeen(raised=1, by="docent 1")) == ["stop upper"]


def test_the_power_goes_once_in_a_round(hands):
    front = hands("power")
    begins = kinds.StepStarted(script="round", step="begin-sums")
    assert front.take(begins, begins) == ["fault power"]


def test_the_job_hangs_whose_table_the_round_waits_for(hands):
    front = hands("job")
    begun = kinds.StepMatched(
        script="round", step="begin-tides", name="tides-begun", line="JOB 3 BEGUN: TIDES", fields={"job": "3"}
    )
    assert front.take(begun, begun) == ["fault hang 3"]


def test_every_mistake_can_be_asked_for_and_is_one_of_the_folders_own_steps_and_troubles():
    assert [*MISTAKES] == [*command.MISTAKES] == [*practice_words.MISTAKES] == [*practised.RIGHT]
    folder = read_folder(FOLDER)
    steps = {(name, step.name) for name, script in folder.scripts.items() for step in script.steps}
    for step in (
        "opening.start-small",
        "opening.pack-in-upper",
        "opening.press-start",
        "round.begin-sums",
        "round.begin-tides",
    ):
        assert tuple(step.split(".")) in steps
    assert "upper-could-be-written" in {trouble.name for trouble in folder.machine.troubles}
