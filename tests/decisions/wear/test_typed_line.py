"""The command that is being typed is the one that RETURN sends, whatever keys the machine has."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.machine.description import Machine
from exhibit.decisions.wear.typed_line import TypedLine
from exhibit.facts import kinds
from tests.decisions.heron import MACHINE, TYPING, machine


def sent(*happens: str | kinds.AnyFact, described: Machine = MACHINE) -> list[str]:
    """The commands that were sent. Text is typed; any other fact happens."""
    line = TypedLine(described)
    facts: list[kinds.AnyFact] = []
    for one in happens:
        if isinstance(one, str):
            facts += [kinds.BytesTyped(bytes=key, count=1, by="script round") for key in one]
        else:
            facts.append(one)
    return [command for fact in facts if (command := line.note(fact))]


def test_at_a_machine_without_a_cancel_key_what_is_typed_is_still_a_command():
    assert sent("WORK 4\r", described=machine(typing={"cancel": b""})) == ["WORK 4"]


@pytest.mark.parametrize(
    "gone",
    [
        kinds.TypingGarbled(command="WO", expected="WO", came_back="", attempt=1, thrown_away=True),
        kinds.PlaceSought(why="a person has looked", vouched=True, line_clear=True),
    ],
)
def test_what_was_half_typed_and_is_gone_is_no_part_of_the_next_command(gone):
    assert sent("WO", gone, "WORK 4\r") == ["WORK 4"]


@pytest.mark.parametrize(
    "stays",
    [
        kinds.TypingGarbled(command="WO", expected="WO", came_back="", attempt=1),
        kinds.PlaceSought(why="the line came back"),
    ],
)
def test_what_may_still_be_half_typed_is_a_part_of_it(stays):
    assert sent("WO", stays, "RK 4\r") == ["WORK 4"]


def test_the_keys_of_another_landmark_end_and_cancel_a_command_too():
    there = msgspec.structs.replace(TYPING, return_key=b"\n", cancel=b"\x15")
    both = machine(landmarks={"loader": ("desk",)}, typing_at={"loader": there})
    assert sent("WO\x15WORK 4\n", "WO\x18WORK 5\r", described=both) == ["WORK 4", "WORK 5"]
