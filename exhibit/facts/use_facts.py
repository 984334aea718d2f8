"""Facts about wear: what exercised a part, what was started and stopped, which disc errors occurred."""

from __future__ import annotations

from typing import Literal

from exhibit.facts.fact import Fact

Limit = Literal[
    "rest",
    "exercise in an hour",
    "exercise in a day",
    "exercise in a year",
    "starts in a day",
    "disc errors",
    "last round",
    "closing time",
    "closed today",
    "pack",
    "original pack",
]
"""The limits that can keep a script from running."""


class ExerciserBegun(Fact, frozen=True, kw_only=True):
    """The machine reported that an exerciser has begun."""

    exerciser: str
    job: str
    """The number that the machine gave it."""
    part: str
    """Which part it keeps busy."""
    ends_us: int
    """When it ends by itself at the latest, by the recording's clock; 0 if it doesn't."""
    asked: int = 0
    """The number of the JobAsked that this answers; 0 if the command wasn't typed on this line."""


class ExerciserEnded(Fact, frozen=True, kw_only=True):
    """The machine reported that an exerciser has ended, or printed something that implies it."""

    exerciser: str
    job: str
    by: str
    """The line or the interruption that reported it."""


class PartStarted(Fact, frozen=True, kw_only=True):
    """A person or the machine reported that a part was started. If both did, there are two such facts."""

    part: str
    by: str
    """The line or the interruption that reported it, or the step (SCRIPT.STEP) that a person confirmed."""


class PartStopped(Fact, frozen=True, kw_only=True):
    """A part was stopped."""

    part: str
    by: str


class DiscErrorsCounted(Fact, frozen=True, kw_only=True):
    """The machine reported new disc errors, or began its count again."""

    by: str
    """The reading (DISPLAY.READING), or the line of the error log."""
    count: int
    """How many new ones; 0 if the machine began its count again."""
    stands_at: float = 0.0
    """For a reading: its value now."""
    entry: str = ""
    """For an error log: its line."""


class ScriptRefused(Fact, frozen=True, kw_only=True):
    """A script was not started, or was ended early, because of a limit."""

    script: str
    limit: Limit
    why: str
    until_us: int = 0
    """When it may be started, by the recording's clock; 0 if not today."""


class PackRemoved(Fact, frozen=True, kw_only=True):
    """A person confirmed that a pack has been taken out of its drive."""

    label: str
    drive: str
    by: str
