"""Warns when the date will no longer fit a calendar of the machine, or a person will be asked about it."""

from __future__ import annotations

import datetime
from typing import Final

from exhibit.decisions.machine.calendars import doubt
from exhibit.decisions.machine.description import Calendar
from exhibit.facts.errors import ScriptError
from exhibit.folder.reading.machine import MachineDraft

AHEAD_DAYS: Final = 365
"""How far ahead to look: an engineer comes every few months (our own choice)."""


def check_calendars(machine: MachineDraft, today: datetime.date) -> None:
    """Add advice on each calendar that can't hold today's date, or soon won't; none may have a mistake."""
    for name, calendar in machine.calendars.items():
        if calendar.year == "ask":
            continue
        for ahead in range(AHEAD_DAYS + 1):
            day = today + datetime.timedelta(days=ahead)
            if problem := _problem_on(calendar, day):
                machine.table.advise(
                    ("calendars", name, "year"),
                    f"{'today' if ahead == 0 else f'from {day.isoformat()} on'} {problem}",
                    'another year for "latest", or year = "fixed 1985", or year = "ask"',
                )
                break


def _problem_on(calendar: Calendar, day: datetime.date) -> str:
    """Return what is wrong with the date that the machine would be given on that day; "" if nothing is."""
    noon = datetime.datetime.combine(day, datetime.time(12), datetime.UTC)
    try:
        asked = doubt(calendar, noon)
    except ScriptError:
        asked = {}
    if asked:
        return f"a person is asked: {asked['en'].rstrip('.')}"
    if calendar.year == "as it is" and not calendar.earliest <= day.year <= calendar.latest:
        return f"the year doesn't fit this calendar, which holds {calendar.earliest} to {calendar.latest}"
    return ""
