"""Where a session can stand and what moves it on, as a table.

The diagram in DEVELOPERS.md is made from this table. A move that isn't in it is a fault of the program.
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
    ("at prompt", "the prompt stands"): "typing",
    ("at prompt", "a key is pressed"): "waiting",
    ("at prompt", "a person is asked about the date"): "asking",
    ("asking", "the date may be told"): "at prompt",
    ("at prompt", "left out"): "between steps",
    ("waiting", "left out"): "between steps",
    ("typing", "the machine took it"): "waiting",
    ("waiting", "it came"): "between steps",
    ("asking", "a person confirmed"): "between steps",
    ("pausing", "the pause is over"): "between steps",
    ("waiting", "the command is to be typed again"): "at prompt",
    ("typing", "left out"): "between steps",
    ("asking", "left out"): "between steps",
    ("at prompt", "a person is asked what to do"): "late",
    ("typing", "a person is asked what to do"): "late",
    ("waiting", "a person is asked what to do"): "late",
    ("asking", "a person is asked what to do"): "late",
    ("late", "its prompt is waited for on"): "at prompt",
    ("late", "its prompt came after all"): "at prompt",
    ("late", "what it brings is waited for on"): "waiting",
    ("late", "a person is waited for on"): "asking",
    ("late", "it came"): "between steps",
    ("late", "a person confirmed"): "between steps",
    ("late", "the date may be told"): "at prompt",
    ("late", "left out"): "between steps",
    ("late", "the step failed"): "between steps",
    ("late", "the line went away"): "line lost",
    ("at prompt", "the step failed"): "between steps",
    ("typing", "the step failed"): "between steps",
    ("waiting", "the step failed"): "between steps",
    ("asking", "the step failed"): "between steps",
    ("pausing", "the step failed"): "between steps",
    ("at prompt", "the line went away"): "line lost",
    ("typing", "the line went away"): "line lost",
    ("waiting", "the line went away"): "line lost",
    ("asking", "the line went away"): "line lost",
    ("pausing", "the line went away"): "line lost",
    ("line lost", "the line came back"): "between steps",
    ("between steps", "done and tidy"): "idle",
    ("between steps", "over, and a person must look"): "failed",
    ("line lost", "over, and a person must look"): "failed",
    ("idle", "over, and a person must look"): "failed",
    ("failed", "a person cleared it"): "idle",
}

WAITS_ON: Final[dict[State, str]] = {
    "at prompt": "its prompt is waited for on",
    "waiting": "what it brings is waited for on",
    "asking": "a person is waited for on",
}
"""The moves from "late" back to where the step was."""


class Progress:
    """Where one session stands. Raises KeyError for a move that isn't in the table."""

    def __init__(self) -> None:
        self.state: State = "idle"

    def go(self, move: str) -> None:
        """This moves it on."""
        self.state = TRANSITIONS[self.state, move]
