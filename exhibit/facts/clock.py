"""Arithmetic with times: the recording's scaled clock, and dates and times as text.

Nothing here asks what time it is; exhibit.streams.pacing.RecordingClock does that.
On disc, dates and times are in RFC 3339 format with an offset, such as 2026-11-25T09:30:00.250+01:00.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta, timezone
from fractions import Fraction

from exhibit.facts.errors import RecordingFault

US_PER_S = 1_000_000
NS_PER_US = 1_000

# RFC 3339 section 5.6. datetime.fromisoformat accepts many other forms, and rejects leap seconds.
_DATE_TIME = re.compile(
    r"(\d{4}-\d\d-\d\d)[Tt ]([01]\d|2[0-3]):([0-5]\d):([0-5]\d|60)(?:\.(\d+))?"
    r"([Zz]|[+-](?:[01]\d|2[0-3]):[0-5]\d)",
    re.ASCII,
)


def recording_us(real_ns: int, rate: float) -> int:
    """Whole microseconds on the recording's clock after `real_ns` nanoseconds of real time.

    The arithmetic is exact for any length of time, so that a clock never goes back between two readings.
    """
    return int(real_ns * Fraction(rate) // NS_PER_US)


def real_s(recording_us: int, rate: float) -> float:
    """Seconds of real time that `recording_us` microseconds of the recording's clock take."""
    return recording_us / (US_PER_S * rate)


def write_wall(moment: datetime) -> str:
    """The date and time as text (RFC 3339 section 5.6), with microseconds unless they are 0.

    Raises ValueError for a `moment` without an offset.
    """
    offset = moment.utcoffset()
    if offset is None:
        raise ValueError("a date and time without an offset from UTC is ambiguous for a later reader")
    # Before standard time, offsets had seconds, which RFC 3339 can't express.
    minutes = timedelta(minutes=offset // timedelta(minutes=1))
    if minutes != offset:
        moment = moment.astimezone(timezone(minutes))
    return moment.isoformat()


def read_wall(text: str) -> datetime:
    """The date and time in this text (RFC 3339 section 5.6). A leap second counts as the next second.

    Digits beyond the microsecond are dropped. Raises RecordingFault if the text isn't a date and time.
    """
    parts = _DATE_TIME.fullmatch(text)
    if parts is None:
        raise _not_a_date(text)
    date, hours, minutes, seconds, fraction, offset = parts.groups()
    micros = ((fraction or "") + "000000")[:6]
    leap = timedelta(seconds=1 if seconds == "60" else 0)
    whole = "59" if leap else seconds
    try:
        base = datetime.fromisoformat(f"{date}T{hours}:{minutes}:{whole}.{micros}{offset.upper()}")
        return base + leap
    except (ValueError, OverflowError) as error:
        raise _not_a_date(text) from error


def wall_at(opened_wall: str, at_us: int, rate: float) -> datetime:
    """The date and time at `at_us` of a recording that was opened at `opened_wall` with `rate`.

    It has the offset that `opened_wall` has, even if summer time has begun or ended since. Raises
    RecordingFault if the text isn't a date and time, or the result is outside the years 1 to 9999.
    """
    opened = read_wall(opened_wall)
    try:
        return opened + timedelta(microseconds=int(at_us / Fraction(rate)))
    except (OverflowError, ValueError, ZeroDivisionError) as error:
        raise _not_a_date(opened_wall) from error


def stepped_us(steady_us: int, wall_us: int, allowed_us: int) -> int:
    """By how many microseconds the wall clock jumped; above 0 if it jumped forward.

    The arguments say how long the same stretch of time was by the steady clock and by the wall clock. The
    result is 0 if they agree within `allowed_us`.
    """
    difference_us = wall_us - steady_us
    return difference_us if abs(difference_us) > allowed_us else 0


def _not_a_date(text: str) -> RecordingFault:
    return RecordingFault(
        f"A recording gives {text[:60]!r} as a date and time, but that isn't one.",
        "So nobody can tell when it was made.",
        "Look for another copy of the recording; everything else in it can still be read.",
    )
