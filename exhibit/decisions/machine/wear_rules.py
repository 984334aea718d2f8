"""What a machine's folder says about wear: its exercisers, the signs of use, and the limits."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import msgspec

from exhibit.decisions.machine.pattern import Pattern
from exhibit.facts.units import MIN_US

LONGEST_MIN: Final = 100_000
"""About ten weeks. If the machine prints more minutes than this, the job counts as one without an end."""


class Exerciser(msgspec.Struct, frozen=True, kw_only=True):
    """A job that keeps a part busy."""

    name: str
    typed: Pattern
    """The command that begins it."""
    begun: str
    """The line that the machine prints when it has begun."""
    job: str
    """The name of the place in that line for the job's number."""
    minutes: str
    """The place, in that line or only in the command, for how many minutes it runs; empty: none."""
    ended: tuple[str, ...]
    """Lines and interruptions that mean it has ended; one with a place for the number ends only that job."""
    part: str
    writes: str
    """The drive that it writes to; empty: none."""
    longest_us: int | None
    """How long it runs at most if nobody stops it; None: until it is stopped."""
    because: str
    """Why it doesn't end by itself; empty where it does."""
    called: str = ""
    """What a listing or a line of `ended` calls its program; empty if unknown."""
    listed: tuple[str, ...] = ()
    """Lines, and tables as DISPLAY.READING, that list such a job with its number."""
    none_listed: tuple[str, ...] = ()
    """Lines that say that there is none, and tables that list all of them."""
    refused: tuple[str, ...] = ()
    """Lines and troubles with which the machine refuses the command, so that no job has begun."""

    def lasts_us(self, fields: Mapping[str, str]) -> int | None:
        """How long it runs if nobody stops it: the minutes in these fields, or `longest_us`; None: no end."""
        minutes = fields.get(self.minutes, "")
        if not minutes:
            return self.longest_us
        return round(float(minutes) * MIN_US) if float(minutes) <= LONGEST_MIN else None


class Marks(msgspec.Struct, frozen=True, kw_only=True):
    """The signs that a part was started or stopped: lines, interruptions, hands-on steps as SCRIPT.STEP."""

    started: tuple[str, ...] = ()
    stopped: tuple[str, ...] = ()


class ErrorSigns(msgspec.Struct, frozen=True, kw_only=True):
    """How the machine reports disc errors."""

    readings: tuple[str, ...] = ()
    """DISPLAY.READING: numbers that grow by one with each error."""
    lines: tuple[str, ...] = ()
    """Lines of the error log: each different one is an error."""
    anew: tuple[str, ...] = ()
    """Lines at which the readings start from zero again."""
    bring: tuple[str, ...] = ()
    """What an engineer should bring who comes because of disc errors."""


class Limits(msgspec.Struct, frozen=True, kw_only=True):
    """How much use is allowed. None: no limit."""

    hour_us: int | None = None
    """Exerciser time in any hour, in the museum's own time."""
    day_us: int | None = None
    """Exerciser time from midnight to midnight."""
    year_us: int | None = None
    """Exerciser time from New Year to New Year."""
    starts_a_day: int | None = None
    """Starts of each part in a day."""
    errors_a_day: int | None = None
    errors_an_hour: int | None = None
    """Disc errors per exerciser-hour of the day; less than one hour counts as one."""
    last_round_min: int | None = None
    """Minutes after midnight from which no round begins."""
    closes_min: int | None = None
    """Minutes after midnight from which only the closing runs."""
    last_round_before_doors_min: int | None = None
    """The same, so many minutes before the doors close that day."""
    closes_with_doors: bool = False
    """Only the closing runs from when the doors close, and all day if they stay closed."""
