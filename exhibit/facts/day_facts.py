"""Facts about the museum's day, about who has the keyboard, and about what became of a trouble."""

from __future__ import annotations

from typing import Literal

import msgspec

from exhibit.facts.fact import Fact

DayPhase = Literal[
    "before opening", "opening", "rounds", "away", "quiet", "nobody there", "stopped", "closing", "over"
]
"""What the day has come to. No round begins while it is "away", "quiet" or "nobody there"."""
NoteKind = Literal["note", "photograph", "minutes kept"]


class DayTurned(Fact, frozen=True, kw_only=True):
    """The day came to another phase. A script that was running then runs on to its end."""

    phase: DayPhase
    by: str
    """Who asked for it; or what did: the hours in day.toml, or that a script has ended."""
    why: str = ""
    until_us: int = 0
    """When it ends by itself; 0 if a person has to end it."""


class DayKept(msgspec.Struct, frozen=True, kw_only=True):
    """How the day stood at the end of the recording before, so that the next one goes on with it."""

    phase: DayPhase
    by: str
    at: str
    """The last date and time of that recording (RFC 3339)."""
    until: str = ""
    """When the phase ends by itself (RFC 3339); empty if a person has to end it."""
    resumes: DayPhase = "rounds"
    """What goes on after "stopped"."""
    rounds: int = 0
    """How many rounds were begun."""
    seen: str = ""
    """When somebody last gave a sign of being there (RFC 3339); empty if nobody did."""
    why: str = ""
    """Why it came to this phase, where that was said."""
    failed: str = ""
    """Why nothing was to be typed until somebody has looked; empty if something was."""


class HandsOff(Fact, frozen=True, kw_only=True):
    """A person said that nothing more may be typed, not even a tidy-up."""

    by: str
    standing: str = ""
    """The command that stands on the console without its RETURN; empty if there is none."""


class KeyboardTaken(Fact, frozen=True, kw_only=True):
    """A person has the console's keyboard; no script types until it is given back."""

    by: str


class KeyboardGivenBack(Fact, frozen=True, kw_only=True):
    """The keyboard was given back, so the program finds out what state the console is in."""

    by: str
    why: str = ""


class TroubleSeen(Fact, frozen=True, kw_only=True):
    """A person said that they have seen a trouble."""

    raised: int
    """The number of the fact that raised it."""
    by: str


class TroubleSetAside(Fact, frozen=True, kw_only=True):
    """A person set a trouble aside for a while; after that it needs somebody again."""

    raised: int
    by: str
    why: str
    until_us: int


class TroubleOver(Fact, frozen=True, kw_only=True):
    """A trouble is over: a person said so, or what the machine printed shows it."""

    raised: int
    by: str
    how: str = ""


class NoteMade(Fact, frozen=True, kw_only=True):
    """A person wrote a note. What it says stands in a file of its own, so that it can be erased."""

    kind: NoteKind
    by: str
    digest: str
    """SHA-256 of that file, in hexadecimal."""
