"""The recording's clock."""

from datetime import UTC, datetime, timedelta

import pytest

from exhibit.facts.clock import read_wall
from exhibit.facts.errors import SetUpFault
from exhibit.facts.kinds import ClockStepped
from exhibit.streams.pacing import RecordingClock, clock_on_the_wall

START = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


class Hands:
    """A steady clock and a wall clock that a test sets."""

    def __init__(self) -> None:
        self.steady = 77_000_000_000
        self.wall = START

    def pass_s(self, seconds: float, wall_seconds: float | None = None) -> None:
        self.steady += round(seconds * 1e9)
        self.wall += timedelta(seconds=seconds if wall_seconds is None else wall_seconds)

    def clock(self, rate: float = 1.0) -> RecordingClock:
        return RecordingClock(rate, lambda: self.steady, lambda: self.wall)


def test_it_starts_at_0_and_runs_at_its_rate():
    hands = Hands()
    slow, fast = hands.clock(), hands.clock(20.0)
    assert (slow.now_us(), fast.now_us()) == (0, 0)
    hands.pass_s(1.5)
    assert (slow.now_us(), fast.now_us()) == (1_500_000, 30_000_000)


def test_waiting_takes_the_rate_into_account():
    hands = Hands()
    clock = hands.clock(20.0)
    assert clock.wait_s(40_000) == 0.002
    hands.pass_s(1)
    assert clock.wait_s(40_000) == 0.0


def test_it_knows_the_date_when_it_started():
    hands = Hands()
    clock = hands.clock()
    hands.pass_s(60)
    assert read_wall(clock.opened_wall) == START
    assert read_wall(clock.wall()) == START + timedelta(seconds=60)


def test_the_computers_own_clocks_are_used_by_default():
    before = datetime.now(UTC)
    clock = RecordingClock()
    assert before <= read_wall(clock.opened_wall) <= datetime.now(UTC)
    assert 0 <= clock.now_us() <= clock.now_us()


def test_a_jump_of_the_wall_clock_is_reported_once_and_does_not_move_the_recordings_clock():
    hands = Hands()
    clock = hands.clock(20.0)
    hands.pass_s(2)
    assert clock.step() is None
    hands.pass_s(2, wall_seconds=3602)
    assert clock.step() == ClockStepped(by_us=3_600_000_000, wall="2026-11-25T10:30:04+00:00")
    hands.pass_s(2)
    assert clock.step() is None
    hands.pass_s(2, wall_seconds=-58)
    assert clock.step() == ClockStepped(by_us=-60_000_000, wall="2026-11-25T10:29:08+00:00")
    assert clock.now_us() == 160_000_000


def test_a_clock_that_is_slowly_corrected_has_not_jumped():
    hands = Hands()
    clock = hands.clock()
    for _ in range(100):
        hands.pass_s(2, wall_seconds=2.001)
        assert clock.step() is None


@pytest.mark.parametrize("rate", [0.0, -1.0, float("nan"), float("inf")])
def test_a_rate_at_which_no_time_passes_is_refused(rate):
    with pytest.raises(SetUpFault):
        RecordingClock(rate)


CHANGES = [
    # from the tz database, 2026.6: the instant; the second before it on the wall; and the wall then
    ("Europe/London", "2026-03-29T01:00:00Z", "2026-03-29T00:59:59+00:00", "2026-03-29T02:00:00+01:00"),
    ("Europe/London", "2026-10-25T01:00:00Z", "2026-10-25T01:59:59+01:00", "2026-10-25T01:00:00+00:00"),
    ("Europe/Berlin", "2026-03-29T01:00:00Z", "2026-03-29T01:59:59+01:00", "2026-03-29T03:00:00+02:00"),
    ("Europe/Berlin", "2026-10-25T01:00:00Z", "2026-10-25T02:59:59+02:00", "2026-10-25T02:00:00+01:00"),
    ("America/New_York", "2026-03-08T07:00:00Z", "2026-03-08T01:59:59-05:00", "2026-03-08T03:00:00-04:00"),
    ("America/New_York", "2026-11-01T06:00:00Z", "2026-11-01T01:59:59-04:00", "2026-11-01T01:00:00-05:00"),
    ("Australia/Lord_Howe", "2026-04-04T15:00:00Z", "2026-04-05T01:59:59+11:00", "2026-04-05T01:30:00+10:30"),
    ("Australia/Lord_Howe", "2026-10-03T15:30:00Z", "2026-10-04T01:59:59+10:30", "2026-10-04T02:30:00+11:00"),
]


@pytest.mark.parametrize(("zone", "instant", "before", "then"), CHANGES)
def test_its_wall_time_is_that_of_the_zone_when_the_clocks_are_put_forward_or_back(
    zone, instant, before, then
):
    at = [read_wall(instant) - timedelta(seconds=1)]
    hands = Hands()
    wall_now = clock_on_the_wall(zone, lambda known: at[0].astimezone(known))
    clock = RecordingClock(1.0, lambda: hands.steady, wall_now)
    assert clock.wall() == clock.opened_wall == before
    hands.pass_s(1)
    at[0] += timedelta(seconds=1)
    assert (clock.wall(), clock.now_us()) == (then, 1_000_000)
    assert clock.step() is None, "the computer's clock did not jump, only its name for the hour changed"


def test_without_a_zone_it_is_the_computers_own():
    wall = clock_on_the_wall("")()
    assert wall.utcoffset() == datetime.now().astimezone().utcoffset()
