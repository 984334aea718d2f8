"""The dates that are told to systems which can't hold this year.

The rule and its figures: references for this project, section 10 (recomputed from the Gregorian
calendar); checked here against Python's own calendar, which is written independently of it.
"""

from __future__ import annotations

import calendar
import datetime

import pytest

from exhibit.decisions.machine.calendars import (
    MONTHS,
    PLACES,
    WEEKDAYS,
    DateInDoubt,
    date_for,
    doubt,
    stand_in_year,
    year_for,
)
from exhibit.decisions.machine.description import Calendar
from exhibit.facts.errors import ScriptError

LATEST = 1999


def system(year="stand-in", earliest=1970, latest=LATEST, template="{day}.{month}.{year}", fixed_year=0):
    return Calendar(
        name="tall", year=year, fixed_year=fixed_year, earliest=earliest, latest=latest, template=template
    )


def told(template: str, moment: datetime.datetime, agreed: bool = True, **changes) -> str:
    return date_for(system(template=template, **changes), moment, agreed=agreed)


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


def test_25_november_2026_becomes_a_wednesday_in_1998():
    assert told("{day}.{month}.{year}", moment(2026, 11, 25)) == "25.11.1998"
    assert datetime.date(2026, 11, 25).weekday() == datetime.date(1998, 11, 25).weekday() == 2
    assert told("{day of year} {year}", moment(2026, 11, 25), latest=1989) == "329 1970"


def test_the_29th_of_february_stays_the_29th_of_february():
    assert told("{day of year}-{year of century}", moment(2000, 2, 29)) == "60-72"
    assert datetime.date(2000, 2, 29).weekday() == datetime.date(1972, 2, 29).weekday() == 1


def test_every_place_can_be_written():
    template = "{day}|{month}|{month name}|{year}|{year of century}|{day of year}|{hour}|{minute}"
    assert told(template, moment(2026, 3, 4, 7, 8)) == "4|3|MARCH|1998|98|63|07|08"


def test_dates_are_written_in_figures_of_a_fixed_length_in_words_and_in_letters():
    template = "{weekday} {day in two figures}-{month in letters}-{year of century} {month in two figures}"
    # 4 March 1998 was a Wednesday, the 63rd day of its year (Python's calendar).
    assert told(template, moment(2026, 3, 4)) == "WEDNESDAY 04-MAR-98 03"
    assert told("{day of year in three figures}", moment(2026, 3, 4)) == "063"
    assert [name.upper() for name in calendar.day_name] == list(WEEKDAYS)


@pytest.mark.parametrize("place", PLACES)
def test_each_place_is_filled(place):
    assert "{" not in told(f"{{{place}}}", moment(2026, 3, 4))


# -- when a person is asked


def asked(now: datetime.datetime, **changes) -> str:
    """What a person is asked, in English; empty where nobody is."""
    return doubt(system(**changes), now).get("en", "")


def test_on_31_december_2027_a_person_is_asked_since_1999_is_followed_by_1972():
    # References for this project, section 10: 2027 -> 1999, 2028 -> 1972.
    assert asked(moment(2027, 12, 30)) == ""
    on_the_last_day = asked(moment(2027, 12, 31))
    assert "may be given the date 31.12.1999" in on_the_last_day
    assert "off before midnight: tomorrow its year is 1972" in on_the_last_day
    on_the_next = asked(moment(2028, 1, 1))
    assert "may be given the date 1.1.1972" in on_the_next
    assert "Last year its date was in 1999" in on_the_next
    assert asked(moment(2028, 12, 31)) != ""
    assert asked(moment(2029, 1, 1)) == ""


def test_no_doubtful_date_is_given_before_a_person_was_asked():
    with pytest.raises(DateInDoubt, match="tall") as fault:
        told("{day}.{month}.{year}", moment(2027, 12, 31), agreed=False)
    assert fault.value.words["de"]
    assert told("{day}.{month}.{year}", moment(2027, 12, 31)) == "31.12.1999"
    assert told("{day}.{month}.{year}", moment(2027, 12, 30), agreed=False) == "30.12.1999"


