"""Opening hours by weekday and on other days; repeated days are the worked examples of RFC 5545, 3.8.5.3."""

from __future__ import annotations

import datetime

import pytest

from exhibit.decisions.machine.opening_hours import OpeningHours, OtherHours
from exhibit.facts.visitor_words import DayHours, OpenHours

pytestmark = pytest.mark.pure

TEN_TO_FIVE = OpenHours(opens="10:00", closes="17:00")
SHORT = OpenHours(opens="10:00", closes="14:00")
WEEK = (None, *[TEN_TO_FIVE] * 6)


def date(text: str) -> datetime.date:
    return datetime.date.fromisoformat(text)


def other(first: str, last: str = "", repeats: str = "", hours: OpenHours | None = None) -> OtherHours:
    return OtherHours(first=date(first), last=date(last or first), repeats=repeats, hours=hours)


def test_each_weekday_has_its_hours():
    hours = OpeningHours(week=WEEK)
    assert hours.on(date("2026-11-30")) is None  # a Monday
    assert hours.on(date("2026-12-01")) == TEN_TO_FIVE


def test_other_days_count_before_the_week_and_the_last_of_them_first():
    closed, eve = other("2026-12-24", "2027-01-01"), other("2026-12-31", hours=SHORT)
    hours = OpeningHours(week=WEEK, others=(closed, eve))
    found = [hours.on(date(day)) for day in ("2026-12-23", "2026-12-24", "2026-12-31", "2027-01-02")]
    assert found == [TEN_TO_FIVE, None, SHORT, TEN_TO_FIVE]


@pytest.mark.parametrize(
    ("first", "rule", "dates"),
    [
        ("1997-08-05", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO", "08-05 08-10 08-19 08-24"),
        ("1997-08-05", "FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU", "08-05 08-17 08-19 08-31"),
        ("1997-09-05", "FREQ=MONTHLY;COUNT=10;BYDAY=1FR", "09-05 10-03 11-07 12-05"),
        ("1997-09-29", "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2", "09-29 10-30 11-27 12-30"),
        ("1997-09-02", "FREQ=DAILY;COUNT=3", "09-02 09-03 09-04"),
    ],
)
def test_repeated_days_are_those_of_the_standard(first: str, rule: str, dates: str):
    hours = OpeningHours(week=(TEN_TO_FIVE,) * 7, others=(other(first, repeats=rule),))
    year = [date("1997-01-01") + datetime.timedelta(days=number) for number in range(365)]
    assert [f"{day:%m-%d}" for day in year if hours.on(day) is None] == dates.split()


@pytest.mark.parametrize(
    ("first", "rule", "dates"),
    [
        ("1997-09-02", "FREQ=DAILY;COUNT=10", [f"1997-09-{day:02}" for day in range(2, 12)]),
        (
            "1997-09-02",
            "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
            ["1998-02-13", "1998-03-13", "1998-11-13", "1999-08-13", "2000-10-13"],
        ),
        (
            "1997-09-04",
            "FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3",
            ["1997-09-04", "1997-10-07", "1997-11-06"],
        ),
        (
            "1997-09-29",
            "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2;COUNT=7",
            [
                "1997-09-29",
                "1997-10-30",
                "1997-11-27",
                "1997-12-30",
                "1998-01-29",
                "1998-02-26",
                "1998-03-30",
            ],
        ),
        ("1997-05-19", "FREQ=YEARLY;BYDAY=20MO;COUNT=3", ["1997-05-19", "1998-05-18", "1999-05-17"]),
        (
            "1996-11-05",
            "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8;COUNT=3",
            ["1996-11-05", "2000-11-07", "2004-11-02"],
        ),
    ],
)
def test_rules_that_go_on_for_years_are_those_of_the_standard(first: str, rule: str, dates: list[str]):
    rules = other(first, repeats=rule)
    begins, days = date(first), (date(dates[-1]) - date(first)).days + 1
    assert days < 4000
    fitting = [begins + datetime.timedelta(days=number) for number in range(days)]
    fitting = [day for day in fitting if day.isoformat() in dates or day.day % 3 == 1]
    assert [day.isoformat() for day in fitting if rules.fits(day)] == dates


def test_the_thirtieth_of_february_is_left_out_and_not_moved():
    hours = OpeningHours(
        week=(TEN_TO_FIVE,) * 7,
        others=(other("2007-01-15", repeats="FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5"),),
    )
    days = hours.days(date("2007-01-01"), 120)
    assert [day.date for day in days if not day.opens] == [
        "2007-01-15", "2007-01-30", "2007-02-15", "2007-03-15", "2007-03-30",
    ]  # fmt: skip


def test_days_in_a_row_are_as_many_as_asked_for_whatever_the_clock_does_that_night():
    hours = OpeningHours(week=WEEK)
    days = hours.days(date("2026-03-28"), 3)  # in London the clock goes forward on the 29th
    assert days == [
        DayHours(date="2026-03-28", opens="10:00", closes="17:00"),
        DayHours(date="2026-03-29", opens="10:00", closes="17:00"),
        DayHours(date="2026-03-30", opens="", closes=""),
    ]
