"""Local times as whole numbers: made for each line of a long recording, where text would take too long."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from typing import Final

from exhibit.facts import kinds
from exhibit.facts.wall_times import WallTimes

_1970: Final = datetime.fromisoformat("1970-01-01T00:00")
"""By local time, whatever its offset."""
_MS: Final = timedelta(milliseconds=1)
_LATEST_MS: Final = 253_402_300_799_999
"""The end of the year 9999."""
_EARLIEST_MS: Final = -62_135_596_800_000


class LocalTimes:
    """The museum's local time at any moment of a recording, as its facts tell it in order."""

    def __init__(self) -> None:
        self._clock = WallTimes()
        self._rate = 1.0
        self._from_us = 0
        self._from_ms: int | None = None
        self.offset_min = 0
        """The present offset from UTC in minutes."""

    def note(self, at_us: int, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """Takes the next fact. Raises RecordingFault if its date is none."""
        match fact:
            case kinds.RecordingOpened(wall=wall, rate=rate):
                self._rate = rate
                self._clock.set(wall, at_us, rate)
            case kinds.ClockStepped(wall=wall):
                self._clock.set(wall, at_us)
            case kinds.Heartbeat(wall=wall):
                self._clock.follow_offset(wall, at_us)
            case _:
                return
        text = self._clock.wall(at_us)
        if not text:
            self._from_ms = None
            return
        moment = datetime.fromisoformat(text)
        self._from_us, self._from_ms = at_us, (moment.replace(tzinfo=None) - _1970) // _MS
        offset = moment.utcoffset()
        self.offset_min = offset // timedelta(minutes=1) if offset is not None else 0

    def wall(self, at_us: int) -> str:
        """The date and time (RFC 3339, with milliseconds); "" if unknown."""
        return self._clock.wall(at_us)

    def local_ms(self, at_us: int) -> int | None:
        """Milliseconds since 1970-01-01T00:00 local time; None if unknown."""
        if self._from_ms is None:
            return None
        try:
            local_ms = self._from_ms + round((at_us - self._from_us) / self._rate / 1000)
        except (OverflowError, ZeroDivisionError):
            return None
        return local_ms if _EARLIEST_MS <= local_ms <= _LATEST_MS else None


def wall_of(local_ms: int | None, offset_min: int) -> str:
    """The date and time of what `local_ms` gave, as LocalTimes.wall gives it."""
    if local_ms is None:
        return ""
    offset = timezone(timedelta(minutes=offset_min))
    return (_1970 + local_ms * _MS).replace(tzinfo=offset).isoformat(timespec="milliseconds")


def local_ms_of(moment: datetime) -> int:
    """The number for this local date and time, whatever its offset."""
    return (moment.replace(tzinfo=None) - _1970) // _MS
