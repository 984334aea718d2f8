"""Facts about the line and the console: what was received, typed, and recognised."""

from __future__ import annotations

from typing import Literal

from exhibit.facts.fact import Fact, Words

EchoSign = Literal["too soon", "as typed", "twice", "silent machine"]
"""The signs of a local echo."""
DueFrom = Literal["typing", "step", "display"]
"""What the machine should have sent: an answer to typing, what a late step waited for, a display's frame."""


class LineOpened(Fact, frozen=True, kw_only=True):
    """The line to the machine was opened."""

    line: str
    keeps_time: bool = False
    """Whether each character is known to take as long on the line as the settings say."""


class LineLost(Fact, frozen=True, kw_only=True):
    """The line to the machine was lost; the program keeps trying to open it again."""

    why: str


class MachineSilent(Fact, frozen=True, kw_only=True):
    """Something was due from the machine, and for a while nothing at all had come.

    It counts until HeardAgain, until the line is lost or opened, or until a person confirms a hands-on step.
    """

    heard_us: int
    """When something last came from it, by the recording's clock; 0 if nothing had come yet."""
    due_us: int
    """Since when something had been due."""
    due: DueFrom

    @property
    def since_us(self) -> int:
        """Since when nothing came: the last character; or when something was due, if none had come yet."""
        return self.heard_us or self.due_us


class HeardAgain(Fact, frozen=True, kw_only=True):
    """Something came again from a machine that had been silent."""

    silent_us: int
    """How long nothing had come, in microseconds."""


class LineErrorsCounted(Fact, frozen=True, kw_only=True):
    """How many characters were damaged since the last such fact, by kind."""

    parity: int = 0
    framing: int = 0
    overrun: int = 0
    breaks: int = 0


class BytesReceived(Fact, frozen=True, kw_only=True, gc=False):
    """A piece of what the machine sent. The time of the fact is that of its last byte."""

    bytes: str
    first_us: int


class BytesWithheld(Fact, frozen=True, kw_only=True):
    """Bytes were received that may contain a secret; only their number is recorded.

    Recordings made now have `secret_withheld` in its place, which doesn't tell the number.
    """

    count: int
    why: str


class SecretWithheld(Fact, frozen=True, kw_only=True):
    """A secret was received, or something on the line of a secret prompt. Only four asterisks are recorded.

    There are four of them whatever its length, among the bytes received last before this.
    """

    was_typed: bool
    """Whether it was the secret that was being typed: the machine should not have shown it."""


class SecretTyped(Fact, frozen=True, kw_only=True):
    """Part of a secret was typed: first its first character, then all the others. Nothing tells how many."""

    by: str


class BytesTyped(Fact, frozen=True, kw_only=True):
    """Bytes were typed at the machine. For a secret only their number is recorded, and `bytes` is empty.

    Recordings made now have `secret_typed` for a secret.
    """

    bytes: str
    count: int
    by: str
    secret: bool = False


class TypingFailed(Fact, frozen=True, kw_only=True):
    """The line didn't accept the byte that was just recorded as typed: it may or may not have been sent."""

    why: str


class TypingRefused(Fact, frozen=True, kw_only=True):
    """A command was not typed."""

    command: str
    why: str


class TypingGarbled(Fact, frozen=True, kw_only=True):
    """A command was echoed wrongly, so it was not sent, but cancelled if the machine has a key for that."""

    command: str
    expected: str
    came_back: str
    attempt: int
    new_line: bool = False
    """An unexpected new line arrived: the machine may have accepted what was echoed before it."""
    thrown_away: bool = False
    """The machine printed its prompt again by itself behind what was typed, so no cancel key was typed."""
    returned: bool = False
    """RETURN had been typed already, so the machine may have taken the command."""


class TypingConfirmed(Fact, frozen=True, kw_only=True):
    """A command was echoed correctly, and the machine answered its RETURN with a new line."""

    command: str
    attempts: int


class LocalEchoFound(Fact, frozen=True, kw_only=True):
    """Something nearer than the machine echoes what is typed, or seems to do so."""

    sign: EchoSign
    """How it was noticed. Only "too soon" is certain, and ends the running script."""
    what: str
    do: str


class TypingHeld(Fact, frozen=True, kw_only=True):
    """The machine asked for nothing to be typed (XOFF)."""


class TypingLetGo(Fact, frozen=True, kw_only=True):
    """Typing could continue: the machine allowed it (XON), or a person did so in its place."""

    by: str
    held_us: int
    """How long typing was held up, in microseconds."""


class PatternSeen(Fact, frozen=True, kw_only=True):
    """A known line was printed in full."""

    pattern: str
    line: str
    fields: dict[str, str] = {}


class LandmarkReached(Fact, frozen=True, kw_only=True):
    """A known prompt or status display is showing on the console and has settled."""

    landmark: str
    line: str
    fields: dict[str, str] = {}


class InterruptionSeen(Fact, frozen=True, kw_only=True):
    """A broadcast came in the middle of other output and was removed from it."""

    interruption: str
    text: str


class ReadingTaken(Fact, frozen=True, kw_only=True):
    """A value was read off a status display at the end of a frame; a table is read as rows."""

    display: str
    frame: int
    """The number of this frame, counted from 1, among those read off this display in this recording."""
    name: str
    value: int | float | str = ""
    table: list[dict[str, str]] | None = None
    rows: list[int] = []
    """The rows of the display on which it was, counted from 1."""
    unread: list[int] = []
    """Of a table: the rows in its place that had something on them but could not be read."""


SafeToLeave = Literal["yes", "no", "unknown"]
WhomToCall = Literal["keyholder", "engineer", "nobody"]


class TroubleRaised(Fact, frozen=True, kw_only=True):
    """The machine printed something that means trouble."""

    trouble: str
    line: str
    words: Words
    do: Words
    caution: Words = {}
    """What to take care of before doing it."""
    safe_to_leave: SafeToLeave = "unknown"
    """Whether the machine can be left alone meanwhile, as its folder says."""
    call: WhomToCall = "keyholder"
    repeats: int = 0
    """The fact that raised the same trouble just before, so that nobody is asked anew; 0 if none did."""
    times: int = 1
    """How often it has been raised, this time included."""
    since: str = ""
    """When it was first raised (RFC 3339), if that was in an earlier recording and it wasn't over since.

    Then the machine hasn't printed it again. Empty for a trouble of this recording.
    """
