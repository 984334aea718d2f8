"""The date to give a system that can't handle this year, and when a person must be asked about it first."""

from __future__ import annotations

import calendar as calendar_of
import datetime
from typing import Final

from exhibit.decisions.machine.description import Calendar
from exhibit.facts.errors import ScriptError
from exhibit.facts.kinds import Words

CYCLE_YEARS = 28
"""Weekdays and leap years repeat every 28 years, except across a century year that isn't a leap year: so
from 1901 to 2099 (the Gregorian rule)."""

MONTHS = (
    *("JANUARY", "FEBRUARY", "MARCH", "APRIL", "MAY", "JUNE"),
    *("JULY", "AUGUST", "SEPTEMBER", "OCTOBER", "NOVEMBER", "DECEMBER"),
)
WEEKDAYS = ("MONDAY", "TUESDAY", "WEDNESDAY", "THURSDAY", "FRIDAY", "SATURDAY", "SUNDAY")
PLACES: Final = (
    "day",
    "month",
    "month name",
    "year",
    "year of century",
    "day of year",
    "hour",
    "minute",
    "weekday",
    "month in letters",
    "day in two figures",
    "month in two figures",
    "day of year in three figures",
)
"""The places that a calendar's template can have."""
LETTERS: Final = 3
_DAY: Final = datetime.timedelta(days=1)
_NO_SAYS: Final = {
    "en": "If you aren't sure, say no: then nothing is typed. Ask the engineer.",
    "de": "Im Zweifel antworten Sie mit no: dann wird nichts getippt. Fragen Sie die Technik.",
}


class DateInDoubt(ScriptError):
    """A person must agree to the date before it is typed. `words` ask for that, in two languages."""

    def __init__(self, calendar: str, words: Words) -> None:
        self.words = {tag: f"{text} {_NO_SAYS[tag]}" for tag, text in words.items()}
        super().__init__(
            f"Nobody has agreed that the machine's {calendar} calendar is given this date.",
            words["en"],
            "Answer when you are asked, or set another rule in machine.toml.",
        )


def stand_in_year(year: int, latest: int) -> int:
    """The latest year, not after `latest`, with the weekdays and the leap day of `year` (1901 to 2099)."""
    if year <= latest:
        return year
    return year - CYCLE_YEARS * -(-(year - latest) // CYCLE_YEARS)


def year_for(calendar: Calendar, year: int) -> int:
    """The year to give this system in the year `year`; with some rules a person must agree to it.

    If no stand-in lies in its range, it is the latest year there with the same weekdays and leap day or,
    failing that, the latest of all. Raises ScriptError if the rule gives a year out of range.
    """
    if calendar.year == "fixed":
        machine_year = calendar.fixed_year
    elif calendar.year == "as it is":
        machine_year = year
    else:
        machine_year = stand_in_year(year, calendar.latest)
        if machine_year < calendar.earliest:
            years = range(calendar.latest, calendar.earliest - 1, -1)
            machine_year = next((one for one in years if _kind_of(one) == _kind_of(year)), calendar.latest)
    if not calendar.earliest <= machine_year <= calendar.latest:
        raise ScriptError(
            f"The machine's {calendar.name} calendar has no year for {year}.",
            f"It can handle {calendar.earliest} to {calendar.latest}, and its rule gives {machine_year}.",
            f'Ask the engineer to set another year for "{calendar.name}" in machine.toml.',
        )
    return machine_year


def _kind_of(year: int) -> tuple[int, bool]:
    """The kind of year, one of fourteen: the weekday on which it begins, and whether it has a leap day."""
    return datetime.date(year, 1, 1).weekday(), calendar_of.isleap(year)


def doubt(calendar: Calendar, now: datetime.datetime) -> Words:
    """The question that a person must answer before this date is typed, in two languages; empty: none.

    A person is asked about a stand-in year that is out of the system's range; on the last day before its
    time runs backwards (31 December 2027: 1999 is followed by 1972), because a machine that is left on runs
    past midnight; and all through the year after that, because its files are then younger than its date.
    A date that is written without a year needs no question.
    """
    if calendar.year not in ("stand-in", "ask") or "{year" not in calendar.template:
        return {}
    date_text = date_for(calendar, now, agreed=True)
    earliest, latest = calendar.earliest, calendar.latest
    before, machine_year, after = (
        stand_in_year(year, latest) for year in (now.year - 1, now.year, (now + _DAY).year)
    )
    if machine_year < earliest:
        near = year_for(calendar, now.year)
        same = _kind_of(near) == _kind_of(now.year)
        why = (
            f"No year a multiple of 28 years back is within {earliest} to {latest}. {near} has "
            + (f"the weekdays of {now.year}, and other leap years after it." if same else "other weekdays."),
            f"Kein Jahr, das ein Vielfaches von 28 zurückliegt, ist von {earliest} bis {latest}. {near} hat "
            + (
                f"die Wochentage von {now.year}, und danach andere Schaltjahre."
                if same
                else "andere Wochentage."
            ),
        )
    elif machine_year < before:
        why = (
            f"Last year its date was in {before}. What it wrote then is younger: its time runs backwards.",
            f"Im vorigen Jahr war es {before}. Was sie da schrieb, ist jünger: ihre Zeit läuft rückwärts.",
        )
    elif after < machine_year:
        why = (
            f"It must be off before midnight: tomorrow its year is {after}, and its time runs backwards.",
            f"Vor Mitternacht muss sie aus sein: morgen ist es {after}, und ihre Zeit läuft rückwärts.",
        )
    elif calendar.year == "ask":
        why = ("", "")
    else:
        return {}
    return {
        "en": f"Say yes if the machine may be given the date {date_text}. {why[0]}".strip(),
        "de": f"Antworten Sie mit yes, wenn das Datum {date_text} eingegeben werden darf. {why[1]}".strip(),
    }


def date_for(calendar: Calendar, now: datetime.datetime, *, agreed: bool = False) -> str:
    """The date and time as this system wants them written.

    On 29 February, a year without a leap day gets 28 February. `agreed`: a person has agreed to the date.
    Raises DateInDoubt if a person must be asked first, and ScriptError as `year_for` does.
    """
    machine_year = year_for(calendar, now.year)
    if not agreed and (words := doubt(calendar, now)):
        raise DateInDoubt(calendar.name, words)
    try:
        date = now.replace(year=machine_year)
    except ValueError:
        date = now.replace(year=machine_year, day=28)
    day_of_year = date.timetuple().tm_yday
    values = {
        "day": f"{date.day}",
        "month": f"{date.month}",
        "month name": MONTHS[date.month - 1],
        "year": f"{date.year}",
        "year of century": f"{date.year % 100:02}",
        "day of year": f"{day_of_year}",
        "hour": f"{date.hour:02}",
        "minute": f"{date.minute:02}",
        "weekday": WEEKDAYS[date.weekday()],
        "month in letters": MONTHS[date.month - 1][:LETTERS],
        "day in two figures": f"{date.day:02}",
        "month in two figures": f"{date.month:02}",
        "day of year in three figures": f"{day_of_year:03}",
    }
    text = calendar.template
    for name in PLACES:
        text = text.replace(f"{{{name}}}", values[name])
    return text
