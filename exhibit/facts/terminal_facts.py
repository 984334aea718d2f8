"""Facts about a person at the machine's own terminal, and about other programs at the port."""

from __future__ import annotations

from exhibit.facts.fact import Fact

THE_PERSON = "the person at the terminal"


class TerminalOpened(Fact, frozen=True, kw_only=True):
    """From now on what a person types at the machine's own terminal is heard. This program can't type it."""

    line: str
    """The port on which it is heard, and its settings."""
    passed: bool = False
    """Whether a process of this program passes the characters on; otherwise a cable does."""


class TerminalLost(Fact, frozen=True, kw_only=True):
    """What a person types can't be heard any more. If it was passed on, it no longer reaches the machine."""

    why: str


class TypedByHand(Fact, frozen=True, kw_only=True):
    """A person typed this at the machine's own terminal, including the eighth bit."""

    bytes: str
    """Empty if it is withheld."""
    count: int
    by: str = THE_PERSON
    secret: bool = False
    """Whether it is withheld, because it may be a secret: only the number of characters is recorded."""


class TypedInVain(Fact, frozen=True, kw_only=True):
    """Characters were typed at the terminal while the machine's port was lost. They reached nobody."""

    count: int


class BytesMissed(Fact, frozen=True, kw_only=True):
    """Characters were passed between machine and terminal without being recorded.

    If the bridge was killed, at most 256 more of each kind may be missing.
    """

    received: int
    """How many the machine sent."""
    typed: int
    """How many were typed at the terminal."""
    why: str


class OtherProgramSeen(Fact, frozen=True, kw_only=True):
    """Other programs on this computer were seen to have the port open."""

    port: str
    programs: list[str]


class OtherProgramGone(Fact, frozen=True, kw_only=True):
    """No other program has the port open any more."""

    port: str
