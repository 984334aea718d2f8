"""The simulated docent, who is always there."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from exhibit.bridge.request_door import Answer, Request, RequestDoor
from exhibit.commands.simulated_docent import SimulatedDocent
from exhibit.facts import kinds


@pytest.fixture
def heard(tmp_path: Path) -> Iterator[list[str]]:
    """What has been asked for at the door."""
    heard: list[str] = []

    def hears(request: Request, reply) -> None:
        heard.append(request.request)
        reply(Answer(accepted=True))

    door = RequestDoor(tmp_path / "door", hears)
    yield heard
    door.close()


def responds(place: Path, *facts: kinds.AnyFact, goes_on: bool = False) -> None:
    docent = SimulatedDocent({}, place / "front", place / "door", goes_on=goes_on)
    for fact in facts:
        docent.respond(kinds.Entry(1, 0, fact))


@pytest.mark.parametrize(("phase", "asked"), [("nobody there", ["here"]), ("away", []), ("rounds", [])])
def test_the_docent_says_that_they_are_there_when_nobody_seems_to_be(tmp_path: Path, heard, phase, asked):
    responds(tmp_path, kinds.DayTurned(phase=phase, by="the presence in day.toml"))
    assert heard == asked


FAILED = kinds.SessionFailed(why="the command came back garbled", last_lines=[])
DONE = kinds.ScriptEnded(script="round", outcome="done", tidy=True, why="")


def test_in_an_unattended_demonstration_the_docent_lets_it_go_on_after_a_failure_but_not_for_ever(
    tmp_path: Path, heard
):
    responds(tmp_path, FAILED, FAILED, DONE, *[FAILED] * 5, goes_on=True)
    assert heard == ["clear"] * 5


def test_a_demonstration_of_so_many_rounds_ends_with_a_failure(tmp_path: Path, heard):
    responds(tmp_path, FAILED)
    assert heard == []
