"""The simulated docent, who is always there."""

from __future__ import annotations

from pathlib import Path

import pytest

from exhibit.bridge.request_door import Answer, Request, RequestDoor
from exhibit.commands.simulated_docent import SimulatedDocent
from exhibit.facts import kinds


@pytest.mark.parametrize(("phase", "asked"), [("nobody there", ["here"]), ("away", []), ("rounds", [])])
def test_the_docent_says_that_they_are_there_when_nobody_seems_to_be(tmp_path: Path, phase, asked):
    heard: list[Request] = []
    door = RequestDoor(
        tmp_path / "door", lambda request, reply: (heard.append(request), reply(Answer(accepted=True)))
    )
    turned = kinds.DayTurned(phase=phase, by="the presence in day.toml")
    SimulatedDocent({}, tmp_path / "front", tmp_path / "door").respond(kinds.Entry(1, 0, turned))
    door.close()
    assert [request.request for request in heard] == asked
