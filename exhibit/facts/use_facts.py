"""Facts about wear: what exercised a part, what was started and stopped, which errors the discs made."""

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
    "pack",
    "original pack",
]
"""What holds a script back."""


class ExerciserBegun(Fact, frozen=True, kw_only=True):
    """The machine said that an exerciser has begun."""

    exerciser: str
    job: str
    """The number that the machine gave it."""
    part: str
    """Which part it keeps busy."""
    ends_us: int
    """When it ends by itself, at the latest, by the recording's clock; 0 when it doesn't."""


class ExerciserEnded(Fact, frozen=True, kw_only=True):
    """The machine said that an exerciser has ended, or something that means so."""

    exerciser: str
    job: str
    by: str
    """The line or the interruption that said it."""


class PartStarted(Fact, frozen=True, kw_only=True):
    """A part was started, by what a person or the machine said; if both did, there are two such facts."""

    part: str
    by: str
    """The line or the interruption that said it, or the step (SCRIPT.STEP) that a person confirmed."""


class PartStopped(Fact, frozen=True, kw_only=True):
    """A part was stopped."""

    part: str
    by: str


class DiscErrorsCounted(Fact, frozen=True, kw_only=True):
    """The machine told of disc errors that it hadn't told of before, or began to count anew."""

    by: str
    """The reading (DISPLAY.READING), or the line of the error log."""
    count: int
    """How many more; 0 where the machine has begun to count anew."""
    stands_at: float = 0.0
    """Of a reading: what it says now."""
    entry: str = ""
    """Of an error log: its line."""


class ScriptRefused(Fact, frozen=True, kw_only=True):
    """A script was not started, or was ended early, because of a limit."""

    script: str
    limit: Limit
    why: str
    until_us: int = 0
    """When it may be started, by the recording's clock; 0: not today."""


class PackRemoved(Fact, frozen=True, kw_only=True):
    """A person confirmed that a pack is out of its drive."""

    label: str
    drive: str
    by: str
