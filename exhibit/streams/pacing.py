"""The recording's clock: starts at 0, never goes back, runs at its rate."""

from __future__ import annotations

import time
import zoneinfo
from collections.abc import Callable
from datetime import datetime, timedelta, timezone, tzinfo
from typing import Final

from exhibit.facts.clock import real_s as real_seconds
from exhibit.facts.clock import recording_us, stepped_us, write_wall
from exhibit.facts.errors import SetUpFault
from exhibit.facts.kinds import ClockStepped
from exhibit.streams.bounds import FASTEST, SLOWEST

_US = timedelta(microseconds=1)


def clock_on_the_wall(
    zone: str = "", now: Callable[[tzinfo | None], datetime] = datetime.now
) -> Callable[[], datetime]:
    """Tells the date and time in this zone of the tz database; in that of the computer if it is "".

    Tests pass their own `now`. Raises KeyError if this computer doesn't know the zone.
    """
    known = zoneinfo.ZoneInfo(zone) if zone else None

    def told() -> datetime:
        wall = now(known) if known is not None else now(None).astimezone()
        offset = wall.utcoffset()
        assert offset is not None
        # With an offset of its own: two times of one zone are subtracted as if its clocks never changed.
        return wall.replace(tzinfo=timezone(offset), fold=0)

    return told


_local_now: Final = clock_on_the_wall()


def checked_rate(rate: float) -> float:
    """Returns `rate` if it is a number above 0; infinity is allowed. Raises SetUpFault otherwise."""
    if rate > 0:
        return rate
    raise SetUpFault(
        f"The rate can't be {rate}: time would stop or run backwards.",
        "Nothing would ever be due.",
        "Choose a rate above 0; 1 is the original speed.",
    )


def checked_speed(speed: float, what: str = "speed") -> float:
    """Returns the speed that a person chose for a clock. Raises SetUpFault if no recording can have it."""
    if SLOWEST <= speed <= FASTEST:
        return speed
    raise SetUpFault(
        f"The {what} can't be {speed:g}.",
        "Deadlines and pauses would pass before anything could happen, or never.",
        f"Choose a {what} from {SLOWEST:g} to {FASTEST:,.0f}; 1 is real time.",
    )


class RecordingClock:
    """Microseconds since the clock was made, `rate` of them in each real one. Thread-safe except `step`.

    Tests pass their own `steady_ns` (nanoseconds that never go back) and `wall_now` (with a UTC offset).
    """

    rate: float
    opened_wall: str
    """The date and time when the clock was at 0, for RecordingOpened.wall."""

    def __init__(
        self,
        rate: float = 1.0,
        steady_ns: Callable[[], int] = time.monotonic_ns,
        wall_now: Callable[[], datetime] = _local_now,
    ) -> None:
        self.rate = checked_speed(rate, "rate")
        self._steady_ns = steady_ns
        self._wall_now = wall_now
        self._zero_ns = steady_ns()
        wall = wall_now()
        self.opened_wall = write_wall(wall)
        self._compared_ns = self._zero_ns
        self._compared_wall = wall

    def now_us(self) -> int:
        """The time on the recording's clock."""
        return recording_us(self._steady_ns() - self._zero_ns, self.rate)

    def wait_s(self, due_us: int) -> float:
        """Real seconds from now until `due_us`; 0 when it has passed."""
        return max(0.0, real_seconds(due_us - self.now_us(), self.rate))

    def wall(self) -> str:
        """The computer's date and time, for Heartbeat.wall."""
        return write_wall(self._wall_now())

    def step(self, allowed_us: int = 500_000) -> ClockStepped | None:
        """The jump of the computer's date and time since the last call; None if at most `allowed_us` (real).

        Call it at each heartbeat: a clock that is only slowed down or sped up drifts less than `allowed_us`
        in between. Only one thread may call it.
        """
        now_ns, wall = self._steady_ns(), self._wall_now()
        by_us = stepped_us(
            (now_ns - self._compared_ns) // 1000, (wall - self._compared_wall) // _US, allowed_us
        )
        self._compared_ns, self._compared_wall = now_ns, wall
        return ClockStepped(by_us=by_us, wall=write_wall(wall)) if by_us else None
