"""Arithmetic with times: the recording's scaled clock, and dates as they are written down.

Nothing here asks what time it is. The clock that does is exhibit.streams.pacing.RecordingClock.
Dates and times on disc are RFC 3339 texts with an offset, such as 2026-11-25T09:30:00.250+01:00.
"""

from __future__ import annotations

from datetime import datetime

US_PER_S = 1_000_000


def recording_us(real_ns: int, rate: float) -> int:
    """Microseconds on the recording's clock after `real_ns` nanoseconds of real time."""
    raise NotImplementedError


def real_s(recording_us: int, rate: float) -> float:
    """Seconds of real time that `recording_us` microseconds of the recording's clock take."""
    raise NotImplementedError


def write_wall(moment: datetime) -> str:
    """Write a date and time down (RFC 3339 section 5.6), to the microsecond where it has any.

    Raises ValueError for a `moment` without an offset.
    """
    raise NotImplementedError


def read_wall(text: str) -> datetime:
    """Read a date and time that was written down (RFC 3339 section 5.6); a leap second is the second after.

    Raises RecordingFault if it is none.
    """
    raise NotImplementedError


def wall_at(opened_wall: str, at_us: int, rate: float) -> datetime:
    """The date and time at `at_us` of a recording that was opened at `opened_wall` with `rate`."""
    raise NotImplementedError


def stepped_us(steady_us: int, wall_us: int, allowed_us: int) -> int:
    """By how much the wall clock jumped, where it and the steady clock say how long something took.

    0 when they agree within `allowed_us`; above 0 when the wall clock went forward.
    """
    raise NotImplementedError