def test_between_2001_and_2099_time_runs_backwards_only_each_28th_year():
    # The same 28 years as the rule's: 2028, 2056 and 2084 (references, section 10).
    backwards = [year for year in range(2001, 2100) if "runs backwards" in asked(moment(year, 6, 1))]
    assert backwards == [2028, 2056, 2084]
    eves = [
        year for year in range(2001, 2099) if asked(moment(year, 12, 31)) and not asked(moment(year, 12, 30))
    ]
    assert eves == [2027, 2055, 2083]


def test_an_engineer_who_lowers_the_latest_year_has_answered_for_good():
    assert asked(moment(2028, 6, 1), latest=1999)
    assert asked(moment(2028, 6, 1), latest=1998) == ""
    assert told("{year}", moment(2028, 6, 1), latest=1998) == "1972"


def test_if_no_stand_in_is_in_range_a_person_is_asked_about_a_year_with_the_same_weekdays():
    # Stand-ins for 2018 are 1990 and 1962, outside 1970 to 1989; 1979 has its weekdays (Python's calendar).
    said = asked(moment(2018, 6, 1), latest=1989)
    assert "No year a multiple of 28 years back is within 1970 to 1989" in said
    assert "may be given the date 1.6.1979" in said
    assert every_day_with_its_weekday(1979) == every_day_with_its_weekday(2018)
    assert "1979 has the weekdays of 2018" in said
    # The next year with a stand-in doesn't run backwards: it is the first.
    assert asked(moment(2026, 6, 1), latest=1989) == ""


@pytest.mark.parametrize("year", range(1990, 2100))
@pytest.mark.parametrize("earliest", [1980, 1983])  # for 2022 only the earliest year, 1983, will do
def test_the_year_that_is_proposed_is_the_latest_of_its_kind_and_is_said_to_be_so(year, earliest):
    told_year = year_for(system(earliest=earliest, latest=1989), year)
    held = range(earliest, 1990)
    same = [y for y in held if every_day_with_its_weekday(y) == every_day_with_its_weekday(year)]
    stand_in = stand_in_year(year, 1989)
    assert told_year == (stand_in if stand_in >= earliest else max(same, default=1989))
    if stand_in < earliest:
        said = asked(moment(year, 6, 1), earliest=earliest, latest=1989)
        assert ("other weekdays" in said) == (not same)


def test_by_the_rule_ask_a_person_is_always_asked_and_the_stand_in_is_proposed():
    assert "may be given the date 25.11.1998" in asked(moment(2026, 11, 25), year="ask")
    assert "may be given the date 25.11.1985" in asked(moment(1985, 11, 25), year="ask")
    assert told("{year}", moment(2026, 11, 25), year="ask") == "1998"


@pytest.mark.parametrize("rule", [{"year": "fixed", "fixed_year": 1985}, {"year": "as it is"}])
def test_other_rules_are_never_asked_about(rule):
    assert asked(moment(1999, 12, 31), **rule) == ""


def test_a_time_without_a_year_is_never_asked_about():
    assert asked(moment(2028, 1, 1), template="{hour}.{minute}") == ""
    assert asked(moment(2028, 1, 1), template="{hour}.{minute}", year="ask") == ""


def test_the_months_are_those_of_the_calendar():
    assert list(MONTHS) == [name.upper() for name in calendar.month_name[1:]]


@pytest.mark.parametrize("year", [1970, 1985, 1999])
def test_a_year_that_the_system_can_handle_stays_as_it_is(year):
    assert year_for(system(), year) == year


def test_a_fixed_year_is_the_same_in_every_year():
    assert told("{day}.{month}.{year}", moment(2026, 11, 25), year="fixed", fixed_year=1985) == "25.11.1985"


def test_a_fixed_year_without_a_leap_day_gets_the_28th():
    assert told("{day}.{month}.{year}", moment(2028, 2, 29), year="fixed", fixed_year=1985) == "28.2.1985"


@pytest.mark.parametrize(
    "changes",
    [
        {"year": "as it is"},
        {"year": "fixed", "fixed_year": 2005},
    ],
)
def test_a_year_out_of_range_is_reported_and_never_typed(changes):
    with pytest.raises(ScriptError, match="tall") as fault:
        told("{year}", moment(2026, 11, 25), **changes)
    assert fault.value.do
