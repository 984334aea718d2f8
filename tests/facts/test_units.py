"""Durations and speeds with their units, and what the errors say about those that are written wrongly."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exhibit.facts.units import DURATION_UNITS_US, LONGEST_US, UnitMistake, duration_us, speed_baud


@pytest.mark.parametrize(
    ("text", "value_us"),
    [
        ("300 ms", 300_000),
        ("8 s", 8_000_000),
        ("12 min", 720_000_000),
        ("2 h", 7_200_000_000),
        ("24 h", 86_400_000_000),
        ("0.5 s", 500_000),
        ("1.5 h", 5_400_000_000),
        ("0.001 ms", 1),
    ],
)
def test_a_duration_is_a_number_a_space_and_a_unit(text, value_us):
    assert duration_us(text) == value_us


@given(st.integers(1, 999), st.sampled_from(sorted(DURATION_UNITS_US)))
def test_every_whole_number_of_every_unit_is_exact(figure, unit):
    value_us = figure * DURATION_UNITS_US[unit]
    if value_us <= LONGEST_US:
        assert duration_us(f"{figure} {unit}") == value_us


@pytest.mark.parametrize(
    ("text", "said", "write"),
    [
        ("8", "does not say its unit", '"8 s" if seconds are meant'),
        ("8s", "not written as a number, a space and a unit", '"8 s"'),
        ("8  s", "not written as a number, a space and a unit", '"8 s"'),
        ("8 S", "not written as a number, a space and a unit", '"8 s"'),
        ("8 seconds", "not written as a number, a space and a unit", '"8 s"'),
        ("8 sec.", "not written as a number, a space and a unit", '"8 s"'),
        ("12 minutes", "not written as a number, a space and a unit", '"12 min"'),
        ("2 hours", "not written as a number, a space and a unit", '"2 h"'),
        ("1,5 h", "not written as a number, a space and a unit", '"1.5 h"'),
        ("8 m", "could mean minutes or milliseconds", '"8 min" or "8 ms"'),
        ("8 parsecs", "is not in a unit of time", '"8 s"'),
        ("2400 baud", "is not in a unit of time", "ms, s, min or h"),
        ("soon", "is not a time", '"8 s" or "12 min"'),
        ("-8 s", "is not a time", '"8 s" or "12 min"'),
        ("", "is not a time", '"8 s" or "12 min"'),
        ("1e3 s", "is not a time", '"8 s" or "12 min"'),
        ("٨ s", "is not a time", '"8 s" or "12 min"'),
        ("0 s", "no time at all", '"8 s"'),
        ("0.00001 ms", "finer than a microsecond", "s"),
        ("25 h", "longer than a day", '"24 h"'),
    ],
)
def test_a_wrong_duration_is_answered_with_what_to_write(text, said, write):
    with pytest.raises(UnitMistake) as caught:
        duration_us(text)
    assert said in caught.value.what
    assert write in caught.value.write_instead


def test_a_duration_of_zero_is_accepted_where_it_makes_sense():
    assert duration_us("0 ms", may_be_zero=True) == 0


def test_a_speed_is_a_whole_number_and_baud():
    assert speed_baud("2400 baud") == 2400
    assert speed_baud("110 baud") == 110


@pytest.mark.parametrize(
    ("text", "said", "write"),
    [
        ("2400", "does not say its unit", '"2400 baud"'),
        ("2400baud", "not written as", '"2400 baud"'),
        ("2400 bps", "not written as", '"2400 baud"'),
        ("2400 Baud", "not written as", '"2400 baud"'),
        ("2400 s", "is not in baud", '"2400 baud"'),
        ("134.5 baud", "is not a speed", '"2400 baud"'),
        ("0 baud", "no line runs at 0 baud", '"2400 baud"'),
        ("9000000 baud", "no line runs at", '"2400 baud"'),
        ("fast", "is not a speed", '"2400 baud"'),
    ],
)
def test_a_wrong_speed_is_answered_with_what_to_write(text, said, write):
    with pytest.raises(UnitMistake) as caught:
        speed_baud(text)
    assert said in caught.value.what
    assert write in caught.value.write_instead


def refused(read, text: str) -> UnitMistake | None:
    try:
        assert read(text) > 0
    except UnitMistake as mistake:
        return mistake
    return None


@given(st.text(max_size=30))
def test_any_text_is_either_read_or_refused_in_words(text):
    for read in (duration_us, speed_baud):
        mistake = refused(read, text)
        if mistake is not None:
            assert mistake.what
            assert mistake.write_instead
            assert str(mistake) == f"{mistake.what}; write {mistake.write_instead}"
