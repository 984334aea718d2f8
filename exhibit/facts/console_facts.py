"""Facts about the line and the console: what was received, typed, and recognised."""

from __future__ import annotations

from typing import Literal

from exhibit.facts.fact import Fact, Words

EchoSign = Literal["too soon", "as typed", "twice", "silent machine"]
"""By what a local echo is found out."""


class LineOpened(Fact, frozen=True, kw_only=True):
    """The line to the machine was opened."""

    line: str
    keeps_time: bool = False
    """Whether characters take the time on it that its settings say, as far as can be known."""


class LineLost(Fact, frozen=True, kw_only=True):
    """The line to the machine went away; it is being tried again."""

    why: str


class LineErrorsCounted(Fact, frozen=True, kw_only=True):
    """Damaged characters since the last such fact, by kind."""

    parity: int = 0
    framing: int = 0
    overrun: int = 0
    breaks: int = 0


class BytesReceived(Fact, frozen=True, kw_only=True):
    """A piece of what the machine sent. The fact's own time is that of the last byte."""

    bytes: str
    first_us: int


class BytesWithheld(Fact, frozen=True, kw_only=True):
    """Bytes were received that might hold a secret; only their number is kept."""

    count: int
    why: str


class BytesTyped(Fact, frozen=True, kw_only=True):
    """Bytes went to the machine. Of a secret only the number is kept, and `bytes` is empty."""

    bytes: str
    count: int
    by: str
    secret: bool = False


class TypingFailed(Fact, frozen=True, kw_only=True):
    """The line didn't take the byte that was just recorded as typed: it may or may not have gone."""

    why: str


class TypingRefused(Fact, frozen=True, kw_only=True):
    """A command was not typed."""

    command: str
    why: str


class TypingGarbled(Fact, frozen=True, kw_only=True):
    """A command came back wrong, so it was cancelled instead of being sent."""

    command: str
    expected: str
    came_back: str
    attempt: int
    new_line: bool = False
    """A new line came that wasn't asked for: the machine may have taken what came back before it."""


class TypingConfirmed(Fact, frozen=True, kw_only=True):
    """A command came back right and the machine took its RETURN with a new line."""

    command: str
    attempts: int


class LocalEchoFound(Fact, frozen=True, kw_only=True):
    """Something nearer than the machine sends back what is typed, or seems to."""

    sign: EchoSign
    """By what it was found out. Only "too soon" is sure, and ends the script that runs."""
    what: str
    do: str


class TypingHeld(Fact, frozen=True, kw_only=True):
    """The machine asked that nothing be typed (XOFF)."""


class TypingLetGo(Fact, frozen=True, kw_only=True):
    """Typing may go on: the machine said so (XON), or a person did in its stead."""

    by: str
    held_us: int
    """For how long it was held up."""


class PatternSeen(Fact, frozen=True, kw_only=True):
    """A line that we know was printed in full."""

    pattern: str
    line: str
    fields: dict[str, str] = {}


class LandmarkReached(Fact, frozen=True, kw_only=True):
    """A prompt or a status display that we know stands on the console and has settled."""

    landmark: str
    line: str
    fields: dict[str, str] = {}


class InterruptionSeen(Fact, frozen=True, kw_only=True):
    """A broadcast came in the middle of other output and was lifted out of it."""

    interruption: str
    text: str


class ReadingTaken(Fact, frozen=True, kw_only=True):
    """A value was read off a status display when its frame had ended; a table comes as rows."""

    display: str
    frame: int
    """Counts the frames read off this display since the recording was opened, from 1."""
    name: str
    value: int | float | str = ""
    table: list[dict[str, str]] | None = None
    rows: list[int] = []
    """The display's rows, from 1, on which it stood."""


class TroubleRaised(Fact, frozen=True, kw_only=True):
    """The machine printed something that means trouble."""

    trouble: str
    line: str
    words: Words
    do: Words
