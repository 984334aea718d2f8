"""Reads when the doors open: [hours] of day.toml, by weekday, with the days that have others."""

from __future__ import annotations

import datetime
import re
import zoneinfo
from typing import Final

from dateutil import rrule

from exhibit.decisions.machine.opening_hours import OpeningHours, OtherHours
from exhibit.facts.visitor_words import OpenHours
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import ValueMistake

CLOSED: Final = "none"
EVERY_DAY: Final = "every_day"
WEEKDAYS: Final = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
ONCE: Final = "none"
OF_THE_COMPUTER: Final = "computer"
_OPEN: Final = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9]) to ([01]?[0-9]|2[0-3]):([0-5][0-9])")
_DAYS: Final = re.compile(r"(\d{4}-\d\d-\d\d)(?: to (\d{4}-\d\d-\d\d))?")
_RULE: Final = re.compile(r"FREQ=(DAILY|WEEKLY|MONTHLY|YEARLY)(;[A-Z]+=[A-Z0-9,+-]+)*")
"""Only what repeats by days: a rule by seconds would have to be counted through for years."""
_EXAMPLE_RULE: Final = '"FREQ=MONTHLY;BYDAY=1TU" for each first Tuesday'


def read_zone(table: Table) -> str:
    """Read the zone of [hours]; "" for that of the computer. To be read before the hours."""
    return table.read("zone", "Europe/London", "", _zone, default=OF_THE_COMPUTER)


def read_hours(table: Table) -> OpeningHours | None:
    """Read [hours]; None if nothing is written. Adds mistakes to the table."""
    usual = table.text(EVERY_DAY, "10:00 to 17:00", default=CLOSED)
    every_day = table.read(EVERY_DAY, "10:00 to 17:00", None, open_hours, default=CLOSED)
    week = tuple(table.read(day, "10:00 to 17:00", None, open_hours, default=usual) for day in WEEKDAYS)
    others = tuple(found for other in table.tables("other", optional=True) if (found := _other(other)))
    table.close()
    return OpeningHours(week=week, others=others) if every_day or any(week) or others else None


def _other(table: Table) -> OtherHours | None:
    days = table.read("on", "2026-12-24 to 2026-12-26", None, _days)
    repeats = table.read("repeats", "FREQ=YEARLY", "", _rule, default=ONCE)
    hours = table.read("open", "10:00 to 14:00", None, open_hours)
    table.close()
    if days is None:
        return None
    first, last = days
    if repeats and first != last:
        what = "days that repeat begin with one day, from which the rule counts"
        table.wrong("on", what, f'on = "{first}"')
    return OtherHours(first=first, last=last, repeats=repeats, hours=hours)


def open_hours(text: str) -> OpenHours | None:
    """Return the hours of "10:00 to 17:00"; None for "none". Raises ValueMistake."""
    if text == CLOSED:
        return None
    found = _OPEN.fullmatch(text)
    if found is None:
        what = f'"{text}" doesn\'t say when the doors open and close'
        raise ValueMistake(what, f'"10:00 to 17:00", or "{CLOSED}"')
    opens, closes = (f"{int(found[at]):02}:{found[at + 1]}" for at in (1, 3))
    if opens >= closes:
        raise ValueMistake(f'"{text}" ends before it begins', f'"{closes} to {opens}", if that is meant')
    return OpenHours(opens=opens, closes=closes)


def _zone(text: str) -> str:
    if text == OF_THE_COMPUTER:
        return ""
    try:
        zoneinfo.ZoneInfo(text)
    except (KeyError, ValueError, OSError):  # the library raises any of these
        what = f'this computer knows no zone named "{text}"'
        raise ValueMistake(
            what, f'"Europe/London", or "{OF_THE_COMPUTER}" for that of this computer'
        ) from None
    return text


def _days(text: str) -> tuple[datetime.date, datetime.date]:
    found = _DAYS.fullmatch(text)
    try:
        if found is None:
            raise ValueError
        first = datetime.date.fromisoformat(found[1])
        last = datetime.date.fromisoformat(found[2] or found[1])
    except ValueError:
        write = '"2026-12-24", or "2026-12-24 to 2026-12-26"'
        raise ValueMistake(f'"{text}" is not a day, nor a span of days', write) from None
    if last < first:
        raise ValueMistake(f'"{text}" ends before it begins', f'"{last} to {first}", if that is meant')
    return first, last


def _rule(text: str) -> str:
    if text == ONCE:
        return ""
    try:
        if _RULE.fullmatch(text) is None:
            raise ValueError
        rrule.rrulestr(text, dtstart=datetime.datetime(2026, 1, 1))  # noqa: DTZ001 - a wall time
    except (ValueError, TypeError, KeyError, IndexError, AttributeError):  # the library raises any of these
        what = f'"{text}" is not a rule that repeats by days, months or years (RFC 5545)'
        raise ValueMistake(what, f'{_EXAMPLE_RULE}, or "{ONCE}"') from None
    return text
