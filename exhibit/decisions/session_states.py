"""Where a session can stand and what moves it on, as a table.

The diagram in DEVELOPERS.md is made from this table. A move that isn't in it is a fault of the program.
"""

from __future__ import annotations

from typing import Final, Literal

State = Literal[
    "idle", "between steps", "at prompt", "typing", "waiting", "asking", "pausing", "line lost", "failed"
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
    ("at prompt", "left out"): "between steps",
    ("waiting", "left out"): "between steps",
    ("typing", "the machine took it"): "waiting",
    ("waiting", "it came"): "between steps",
    ("asking", "a person confirmed"): "between steps",
    ("pausing", "the pause is over"): "between steps",
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
}


class Progress:
    """Where one session stands. Raises KeyError for a move that isn't in the table."""

    def __init__(self) -> None:
        self.state: State = "idle"

    def go(self, move: str) -> None:
        """This moves it on."""
        self.state = TRANSITIONS[self.state, move]
