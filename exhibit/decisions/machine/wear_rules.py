"""What a machine's folder says of wear: what exercises it, how its use is told, and the limits for it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import msgspec

from exhibit.decisions.machine.pattern import Pattern
from exhibit.facts.units import MIN_US

LONGEST_MIN: Final = 100_000
"""More minutes than ten weeks have are no end, whatever the machine has printed."""


class Exerciser(msgspec.Struct, frozen=True, kw_only=True):
    """A job that keeps a part busy."""

    name: str
    typed: Pattern
    """The command that begins it."""
    begun: str
    """The line that says it has begun."""
    job: str
    """The place in that line for the job's number."""
    minutes: str
    """The place in that line, and in the command, for the minutes that it goes on; empty: none."""
    ended: tuple[str, ...]
    """Lines and interruptions that say it has ended. One with a place for the number is about that job."""
    part: str
    writes: str
    """The drive on which it writes; empty: on none."""
    longest_us: int | None
    """So long it goes on by itself, at most; None: until it is stopped."""
    because: str
    """Why it doesn't end by itself; empty where it does."""

    def lasts_us(self, fields: Mapping[str, str]) -> int | None:
        """For how long it goes on by itself: the minutes among these fields, or the longest; None: no end."""
        minutes = fields.get(self.minutes, "")
        if not minutes:
            return self.longest_us
        return round(float(minutes) * MIN_US) if float(minutes) <= LONGEST_MIN else None


class Marks(msgspec.Struct, frozen=True, kw_only=True):
    """How it is told that a part was started and stopped: lines, interruptions and SCRIPT.STEP."""

    started: tuple[str, ...] = ()
    stopped: tuple[str, ...] = ()


class ErrorSigns(msgspec.Struct, frozen=True, kw_only=True):
    """How the machine tells of disc errors."""

    readings: tuple[str, ...] = ()
    """DISPLAY.READING: a number that grows by one for each."""
    lines: tuple[str, ...] = ()
    """Lines of the error log: each different one is an error."""
    anew: tuple[str, ...] = ()
    """Lines at which the readings begin at nothing."""


class Limits(msgspec.Struct, frozen=True, kw_only=True):
    """What may be asked of the machine. None: no limit."""

    hour_us: int | None = None
    """Exerciser time in any hour."""
    day_us: int | None = None
    """Exerciser time from midnight to midnight."""
    year_us: int | None = None
    """Exerciser time from New Year to New Year."""
    starts_a_day: int | None = None
    """Of each part."""
    errors_a_day: int | None = None
    errors_an_hour: int | None = None
    """Disc errors for each exerciser-hour of the day; less than one such hour counts as one."""
    last_round_min: int | None = None
    """Minutes after midnight: from then on no round begins."""
    closes_min: int | None = None
    """Minutes after midnight: from then on nothing goes on but the closing."""
