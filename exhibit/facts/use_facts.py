"""Facts about wear: what exercised a part, what was started and stopped, which disc errors occurred.

Some are about jobs that may be running although the machine never said so in full:
JobAsked -> ExerciserBegun, with the same number in `asked`
         -> JobInDoubt -> JobListed -> JobDoubtOver
"""

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
    "part stopped",
]
"""The limits that can keep a script from running."""
DoubtEnd = Literal["refused", "ended", "not listed", "a person"]
"""How it became known that a job isn't running: the machine refused the command, or printed that the job has
ended, or a listing didn't contain it, or a person said so."""


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


class JobAsked(Fact, frozen=True, kw_only=True):
    """RETURN was typed after a command that starts a job. Until the machine reports it, it may be running."""

    asked: int
    """Its number among the jobs that were asked for; 1 or more."""
    exercisers: list[str]
    """Which exerciser it is; several if the command fits several."""
    command: str
    by: str
    """Who typed the command."""
    ends_us: int
    """When it ends by itself at the latest, by the recording's clock; 0 if it doesn't."""


class JobInDoubt(Fact, frozen=True, kw_only=True):
    """A job may be running, and the machine hasn't said so in full; or it isn't known which exerciser it is.

    It stays in doubt until JobDoubtOver, or until the line that says that it has begun arrives after all.
    """

    asked: int
    exercisers: list[str]
    command: str
    """The command that asked for it; empty if nobody typed it on this line."""
    by: str
    why: str
    job: str = ""
    """The number that the machine gave it; empty if unknown."""
    ends_us: int = 0
    """When it ends by itself at the latest, by the recording's clock; 0 if it doesn't."""


class JobListed(Fact, frozen=True, kw_only=True):
    """A listing of jobs showed the number of a job in doubt. It may be running, or may have ended."""

    asked: int
    job: str
    by: str
    """The line, or the table as DISPLAY.READING."""


class JobDoubtOver(Fact, frozen=True, kw_only=True):
    """It is known that a job that was asked for, or was in doubt, isn't running."""

    asked: int
    how: DoubtEnd
    by: str
    """The line, the trouble, the interruption, the table (DISPLAY.READING) or the person."""
