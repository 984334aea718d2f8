"""The states of a session and the moves between them, as a table.

The diagram in docs/facts.md is made from this table. A move that isn't in it is a fault of the program.
"""

from __future__ import annotations

from typing import Final, Literal

State = Literal[
    "idle",
    "between steps",
    "at prompt",
    "typing",
    "waiting",
    "asking",
    "pausing",
    "late",
    "line lost",
    "failed",
]

TRANSITIONS: Final[dict[tuple[State, str], State]] = {
    ("idle", "script started"): "between steps",
    ("between steps", "a prompt is wanted"): "at prompt",
    ("between steps", "a wait begins"): "waiting",
    ("between steps", "a person is asked"): "asking",
    ("between steps", "a pause begins"): "pausing",
    ("between steps", "nothing to wait for"): "between steps",
    ("at prompt", "the prompt is showing"): "typing",
    ("at prompt", "a key is pressed"): "waiting",
    ("at prompt", "a person is asked about the date"): "asking",
    ("asking", "a person agreed to the date"): "at prompt",
    ("at prompt", "left out"): "between steps",
    ("waiting", "left out"): "between steps",
    ("typing", "the machine took it"): "waiting",
    ("waiting", "it came"): "between steps",
    ("asking", "a person confirmed"): "between steps",
    ("pausing", "the pause is over"): "between steps",
    ("waiting", "the command is to be typed again"): "at prompt",
    ("waiting", "a secret was refused, and its sign-on comes first"): "between steps",
    ("typing", "left out"): "between steps",
    ("asking", "left out"): "between steps",
    ("at prompt", "a person is asked what to do"): "late",
    ("typing", "a person is asked what to do"): "late",
    ("waiting", "a person is asked what to do"): "late",
    ("asking", "a person is asked what to do"): "late",
    ("late", "it waits on for its prompt"): "at prompt",
    ("late", "its prompt came after all"): "at prompt",
    ("late", "it waits on for the answer"): "waiting",
    ("late", "it waits on for a person"): "asking",
    ("late", "it came"): "between steps",
    ("late", "a person confirmed"): "between steps",
    ("late", "a person agreed to the date"): "at prompt",
    ("late", "left out"): "between steps",
    ("at prompt", "a step by hand was done too early"): "between steps",
    ("typing", "a step by hand was done too early"): "between steps",
    ("waiting", "a step by hand was done too early"): "between steps",
    ("asking", "a step by hand was done too early"): "between steps",
    ("pausing", "a step by hand was done too early"): "between steps",
    ("late", "a step by hand was done too early"): "between steps",
    ("late", "the step failed"): "between steps",
    ("late", "the line was lost"): "line lost",
    ("at prompt", "the step failed"): "between steps",
    ("typing", "the step failed"): "between steps",
    ("waiting", "the step failed"): "between steps",
    ("asking", "the step failed"): "between steps",
    ("pausing", "the step failed"): "between steps",
    ("at prompt", "the line was lost"): "line lost",
    ("typing", "the line was lost"): "line lost",
    ("waiting", "the line was lost"): "line lost",
    ("asking", "the line was lost"): "line lost",
    ("pausing", "the line was lost"): "line lost",
    ("line lost", "the line came back"): "between steps",
    ("between steps", "done and tidy"): "idle",
    ("between steps", "failed, but tidy"): "idle",
    ("between steps", "over, and a person must look"): "failed",
    ("line lost", "over, and a person must look"): "failed",
    ("idle", "over, and a person must look"): "failed",
    ("failed", "a person cleared it"): "idle",
}

WAITS_ON: Final[dict[State, str]] = {
    "at prompt": "it waits on for its prompt",
    "waiting": "it waits on for the answer",
    "asking": "it waits on for a person",
}
"""The moves from "late" back to where the step was."""


class Progress:
    """The state of one session."""

    def __init__(self) -> None:
        self.state: State = "idle"

    def go(self, move: str) -> None:
        """Makes this move. Raises KeyError if the table doesn't have it for the present state."""
        self.state = TRANSITIONS[self.state, move]
