"""On which days the museum opens its doors, and from when to when.

    hours.on(date)              # the hours of that day; None if the doors stay closed
    hours.days(date, 31)        # of a month, as they go into a recording

Times are wall times of the museum's computer: doors open at ten whether or not the clock was put forward that
night. Repeated days follow RFC 5545, section 3.3.10.
"""

from __future__ import annotations

import datetime
from typing import Final

import msgspec
from dateutil import rrule

from exhibit.facts.visitor_words import DayHours, OpenHours

Week = tuple[OpenHours | None, ...]
_ONE_DAY: Final = datetime.timedelta(days=1)


class OtherHours(msgspec.Struct, frozen=True, kw_only=True):
    """Days with hours of their own: from `first` to `last`, or those of a rule that counts from `first`."""

    first: datetime.date
    last: datetime.date
    repeats: str = ""
    """A rule of RFC 5545, such as FREQ=MONTHLY;BYDAY=1TU; empty for the days from `first` to `last` only."""
    hours: OpenHours | None
    """None: the doors stay closed."""

    def fits(self, date: datetime.date) -> bool:
        """Whether they are the hours of this date."""
        if not self.repeats:
            return self.first <= date <= self.last
        start, day = _midnight(self.first), _midnight(date)
        return bool(rrule.rrulestr(self.repeats, dtstart=start).between(day, day, inc=True))


class OpeningHours(msgspec.Struct, frozen=True, kw_only=True):
    """The hours of each weekday, Monday first, and the days that have others; the last of these counts."""

    week: Week
    others: tuple[OtherHours, ...] = ()

    def on(self, date: datetime.date) -> OpenHours | None:
        """The hours of this date; None if the doors stay closed."""
        for other in reversed(self.others):
            if other.fits(date):
                return other.hours
        return self.week[date.weekday()]

    def days(self, first: datetime.date, count: int) -> list[DayHours]:
        """The hours of so many days from `first`."""
        days: list[DayHours] = []
        for number in range(count):
            date = first + number * _ONE_DAY
            hours = self.on(date)
            opens, closes = (hours.opens, hours.closes) if hours is not None else ("", "")
            days.append(DayHours(date=date.isoformat(), opens=opens, closes=closes))
        return days


def _midnight(date: datetime.date) -> datetime.datetime:
    return datetime.datetime.combine(date, datetime.time())
