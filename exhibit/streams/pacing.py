"""The recording's clock: starts at 0, never goes back, runs at its rate."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import datetime

from exhibit.facts.kinds import ClockStepped


def _local_now() -> datetime:
    return datetime.now().astimezone()


class RecordingClock:
    """Microseconds since the recording was opened, `rate` of them for each real one; may be asked by any thread.

    Tests give their own `steady_ns` and `wall_now`.
    """

    rate: float
    opened_wall: str
    """The date and time when the clock stood at 0, for RecordingOpened.wall."""

    def __init__(
        self,
        rate: float = 1.0,
        steady_ns: Callable[[], int] = time.monotonic_ns,
        wall_now: Callable[[], datetime] = _local_now,
    ) -> None:
        raise NotImplementedError

    def now_us(self) -> int:
        """Now, on the recording's clock."""
        raise NotImplementedError

    def wait_s(self, due_us: int) -> float:
        """Real seconds from now until `due_us`; 0 when it has passed."""
        raise NotImplementedError

    def wall(self) -> str:
        """The computer's date and time now, for Heartbeat.wall."""
        raise NotImplementedError

    def step(self, allowed_us: int = 500_000) -> ClockStepped | None:
        """Has the computer's date and time jumped since this was last asked? Ask at each heartbeat."""
        raise NotImplementedError
