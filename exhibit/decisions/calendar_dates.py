"""The date that we tell a system which can't hold this year."""

from __future__ import annotations

import datetime

from exhibit.decisions.machine import Calendar
from exhibit.facts.errors import ScriptError

CYCLE_YEARS = 28
"""Weekdays and leap years repeat after 28 years as long as no century year that isn't a leap year lies
between: here 1901 to 2099 (the Gregorian rule)."""

MONTHS = (
    *("JANUARY", "FEBRUARY", "MARCH", "APRIL", "MAY", "JUNE"),
    *("JULY", "AUGUST", "SEPTEMBER", "OCTOBER", "NOVEMBER", "DECEMBER"),
)


def stand_in_year(year: int, latest: int) -> int:
    """The latest year, not after `latest`, with the weekdays and the leap day of `year` (1901 to 2099)."""
    if year <= latest:
        return year
    return year - CYCLE_YEARS * -(-(year - latest) // CYCLE_YEARS)


def year_told(calendar: Calendar, year: int) -> int:
    """The year that this system is told in the year `year`.

    Raises ScriptError when no allowed year does.
    """
    if calendar.year == "fixed":
        told = calendar.fixed_year
    elif calendar.year == "stand-in":
        told = stand_in_year(year, calendar.latest)
    else:
        told = year
    if not calendar.earliest <= told <= calendar.latest:
        raise ScriptError(
            f"The machine's {calendar.name} calendar can't be told a year for {year}.",
            f"It holds {calendar.earliest} to {calendar.latest}, and its rule gives {told}.",
            f'Ask the engineer to set another year for "{calendar.name}" in machine.toml.',
        )
    return told


def date_told(calendar: Calendar, now: datetime.datetime) -> str:
    """The date and time as this system wants them written.

    On 29 February a fixed year without a leap day is told 28 February. Raises ScriptError as
    `year_told` does.
    """
    told = year_told(calendar, now.year)
    try:
        date = now.replace(year=told)
    except ValueError:
        date = now.replace(year=told, day=28)
    values = {
        "day": f"{date.day}",
        "month": f"{date.month}",
        "month name": MONTHS[date.month - 1],
        "year": f"{date.year}",
        "year of century": f"{date.year % 100:02}",
        "day of year": f"{date.timetuple().tm_yday}",
        "hour": f"{date.hour:02}",
        "minute": f"{date.minute:02}",
    }
    text = calendar.written
    for name, value in values.items():
        text = text.replace(f"{{{name}}}", value)
    return text
