"""Facts about finding out what state the console is in, and about returning to a known state."""

from __future__ import annotations

from typing import Literal

from exhibit.facts.day_facts import DayKept
from exhibit.facts.fact import Fact
from exhibit.facts.use_before import InDoubt


class LastRecordingRead(Fact, frozen=True, kw_only=True):
    """The last recording was read, to see what that run left unfinished. An empty value means nothing."""

    recording: str
    """The name of its file; empty if no run that typed at this machine has been recorded."""
    closed: bool
    """Whether it was closed properly."""
    may_lack: bool
    """Whether its last second may be missing: it broke off, and the computer has been restarted since."""
    line_lost: bool
    half_typed: str
    """What was typed after the last RETURN or cancel key, with `****` for a secret.

    Older recordings have a `*` for each of its characters.
    """
    unanswered: str
    """The command whose RETURN was typed but not answered with a new line."""
    question: str
    """The prompt that asked a question and got no answer."""
    display: str
    """The status display that was showing."""
    script: str
    """The script that didn't end, or whose tidy-up could not be done."""
    step: str
    """The last step of it that had been started."""
    returned: bool
    """Whether that step had typed a RETURN and was still waiting for the answer."""
    numbers: dict[str, dict[str, str]]
    """By step: the numbers that the machine gave and that the tidy-up still needs to stop what is running."""
    put_away: list[str]
    """The steps that had already stopped something by such a number."""
    prompt: str = ""
    """The prompt or display that had appeared last."""
    in_doubt: list[InDoubt] = []
    """The jobs of which it isn't known whether they run."""
    day: DayKept | None = None
    """How the day stood; null if that run was none of a day."""


class PlaceSought(Fact, frozen=True, kw_only=True):
    """The search for the state of the console began. Nothing is typed while the machine prints."""

    why: str
    vouched: bool = False
    """Whether a person has looked and says that it is safe to go on."""
    line_clear: bool = False
    """Whether that person had been told what was half typed on the console, and so has removed it."""


class KeySent(Fact, frozen=True, kw_only=True):
    """A harmless key was typed to make the machine show what state it is in."""

    key: Literal["nudge", "cancel"]
    why: str


class PlaceRecognised(Fact, frozen=True, kw_only=True):
    """The state of the console was recognised."""

    place: str
    """A landmark of the machine's folder; `silent` if the machine sends nothing."""
    line: str
    """The line by which it was recognised."""


class ScriptLeftOut(Fact, frozen=True, kw_only=True):
    """A script was not needed, because the machine was already in the state to which it leads."""

    script: str
    why: str


class PersonAsked(Fact, frozen=True, kw_only=True):
    """The program doesn't know how to go on from here, so a person was asked to look."""

    why: str
    rows: list[str]
    """What was on the display, from the top, without the empty rows at its end."""


class SessionCleared(Fact, frozen=True, kw_only=True):
    """After a failure a person looked, and said that the run may go on."""

    by: str


class LineUnreadable(Fact, frozen=True, kw_only=True):
    """What first arrived on a newly opened line was most likely not text at the line's settings."""

    cause: Literal["speed", "parity"]
    what: str
    do: str


class LineReadable(Fact, frozen=True, kw_only=True):
    """Text arrived on a line that was called unreadable: its settings are right after all."""

    cause: Literal["speed", "parity"]
    """What had been called wrong."""
