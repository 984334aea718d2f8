"""Says when a calendar of the machine can no longer be told the date, or a person will be asked about it."""

from __future__ import annotations

import datetime
from typing import Final

from exhibit.decisions.machine.calendars import doubt
from exhibit.decisions.machine.description import Calendar
from exhibit.facts.errors import ScriptError
from exhibit.folder.reading.machine import MachineDraft

AHEAD_DAYS: Final = 365
"""So far ahead is looked: an engineer comes every few months (our own choice)."""


def check_calendars(machine: MachineDraft, today: datetime.date) -> None:
    """Advise on each calendar that doesn't hold today's date, or soon won't. None may have a mistake."""
    for name, calendar in machine.calendars.items():
        if calendar.year == "ask":
            continue
        for ahead in range(AHEAD_DAYS + 1):
            day = today + datetime.timedelta(days=ahead)
            if said := _wrong_on(calendar, day):
                machine.table.advise(
                    ("calendars", name, "year"),
                    f"{'today' if ahead == 0 else f'from {day.isoformat()} on'} {said}",
                    'another year for "latest", or year = "fixed 1985", or "ask"',
                )
                break


def _wrong_on(calendar: Calendar, day: datetime.date) -> str:
    """What is wrong with the date that the calendar is told on that day; empty if nothing is."""
    noon = datetime.datetime.combine(day, datetime.time(12), datetime.UTC)
    try:
        asked = doubt(calendar, noon)
    except ScriptError:
        asked = {}
    if asked:
        return f"a person is asked: {asked['en'].rstrip('.')}"
    if calendar.year == "as it is" and not calendar.earliest <= day.year <= calendar.latest:
        return (
            f"this calendar can't be told the year, since it holds {calendar.earliest} to {calendar.latest}"
        )
    return ""
