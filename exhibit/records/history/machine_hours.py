"""When the machine was on, and when an exerciser ran: the hours by which incidents are counted."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, NamedTuple

from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault
from exhibit.records.index.rows import JobRow, PartRow

JOINS_S: Final = 300.0
"""A part that was on when a recording was opened was on between the two recordings, if that was no longer."""
AGES_H: Final = (0.0, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0, math.inf)
"""The limits of the groups of hours since power-on: faults of warming up fall into the first."""


class Stretch(NamedTuple):
    """A stretch of time, in seconds since 1970."""

    from_s: float
    until_s: float


@dataclass(frozen=True)
class PowerOn:
    """A time during which some part was on. `age_s`: how long it had been on before; None if unknown."""

    from_s: float
    until_s: float
    age_s: float | None


class MachineHours:
    """The hours of one machine."""

    def __init__(self, parts: Iterable[PartRow], jobs: Iterable[JobRow]) -> None:
        self.on = _power_on(parts)
        self._jobs = [(stretch, job.part) for job in jobs if (stretch := _stretch(job.at, job.ran_s))]
        self.exercised = _joined(stretch for stretch, _ in self._jobs)

    @property
    def hours(self) -> float:
        """How many hours it was on in all, as far as that is recorded."""
        return math.fsum(one.until_s - one.from_s for one in self.on) / 3600

    def exercised_h(self) -> float:
        """How many of these hours an exerciser ran, at least one."""
        return _overlap_s(self.exercised, [Stretch(one.from_s, one.until_s) for one in self.on]) / 3600

    def is_exercised(self, at: str) -> bool:
        """Whether an exerciser ran at this moment (RFC 3339)."""
        moment = seconds(at)
        if moment is None:
            return False
        place = bisect_right(self.exercised, moment, key=lambda one: one.from_s) - 1
        return place >= 0 and moment <= self.exercised[place].until_s

    def parts_at(self, at: str) -> str:
        """The parts that exercisers kept busy at this moment (RFC 3339), in order, with a blank between."""
        moment = seconds(at)
        if moment is None or not self.is_exercised(at):
            return ""
        return " ".join(sorted({part for one, part in self._jobs if one.from_s <= moment <= one.until_s}))

    def age_s(self, at: str) -> float | None:
        """How long the machine had been on at this moment (RFC 3339); None if unknown, or it was off."""
        moment = seconds(at)
        for one in self.on:
            if moment is not None and one.from_s <= moment <= one.until_s:
                return None if one.age_s is None else one.age_s + moment - one.from_s
        return None

    def between_h(self, from_s: float, until_s: float) -> float:
        """How many hours it was on between two moments."""
        return (
            _overlap_s([Stretch(from_s, until_s)], [Stretch(one.from_s, one.until_s) for one in self.on])
            / 3600
        )

    def on_day_h(self, date: str) -> float:
        """How many hours it was on, on this local day, by the offset that it had at noon there."""
        noon = datetime.fromisoformat(f"{date}T12:00:00").astimezone()
        start = noon.replace(hour=0).timestamp()
        return self.between_h(start, start + timedelta(days=1).total_seconds())

    def by_age_h(self) -> list[float]:
        """For each group of hours since power-on: how many hours it was on for so long."""
        sums = [0.0] * (len(AGES_H) - 1)
        for one in self.on:
            if one.age_s is None:
                continue
            first, last = one.age_s / 3600, (one.age_s + one.until_s - one.from_s) / 3600
            for place, (low, high) in enumerate(zip(AGES_H, AGES_H[1:], strict=False)):
                sums[place] += max(0.0, min(last, high) - max(first, low))
        return sums


def age_group(on_s: float) -> int:
    """In which group of hours since power-on this is."""
    return min(bisect_right(AGES_H, max(0.0, on_s) / 3600) - 1, len(AGES_H) - 2)


def seconds(at: str) -> float | None:
    """A recorded date and time in seconds since 1970; None if it is unknown."""
    try:
        return read_wall(at).timestamp()
    except (RecordingFault, OverflowError):
        return None


def _stretch(at: str, lasted_s: float) -> Stretch | None:
    began = seconds(at)
    return None if began is None else Stretch(began, began + max(0.0, lasted_s))


def _power_on(parts: Iterable[PartRow]) -> list[PowerOn]:
    spans = [(stretch, part.carried) for part in parts if (stretch := _stretch(part.at, part.ran_s))]
    found: list[PowerOn] = []
    for stretch, carried in sorted(spans):
        last = found[-1] if found else None
        if last is not None and stretch.from_s <= last.until_s + (JOINS_S if carried else 0.0):
            found[-1] = PowerOn(last.from_s, max(last.until_s, stretch.until_s), last.age_s)
        else:
            # Nobody knows how long a part had been on that was on when the first recording was opened.
            found.append(PowerOn(stretch.from_s, stretch.until_s, None if carried else 0.0))
    return found


def _joined(stretches: Iterable[Stretch]) -> list[Stretch]:
    found: list[Stretch] = []
    for one in sorted(stretches):
        if found and one.from_s <= found[-1].until_s:
            found[-1] = Stretch(found[-1].from_s, max(found[-1].until_s, one.until_s))
        else:
            found.append(one)
    return found


def _overlap_s(some: Sequence[Stretch], others: Sequence[Stretch]) -> float:
    """How long both lasted together; each is in order, and its stretches don't overlap."""
    total_s, first, second = 0.0, 0, 0
    while first < len(some) and second < len(others):
        one, other = some[first], others[second]
        total_s += max(0.0, min(one.until_s, other.until_s) - max(one.from_s, other.from_s))
        if one.until_s < other.until_s:
            first += 1
        else:
            second += 1
    return total_s
