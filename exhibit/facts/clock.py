"""Arithmetic with times: the recording's scaled clock, and dates as they are written down.

Nothing here asks what time it is. The clock that does is exhibit.streams.pacing.RecordingClock.
Dates and times on disc are RFC 3339 texts with an offset, such as 2026-11-25T09:30:00.250+01:00.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta, timezone
from fractions import Fraction

from exhibit.facts.errors import RecordingFault

US_PER_S = 1_000_000
NS_PER_US = 1_000

# RFC 3339 section 5.6. datetime.fromisoformat takes much more than that, and no leap second.
_DATE_TIME = re.compile(
    r"(\d{4}-\d\d-\d\d)[Tt ]([01]\d|2[0-3]):([0-5]\d):([0-5]\d|60)(?:\.(\d+))?"
    r"([Zz]|[+-](?:[01]\d|2[0-3]):[0-5]\d)",
    re.ASCII,
)


def recording_us(real_ns: int, rate: float) -> int:
    """Whole microseconds on the recording's clock after `real_ns` nanoseconds of real time.

    Exact for any length of time, so that a clock asked twice never goes back.
    """
    return int(real_ns * Fraction(rate) // NS_PER_US)


def real_s(recording_us: int, rate: float) -> float:
    """Seconds of real time that `recording_us` microseconds of the recording's clock take."""
    return recording_us / (US_PER_S * rate)


def write_wall(moment: datetime) -> str:
    """Write a date and time down (RFC 3339 section 5.6), to the microsecond where it has any.

    Raises ValueError for a `moment` without an offset.
    """
    offset = moment.utcoffset()
    if offset is None:
        raise ValueError("a date and time without an offset from UTC means nothing to a later reader")
    # Offsets of before standard time had seconds, which RFC 3339 can't write.
    minutes = timedelta(minutes=offset // timedelta(minutes=1))
    if minutes != offset:
        moment = moment.astimezone(timezone(minutes))
    return moment.isoformat()


def read_wall(text: str) -> datetime:
    """Read a date and time that was written down (RFC 3339 section 5.6); a leap second is the second after.

    Digits beyond the microsecond are dropped. Raises RecordingFault if the text is no such date and time.
    """
    parts = _DATE_TIME.fullmatch(text)
    if parts is None:
        raise _no_date(text)
    date, hours, minutes, seconds, fraction, offset = parts.groups()
    micros = ((fraction or "") + "000000")[:6]
    leap = timedelta(seconds=1 if seconds == "60" else 0)
    whole = "59" if leap else seconds
    try:
        base = datetime.fromisoformat(f"{date}T{hours}:{minutes}:{whole}.{micros}{offset.upper()}")
        return base + leap
    except (ValueError, OverflowError) as error:
        raise _no_date(text) from error


def wall_at(opened_wall: str, at_us: int, rate: float) -> datetime:
    """The date and time at `at_us` of a recording that was opened at `opened_wall` with `rate`.

    It is reckoned with the offset of that moment: a change of summer time on the way doesn't show. Raises
    RecordingFault if the text is no date and time, or the sum is in no year that a calendar has.
    """
    opened = read_wall(opened_wall)
    try:
        return opened + timedelta(microseconds=int(at_us / Fraction(rate)))
    except (OverflowError, ValueError, ZeroDivisionError) as error:
        raise _no_date(opened_wall) from error


def stepped_us(steady_us: int, wall_us: int, allowed_us: int) -> int:
    """By how much the wall clock jumped, where it and the steady clock say how long something took.

    0 when they agree within `allowed_us`; above 0 when the wall clock went forward.
    """
    apart_us = wall_us - steady_us
    return apart_us if abs(apart_us) > allowed_us else 0


def _no_date(text: str) -> RecordingFault:
    return RecordingFault(
        f"A recording gives {text[:60]!r} as its date and time, and that is none.",
        "So nobody can tell when it was made.",
        "Look for another copy of the recording; everything else in it can still be read.",
    )
