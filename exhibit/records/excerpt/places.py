"""Finds the place in a recording that a person means by a time of day."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
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


def place_of(path: Path, text: str, or_the: Literal["", "beginning", "end"] = "") -> int:
    """The time on the recording's clock at a local time such as "14:32:05" or "2026-11-25 14:32".

    A time alone is the first such moment of the recording. If the clock was set back meanwhile, the first
    one counts. With `or_the`, a moment before the recording is its beginning, or one after it its end; a time
    alone only where the recording is of one day, since nobody knows which day is meant otherwise. Raises
    RecordingFault; and SetUpFault for what is no time, or is outside the recording.
    """
    rate = read_opened(path).rate
    stretches = list(_stretches(path))
    end_us = find_time(path, 2**62).at_us
    for stretch, after_us in zip(stretches, [*(one.from_us for one in stretches[1:]), end_us], strict=True):
        length = timedelta(seconds=real_s(after_us - stretch.from_us, rate))
        for moment in _meant(text, stretch.began, length):
            since = moment - stretch.began
            if timedelta(0) <= since <= length:
                return stretch.from_us + round(since.total_seconds() * 1e6 * rate)
    first, last = stretches[0].began, stretches[-1].began
    last += timedelta(seconds=real_s(end_us - stretches[-1].from_us, rate))
    moment = _meant(text, first, timedelta(0))[0]
    if "-" in text or first.date() == last.date():
        if or_the == "beginning" and moment < first:
            return 0
        if or_the == "end" and moment > last:
            return end_us
    raise SetUpFault(
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


def _stretches(path: Path) -> Iterator[_Stretch]:
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
            yield _Stretch(entry.at_us, datetime.fromisoformat(wall).replace(tzinfo=None))
        offset = wall[23:]
