"""The load of alarms, held to the published figures for operators."""

from __future__ import annotations

import pytest

from exhibit.sums.alarm_load import alarm_load

MIN = 60.0
H = 3600.0


def every(step_s: float, span_s: float) -> list[float]:
    return [number * step_s for number in range(round(span_s / step_s))]


@pytest.mark.parametrize(
    ("apart_s", "load"),
    [(10 * MIN, "acceptable"), (5 * MIN, "manageable"), (4 * MIN, "too much")],
)
def test_one_in_ten_minutes_is_acceptable_two_are_manageable_and_more_are_too_much(apart_s, load):
    # ANSI/ISA-18.2, clause 16: ~1 (acceptable) and ~2 (at most manageable) in 10 min, ~6 and ~12 an hour.
    assert alarm_load(every(apart_s, 8 * H), 8 * H).load == load


def test_the_alarms_of_the_last_eleven_minutes_before_the_explosion_of_1994_were_a_flood():
    # HSE, Chemicals Sheet 6 (2000): 275 alarms in the last 11 minutes.
    found = alarm_load(every(11 * MIN / 275, 11 * MIN), 11 * MIN)
    assert (found.number, found.load, found.share_in_flood) == (275, "too much", 1.0)
    assert found.most_in_ten_min == 251  # 250 in ten minutes, and the one with which the count begins


def test_more_than_ten_in_any_ten_minutes_are_too_much_however_quiet_the_day_was():
    # Six before and six after a full ten minutes of the clock: no period of the clock has more than ten.
    times_s = [*(590 + n for n in range(6)), *(601 + n for n in range(6))]
    found = alarm_load(times_s, 8 * H)
    assert (found.most_in_ten_min, found.share_over, found.load) == (12, 0.0, "too much")


def test_a_flood_begins_above_ten_and_ends_below_five():
    # ANSI/ISA-18.2: more than 10 in 10 min; the end, below 5, is from memory.
    counts = [10, 11, 5, 4, 5]
    times_s = [number * 10 * MIN + n for number, count in enumerate(counts) for n in range(count)]
    found = alarm_load(times_s, 50 * MIN)
    assert (found.share_over, found.share_in_flood) == (1 / 5, 2 / 5)


def test_a_day_without_alarms_is_acceptable():
    assert alarm_load([], 8 * H).load == "acceptable"


@pytest.mark.parametrize(("times_s", "span_s"), [([], 0), ([-1.0], H), ([H + 1], H)])
def test_what_lies_outside_the_span_is_refused(times_s, span_s):
    with pytest.raises(ValueError, match="outside the span"):
        alarm_load(times_s, span_s)
