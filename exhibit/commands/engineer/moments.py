"""Dates and times as an engineer writes them on the command line."""

from __future__ import annotations

from datetime import datetime

from exhibit.facts.clock import write_wall
from exhibit.facts.errors import SetUpFault


def now() -> datetime:
    """The date and time here, with its offset from UTC, without fractions of a second."""
    return datetime.now().astimezone().replace(microsecond=0)


def wall_of(text: str, at: datetime) -> str:
    """The date and time (RFC 3339) in a text such as "2026-11-25 14:30" or "14:30"; `at` if it is empty.

    A time alone is on the day of `at`, and a text without an offset is in its zone, as summer time was then.
    Raises SetUpFault for anything else, and for what is later than `at`.
    """
    if not text:
        return write_wall(at)
    try:
        dated = text if "-" in text else f"{at:%Y-%m-%d} {text}"
        moment = datetime.fromisoformat(dated)
        moment = moment if moment.utcoffset() is not None else moment.astimezone()
        if moment > at:
            raise ValueError
        return write_wall(moment)
    except (ValueError, OverflowError) as error:
        raise SetUpFault(
            f"{text!r} is not a date and time in the past.",
            "What is written down stays in the record with its time.",
            'Write it as "2026-11-25 14:30", or "14:30" for today.',
        ) from error
