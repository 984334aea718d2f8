"""Converts times on the recording's clock to dates and times of the museum's computer."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from exhibit.facts.clock import read_wall


class WallTimes:
    """Keeps the last recorded moment by both clocks, and how fast the recording's clock runs."""

    def __init__(self) -> None:
        self._rate = 1.0
        self._wall: datetime | None = None
        self._at_us = 0

    def set(self, wall: str, at_us: int, rate: float | None = None) -> None:
        """At `at_us` it was `wall` (RFC 3339). Raises RecordingFault if that isn't a date and time.

        `rate` is recording seconds per real second; None keeps the rate.
        """
        self._wall, self._at_us = read_wall(wall), at_us
        if rate is not None:
            self._rate = rate

    def follow_offset(self, wall: str, at_us: int) -> None:
        """At `at_us` it was `wall`. Adopts it only if its UTC offset is new: summer time began or ended."""
        now = read_wall(wall)
        if self._wall is not None and now.utcoffset() != self._wall.utcoffset():
            self._wall, self._at_us = now, at_us

    def wall(self, at_us: int) -> str:
        """The date and time at `at_us`, to the millisecond; "" if unknown, or outside the years 1 to 9999."""
        if self._wall is None:
            return ""
        try:
            real = timedelta(microseconds=(at_us - self._at_us) / self._rate)
            return (self._wall + real).isoformat(timespec="milliseconds")
        except (OverflowError, ZeroDivisionError):
            return ""

    def snapshot(self) -> dict[str, Any]:
        """As plain JSON values."""
        return {
            "rate": self._rate,
            "wall": self._wall.isoformat() if self._wall else "",
            "at_us": self._at_us,
        }

    def restore(self, kept: dict[str, Any]) -> None:
        """Continue from a snapshot."""
        self._rate, self._at_us = kept["rate"], kept["at_us"]
        self._wall = datetime.fromisoformat(kept["wall"]) if kept["wall"] else None


def minutes_between(earlier: str, later: str) -> int:
    """The whole minutes from one wall time to another; 0 if one is missing or the clock was set back."""
    if not earlier or not later:
        return 0
    return max(0, int((read_wall(later) - read_wall(earlier)).total_seconds() // 60))
