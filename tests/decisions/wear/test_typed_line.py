"""The command that is being typed is the one that RETURN sends, whatever keys the machine has."""

from __future__ import annotations

from exhibit.decisions.machine.description import Machine
from exhibit.decisions.wear.typed_line import TypedLine
from exhibit.facts import kinds
from tests.decisions.heron import MACHINE, machine


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
