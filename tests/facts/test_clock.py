"""Times: the scaled clock, and dates and times as text."""

from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exhibit.facts.clock import read_wall, real_s, recording_us, stepped_us, wall_at, write_wall
from exhibit.facts.errors import RecordingFault


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        # RFC 3339 section 5.8: all five of its examples, with the meanings that it gives.
        ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520_000, UTC)),
        ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, 0, UTC)),
        ("1990-12-31T23:59:60Z", datetime(1991, 1, 1, 0, 0, 0, 0, UTC)),
        ("1990-12-31T15:59:60-08:00", datetime(1991, 1, 1, 0, 0, 0, 0, UTC)),
        ("1937-01-01T12:00:27.87+00:20", datetime(1937, 1, 1, 11, 40, 27, 870_000, UTC)),
        # Section 5.6: lower case t and z, a blank for the T.
        ("2026-11-25t09:30:00z", datetime(2026, 11, 25, 9, 30, tzinfo=UTC)),
        ("2026-11-25 09:30:00.1234567Z", datetime(2026, 11, 25, 9, 30, 0, 123_456, UTC)),
    ],
)
def test_dates_are_read_as_rfc_3339_says(text, moment):
    assert read_wall(text) == moment


@pytest.mark.parametrize(
    "text",
    [
        "",
        "2026-11-25",
        "2026-11-25T09:30:00",
        "2026-11-25T09:30Z",
        "2026-11-25T24:00:00Z",
        "2026-02-30T09:30:00Z",
        "2026-11-25T09:30:00+24:00",
        "2026-11-25T09:30:00+0100",
        "20261125T093000Z",
        "2026-W48-3T09:30:00Z",
        "2026-11-25T09:30:61Z",
        "9999-12-31T23:59:60Z",
        "٢٠٢٦-11-25T09:30:00Z",
        "2026-11-25T09:30:00Z\n",
    ],
)
def test_text_that_is_not_an_rfc_3339_date_is_refused(text):
    with pytest.raises(RecordingFault, match="date and time"):
        read_wall(text)


@given(st.datetimes(timezones=st.timezones()))
def test_what_was_written_is_read_back_as_the_same_moment(moment):
    assert read_wall(write_wall(moment)) == moment.astimezone(UTC)


def test_a_date_without_an_offset_is_not_written():
    with pytest.raises(ValueError, match="offset"):
        write_wall(datetime(2026, 11, 25))  # noqa: DTZ001


def test_an_offset_with_seconds_is_written_as_the_same_moment():
    old = timezone(timedelta(minutes=-1, seconds=-15))
    written = write_wall(datetime(1840, 1, 1, 12, tzinfo=old))
    assert read_wall(written) == datetime(1840, 1, 1, 12, 1, 15, tzinfo=UTC)


@given(st.lists(st.integers(0, 10**19), min_size=2), st.floats(0.001, 1000))
def test_a_scaled_clock_never_goes_back(times_ns, rate):
    scaled = [recording_us(time_ns, rate) for time_ns in sorted(times_ns)]
    assert all(before <= after for before, after in pairwise(scaled))


@pytest.mark.parametrize(
    ("real_ns", "rate", "us"),
    [(1_000_000_000, 1.0, 1_000_000), (1_000_000_000, 20.0, 20_000_000), (999, 1.0, 0), (50, 20.0, 1)],
)
def test_the_scaled_clock_runs_at_its_rate(real_ns, rate, us):
    assert recording_us(real_ns, rate) == us


def test_waiting_is_shorter_by_the_rate():
    assert real_s(40_000, 1.0) == 0.04
    assert real_s(40_000, 20.0) == 0.002


def test_the_date_goes_on_by_real_time_in_a_fast_recording():
    assert wall_at("2026-11-25T09:30:00+01:00", 20_000_000, 20.0).isoformat() == "2026-11-25T09:30:01+01:00"


@pytest.mark.parametrize(("wall", "rate"), [("9999-12-31T23:59:59Z", 1.0), ("2026-01-01T00:00:00Z", 0.0)])
def test_a_date_beyond_the_calendar_is_a_fault_of_the_recording(wall, rate):
    with pytest.raises(RecordingFault):
        wall_at(wall, 10_000_000, rate)


def test_a_jump_of_the_wall_clock_is_distinguished_from_a_slow_drift():
    assert stepped_us(2_000_000, 2_400_000, 500_000) == 0
    assert stepped_us(2_000_000, 3_602_000_000, 500_000) == 3_600_000_000
    assert stepped_us(2_000_000, -3_598_000_000, 500_000) == -3_600_000_000
