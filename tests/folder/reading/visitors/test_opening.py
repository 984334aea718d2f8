"""The hours of the house in day.toml: what they mean, and each mistake in them."""

from __future__ import annotations

import datetime

import pytest

from exhibit.decisions.machine.opening_hours import OpeningHours
from exhibit.facts.visitor_words import OpenHours
from exhibit.folder.reading.values import ValueMistake
from exhibit.folder.reading.visitors.opening import open_hours
from exhibit.folder.whole import examine, folder_from
from tests.folder.folder_writing import mistakes_in
from tests.folder.reading.visitors.heron_at_work import HERON

pytestmark = pytest.mark.pure

TEN_TO_FIVE = OpenHours(opens="10:00", closes="17:00")


def with_hours(text: str) -> dict[str, bytes]:
    return {**HERON, "day.toml": text.encode()}


def hours_of(text: str) -> OpeningHours:
    hours = folder_from(with_hours(text), "heron").hours
    assert hours is not None
    return hours


@pytest.mark.parametrize(
    ("text", "opens", "closes"),
    [
        ("10:00 to 17:00", "10:00", "17:00"),
        ("9:30 to 23:59", "09:30", "23:59"),
        ("00:00 to 0:01", "00:00", "00:01"),
    ],
)
def test_hours_are_from_when_to_when(text, opens, closes):
    assert open_hours(text) == OpenHours(opens=opens, closes=closes)


def test_none_means_that_nothing_is_known():
    assert open_hours("none") is None
    assert folder_from(HERON, "heron").hours is None


@pytest.mark.parametrize(
    "text",
    ["10 to 17", "10:00-17:00", "25:00 to 26:00", "10:60 to 11:00", "17:00 to 10:00", "10:00 to 10:00", ""],
)
def test_what_are_no_hours_is_reported_with_what_to_write(text):
    with pytest.raises(ValueMistake) as caught:
        open_hours(text)
    assert "to" in caught.value.write_instead


def test_the_house_is_open_every_day():
    assert hours_of('[hours]\nevery_day = "10:00 to 17:00"\n').week == (TEN_TO_FIVE,) * 7


def test_a_weekday_can_have_other_hours_or_none():
    week = hours_of(
        '[hours]\nevery_day = "10:00 to 17:00"\nmonday = "none"\nsunday = "12:00 to 17:00"\n'
    ).week
    assert week == (None, *[TEN_TO_FIVE] * 5, OpenHours(opens="12:00", closes="17:00"))


def test_some_days_have_others_once_or_by_a_rule():
    hours = hours_of(
        '[hours]\nevery_day = "10:00 to 17:00"\n'
        '[[hours.other]]\non = "2026-12-24 to 2026-12-26"\nopen = "none"\n'
        '[[hours.other]]\non = "2026-12-01"\nrepeats = "FREQ=MONTHLY;BYDAY=1TU"\nopen = "10:00 to 13:00"\n'
    )
    dates = [datetime.date(2026, 12, day) for day in (1, 2, 25)] + [datetime.date(2027, 1, 5)]
    assert [hours.on(one).closes if hours.on(one) else "" for one in dates] == ["13:00", "17:00", "", "13:00"]


@pytest.mark.parametrize(
    ("other", "said"),
    [
        ('on = "24 December"\nopen = "none"', "not a day, nor a span"),
        ('on = "2026-02-30"\nopen = "none"', "not a day, nor a span"),
        ('on = "2026-12-26 to 2026-12-24"\nopen = "none"', "ends before it begins"),
        ('on = "2026-12-24"\nrepeats = "each year"\nopen = "none"', "not a rule"),
        ('on = "2026-12-24"\nrepeats = "FREQ=SECONDLY"\nopen = "none"', "not a rule"),
        ('on = "2026-12-24"\nrepeats = "FREQ=YEARLY;BYDAY=XX"\nopen = "none"', "not a rule"),
        ('on = "2026-12-24 to 2026-12-26"\nrepeats = "FREQ=YEARLY"\nopen = "none"', "begin with one day"),
        ('on = "2026-12-24"\nopen = "sometimes"', "when the doors open and close"),
        ('on = "2026-12-24"', "open"),
    ],
)
def test_a_mistake_in_other_days_is_reported_once(other, said):
    found = mistakes_in(with_hours(f'[hours]\nevery_day = "10:00 to 17:00"\n[[hours.other]]\n{other}\n'))
    assert len(found) == 1
    assert said in found[0].what


LIMITS = '[limits]\nlast_round = "30 min before the doors close"\ncloses = "when the doors close"\n'


def test_the_last_round_and_the_closing_can_follow_the_doors():
    limits = folder_from(with_hours(f'{LIMITS}[hours]\nevery_day = "10:00 to 17:00"\n'), "heron").limits
    assert (limits.last_round_before_doors_min, limits.closes_with_doors) == (30, True)
    assert limits.last_round_min is limits.closes_min is None


def test_doors_whose_hours_are_not_written_cannot_be_followed():
    found = mistakes_in(with_hours(LIMITS))
    assert [mistake.what for mistake in found] == ["nothing says when the doors close"] * 2


@pytest.mark.parametrize(
    "text", ["half an hour before the doors close", "5 cm before the doors close", "soon"]
)
def test_a_time_that_is_none_is_reported_with_both_ways_to_write_it(text):
    (found,) = mistakes_in(with_hours(f'[limits]\nlast_round = "{text}"\n'))
    assert "before the doors close" in found.write_instead


def test_the_zone_is_that_of_the_computer_unless_another_is_written():
    plain = '[hours]\nevery_day = "10:00 to 17:00"\n[presence]\nwithin = "30 min"'
    assert folder_from(with_hours(plain), "heron").zone == ""
    zoned = plain.replace("[hours]", '[hours]\nzone = "Australia/Lord_Howe"')
    assert folder_from(with_hours(zoned), "heron").zone == "Australia/Lord_Howe"


@pytest.mark.parametrize("zone", ["Europe/Lundon", "Europe", "../etc/passwd", "/etc/localtime", "UTC\\u0000"])
def test_a_zone_that_this_computer_does_not_know_is_a_mistake(zone: str):
    text = f'[hours]\nzone = "{zone}"\n[presence]\nwithin = "30 min"'
    (found,) = mistakes_in(with_hours(text))
    assert (found.file, found.line) == ("day.toml", 2)
    assert "no zone named" in found.what or "can't be shown" in found.what


def test_presence_is_read_and_where_a_real_machine_lacks_it_that_is_advised():
    assert folder_from(with_hours('[presence]\nwithin = "20 min"'), "heron").presence_us == 1_200_000_000
    assert examine(with_hours('[rounds]\nrest = "20 s"')).mistakes == []
    (found,) = examine(with_hours('[hours]\nevery_day = "10:00 to 17:00"')).mistakes
    assert (found.file, found.is_advice) == ("day.toml", True)
    assert "`exhibit today` can't be run" in found.what
