"""The dates that are told to systems which can't hold this year.

The rule and its figures: references for this project, section 10 (recomputed from the Gregorian
calendar); checked here against Python's own calendar, which is written independently of it.
"""

from __future__ import annotations

import calendar
import datetime

import pytest

from exhibit.decisions.calendar_dates import MONTHS, date_told, stand_in_year, year_told
from exhibit.decisions.machine import Calendar
from exhibit.facts.errors import ScriptError

LATEST = 1999


def system(year="stand-in", earliest=1970, latest=LATEST, written="{day}.{month}.{year}", fixed_year=0):
    return Calendar(
        name="tall", year=year, fixed_year=fixed_year, earliest=earliest, latest=latest, written=written
    )


def told(written: str, moment: datetime.datetime, **changes) -> str:
    return date_told(system(written=written, **changes), moment)


def moment(year, month, day, hour=9, minute=5):
    return datetime.datetime(year, month, day, hour, minute, tzinfo=datetime.UTC)


def every_day_with_its_weekday(year: int) -> list:
    return calendar.Calendar().yeardays2calendar(year)


@pytest.mark.parametrize("year", range(2000, 2100))
def test_a_stand_in_year_has_the_same_weekday_for_every_day(year):
    stand_in = stand_in_year(year, LATEST)
    assert 1972 <= stand_in <= 1999
    assert (year - stand_in) % 28 == 0
    assert every_day_with_its_weekday(stand_in) == every_day_with_its_weekday(year)


@pytest.mark.parametrize("year", range(2000, 2100))
@pytest.mark.parametrize("latest", [1989, 1999, 2027])
def test_the_stand_in_is_the_latest_year_that_will_do(year, latest):
    stand_in = stand_in_year(year, latest)
    assert stand_in <= latest
    assert year <= latest or stand_in + 28 > latest
    assert every_day_with_its_weekday(stand_in) == every_day_with_its_weekday(year)


@pytest.mark.parametrize(
    ("year", "stand_in"),
    [
        (2000, 1972), (2024, 1996), (2026, 1998), (2027, 1999), (2028, 1972),
        (2055, 1999), (2056, 1972), (2083, 1999), (2084, 1972), (2099, 1987),
    ],
)  # fmt: skip
def test_the_published_examples(year, stand_in):
    assert stand_in_year(year, LATEST) == stand_in


@pytest.mark.parametrize("year", range(2000, 2100))
def test_the_closed_form_for_1999(year):
    # s = y - 28 * ceil((y - 1999) / 28), references section 10
    assert stand_in_year(year, 1999) == year - 28 * ((year - 1999 + 27) // 28)


def test_beyond_2099_the_rule_no_longer_holds():
    # 2100 is no leap year: the rule would tell 1988, which is one.
    assert calendar.isleap(stand_in_year(2100, LATEST))
    assert not calendar.isleap(2100)


def test_25_november_2026_is_told_as_a_wednesday_in_1998():
    assert told("{day}.{month}.{year}", moment(2026, 11, 25)) == "25.11.1998"
    assert datetime.date(2026, 11, 25).weekday() == datetime.date(1998, 11, 25).weekday() == 2
    assert told("{day of year} {year}", moment(2026, 11, 25), latest=1989) == "329 1970"


def test_the_29th_of_february_is_told_as_such():
    assert told("{day of year}-{year of century}", moment(2000, 2, 29)) == "60-72"
    assert datetime.date(2000, 2, 29).weekday() == datetime.date(1972, 2, 29).weekday() == 1


def test_every_place_can_be_written():
    written = "{day}|{month}|{month name}|{year}|{year of century}|{day of year}|{hour}|{minute}"
    assert told(written, moment(2026, 3, 4, 7, 8)) == "4|3|MARCH|1998|98|63|07|08"


def test_the_months_are_those_of_the_calendar():
    assert list(MONTHS) == [name.upper() for name in calendar.month_name[1:]]


@pytest.mark.parametrize("year", [1970, 1985, 1999])
def test_a_year_that_the_system_can_hold_is_told_as_it_is(year):
    assert year_told(system(), year) == year


def test_a_fixed_year_is_told_whatever_the_year():
    assert told("{day}.{month}.{year}", moment(2026, 11, 25), year="fixed", fixed_year=1985) == "25.11.1985"


def test_a_fixed_year_without_a_leap_day_is_told_the_28th():
    assert told("{day}.{month}.{year}", moment(2028, 2, 29), year="fixed", fixed_year=1985) == "28.2.1985"


@pytest.mark.parametrize(
    "changes",
    [
        {"year": "as it is"},
        {"earliest": 1999},
        {"earliest": 1980, "latest": 1989},
        {"year": "fixed", "fixed_year": 2005},
    ],
)
def test_a_year_that_cant_be_told_is_said_and_never_typed(changes):
    with pytest.raises(ScriptError, match="tall") as fault:
        told("{year}", moment(2026, 11, 25), **changes)
    assert fault.value.do
