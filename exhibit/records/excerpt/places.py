"""Finds the place in a recording that a person means by a time of day."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Final, Literal, NamedTuple

from exhibit.facts.clock import real_s
from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.facts.kinds import ClockStepped, Heartbeat, RecordingOpened
from exhibit.facts.wall_times import WallTimes
from exhibit.records.excerpt.few_kinds import entries_of_kinds
from exhibit.streams.recording import find_time, read_opened

LONGEST: Final = timedelta(days=400)
"""Longer than any recording; a date further off is a slip."""


class _Stretch(NamedTuple):
    """A part of a recording during which its computer's date and time weren't changed."""

    from_us: int
    began: datetime
    """Local date and time, without offset."""
    until_us: int
    rate: float

    @property
    def length(self) -> timedelta:
        """How long it was, in real time."""
        return timedelta(seconds=real_s(self.until_us - self.from_us, self.rate))

    @property
    def ended(self) -> datetime:
        """Its last local date and time."""
        return self.began + self.length

    def has(self, moment: datetime) -> bool:
        """Whether the clock showed this local date and time then."""
        return self.began <= moment <= self.ended

    def at_us(self, moment: datetime) -> int:
        """When it did, on the recording's clock."""
        return self.from_us + round((moment - self.began).total_seconds() * 1e6 * self.rate)


class Showed(NamedTuple):
    """When a computer's clock showed a time, on the recording's own clock."""

    at_us: int
    again_us: tuple[int, ...] = ()
    """When it showed that time once more, because it was set back or summer time ended."""
    skipped: tuple[datetime, datetime] | None = None
    """If it never showed that time: from when to when it was set. at_us is then the last moment before."""


def place_of(path: Path, text: str, or_the: Literal["", "beginning", "end"] = "") -> int:
    """The time on the recording's clock at a local time such as "14:32:05" or "2026-11-25 14:32".

    A time alone is the first such moment of the recording. If the clock was set back meanwhile, the first
    one counts. With `or_the`, a moment before the recording is its beginning, or one after it its end; a time
    alone only where the recording is of one day, since nobody knows which day is meant otherwise. Raises
    RecordingFault; and SetUpFault for what is no time, or is outside the recording.
    """
    stretches = _stretches(path)
    if (found := _found(text, stretches)) is not None:
        return found.at_us
    first, last = stretches[0].began, stretches[-1].ended
    moment = _meant(text, first, timedelta(0))[0]
    if "-" in text or first.date() == last.date():
        if or_the == "beginning" and moment < first:
            return 0
        if or_the == "end" and moment > last:
            return stretches[-1].until_us
    raise _no_moment(path, text, first, last)


def showed(path: Path, text: str) -> Showed:
    """When the clock showed a time such as "14:32:05", first and later. Raises as place_of does.

    The second in which a recording begins and the two after its last fact belong to it.
    """
    stretches = _stretches(path)
    if (found := _found(text, stretches)) is not None:
        return found
    first, last = stretches[0], stretches[-1]
    for moment in (*_meant(text, first.began, timedelta(0)), *_meant(text, last.began, last.length)):
        if first.began - timedelta(seconds=1) < moment < first.began:
            return Showed(0)
        if last.ended < moment <= last.ended + timedelta(seconds=2):
            return Showed(last.until_us)
    for before, after in pairwise(stretches):
        gap = after.began - before.ended
        if "-" not in text and gap > timedelta(days=1):
            continue  # any time of day lies in between, so none can be meant
        for moment in _meant(text, before.ended, gap):
            if before.ended < moment < after.began:
                skipped = (before.ended, after.began) if gap >= timedelta(seconds=1) else None
                return Showed(after.from_us - 1, skipped=skipped)
    raise _no_moment(path, text, first.began, last.ended)


def _found(text: str, stretches: list[_Stretch]) -> Showed | None:
    for place, stretch in enumerate(stretches):
        for moment in _meant(text, stretch.began, stretch.length):
            if stretch.has(moment):
                at_us, second_us = stretch.at_us(moment), round(1e6 * stretch.rate)
                again = [later.at_us(moment) for later in stretches[place + 1 :] if later.has(moment)]
                return Showed(at_us, tuple(one for one in again if one >= at_us + second_us))
    return None


def _no_moment(path: Path, text: str, first: datetime, last: datetime) -> SetUpFault:
    return SetUpFault(
        f"{path.name} has no moment {text!r}.",
        f"It lasts from {first:%Y-%m-%d %H:%M:%S} to {last:%Y-%m-%d %H:%M:%S}.",
        "Choose a time between the two.",
    )


def _meant(text: str, began: datetime, length: timedelta) -> list[datetime]:
    """The moments that can be meant, in a stretch that began then and was that long."""
    try:
        if "-" in text:
            return [datetime.fromisoformat(text).replace(tzinfo=None)]
        days = min(length, LONGEST).days + 2
        dates = [began.date() + timedelta(days=day) for day in range(days)]
        return [datetime.fromisoformat(f"{date} {text.strip()}").replace(tzinfo=None) for date in dates]
    except (ValueError, OverflowError) as error:
        raise SetUpFault(
            f"{text!r} is not a time.",
            "So nothing can be found at it.",
            "Write it as 14:32:05, or with its date as 2026-11-25 14:32:05.",
        ) from error


def _stretches(path: Path) -> list[_Stretch]:
    rate, begun = read_opened(path).rate, list(_begun(path))
    ends_us = [*(from_us for from_us, _ in begun[1:]), find_time(path, 2**62).at_us]
    return [
        _Stretch(from_us, began, until_us, rate)
        for (from_us, began), until_us in zip(begun, ends_us, strict=True)
    ]


def _begun(path: Path) -> Iterator[tuple[int, datetime]]:
    """When each stretch began, on the recording's clock and by local time."""
    clock, offset = WallTimes(), None
    for entry in entries_of_kinds(path, ("recording_opened", "clock_stepped", "heartbeat")):
        fact = entry.fact
        if isinstance(fact, RecordingOpened):
            clock.set(fact.wall, entry.at_us, fact.rate)
        elif isinstance(fact, ClockStepped):
            clock.set(fact.wall, entry.at_us)
        elif isinstance(fact, Heartbeat):
            clock.follow_offset(fact.wall, entry.at_us)
        else:
            continue
        if not (wall := clock.wall(entry.at_us)):
            raise RecordingFault(
                f"{path.name} gives no date and time that can be.",
                "So no moment of it can be found by its time.",
                "Name the fact instead, with --fact.",
            )
        if not isinstance(fact, Heartbeat) or wall[23:] != offset:
            yield entry.at_us, datetime.fromisoformat(wall).replace(tzinfo=None)
        offset = wall[23:]
