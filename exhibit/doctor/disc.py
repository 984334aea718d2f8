"""The disc of the recordings: for how many days there is room, and how worn it says it is."""

from __future__ import annotations

import re
import shutil
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from exhibit.doctor.computer import Computer, Finding
from exhibit.streams.recording_reader import SUFFIX

FEWEST_DAYS: Final = 30
DAYS_TO_GO_BY: Final = 14
"""The fullest of so many days that were recorded last says what a day takes."""
LEAST_FREE_BYTES: Final = 1_000_000_000
"""Enough where nothing has been recorded yet: over a hundred busy days."""
_DATE: Final = re.compile(r"-(\d{4}-\d{2}-\d{2})T\d{2}-\d{2}-\d{2}")
WORN: Final = 9
"""JESD84-B51, DEVICE_LIFE_TIME_EST: 9 is 80 to 90% of the life used, 11 all of it."""


def looks_at_disc(computer: Computer, recordings: Path) -> Iterator[Finding]:
    """Look at the disc on which these recordings are, or would be."""
    yield from _room(recordings)
    yield from _wear(computer)


def _room(recordings: Path) -> Iterator[Finding]:
    there = next(folder for folder in (recordings, *recordings.parents) if folder.is_dir())
    free_bytes = shutil.disk_usage(there).free
    places: dict[str, object] = {"folder": recordings, "free_mb": free_bytes // 1_000_000}
    try:
        a_day_bytes = bytes_a_day(recordings)
    except OSError:
        yield Finding("recordings unreadable", places)
        return
    if not a_day_bytes:
        yield Finding("room" if free_bytes >= LEAST_FREE_BYTES else "room scarce", places)
        return
    days = free_bytes // a_day_bytes
    places |= {"days": days, "a_day_kb": a_day_bytes // 1000}
    yield Finding("room for days" if days >= FEWEST_DAYS else "room for few days", places)


def bytes_a_day(recordings: Path) -> int:
    """How much the fullest of the last days took; 0 if nothing has been recorded. Raises OSError."""
    by_day: Counter[str] = Counter()
    for path in recordings.iterdir() if recordings.is_dir() else ():
        if path.suffix == SUFFIX and (date := _DATE.search(path.name)):
            by_day[date[1]] += path.stat().st_size
    return max((by_day[day] for day in sorted(by_day)[-DAYS_TO_GO_BY:]), default=0)


def _wear(computer: Computer) -> Iterator[Finding]:
    """A memory chip on the board can say how worn it is; a memory card can't."""
    for path in sorted(computer.at("/sys/block").glob("*/device/life_time")):
        device = path.parents[1].name
        steps = [
            int(part, 16) for part in re.findall(r"0x([0-9a-fA-F]+)", computer.read(_under(computer, path)))
        ]
        if max(steps, default=0):
            places: dict[str, object] = {"device": device, "percent": min(100, 10 * max(steps))}
            yield Finding("worn" if max(steps) >= WORN else "wear", places)


def _under(computer: Computer, path: Path) -> str:
    return f"{path.relative_to(computer.root)}"
