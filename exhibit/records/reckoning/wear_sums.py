"""Hours, starts and stops of each part and each pack, and what of the folder's limits was used.

Hours of a pack are those in which its drive turned while it was mounted.
"""

from __future__ import annotations

import bisect
import itertools
from datetime import datetime, timedelta

import msgspec

from exhibit.decisions.machine.wear_rules import Limits
from exhibit.facts.clock import read_wall
from exhibit.facts.units import H_US
from exhibit.output.columns import in_columns
from exhibit.records.index.rows import JobRow, PackRow, PartRow
from exhibit.records.reckoning.of_rows import Rows, moment
from exhibit.records.reckoning.words import number

Span = tuple[datetime, datetime]
HOUR = timedelta(hours=1)


class PartSum(msgspec.Struct, frozen=True, kw_only=True):
    """The use of a part in these recordings."""

    part: str
    hours: float
    starts: int
    stops: int
    exercised_h: float
    most_starts_a_day: int
    busiest_day: str
    """The date on which it was started most often; empty if never."""


class PackSum(msgspec.Struct, frozen=True, kw_only=True):
    """The use of a pack in these recordings."""

    label: str
    original: bool
    mounted: int
    """How often somebody confirmed that it was put into a drive."""
    turned_h: float
    exercised_h: float
    writable: int
    """How often it was mounted so that it could be written on."""


class Used(msgspec.Struct, frozen=True, kw_only=True):
    """How much of a limit was used at most."""

    limit: str
    most: float
    allowed: float | None
    """None if the folder has no such limit, or no folder was named."""
    unit: str
    when: str

    @property
    def over(self) -> bool:
        """Whether it was more than allowed."""
        return self.allowed is not None and self.most > self.allowed


class WearSums(msgspec.Struct, frozen=True, kw_only=True):
    """The use of the machine."""

    of: str
    parts: list[PartSum]
    packs: list[PackSum]
    limits: list[Used]
    with_folder: bool


def wear_sums(rows: Rows, limits: Limits | None = None) -> WearSums:
    """The sums, against the limits of the machine's folder if they are given."""
    given = limits or Limits()
    parts = sorted({row.part for row in rows.parts} | {row.part for row in rows.jobs if row.part})
    return WearSums(
        of=rows.line,
        parts=[_part(rows, part) for part in parts],
        packs=[_pack(rows, label) for label in dict.fromkeys(row.label for row in rows.packs)],
        limits=_used(rows, given),
        with_folder=limits is not None,
    )


def lines(found: WearSums) -> list[str]:
    """What is printed."""
    said = [found.of, ""]
    table: list[tuple[str, ...]] = [
        ("part", "hours", "starts", "stops", "exercised h", "most starts a day", "on")
    ]
    table += [
        (one.part, number(one.hours), f"{one.starts}", f"{one.stops}", number(one.exercised_h),
         f"{one.most_starts_a_day}", one.busiest_day)
        for one in found.parts
    ]  # fmt: skip
    said += in_columns(table, left=(0, 6)) if found.parts else ["No part was reported started."]
    if found.packs:
        table = [("pack", "mounted", "so that it could be written on", "turned h", "exercised h", "")]
        table += [
            (one.label, f"{one.mounted}", f"{one.writable}", number(one.turned_h), number(one.exercised_h),
             "original" if one.original else "")
            for one in found.packs
        ]  # fmt: skip
        said += ["", *in_columns(table, left=(0, 5))]
    if found.limits:
        table = [("limit", "most", "allowed", "when", "")]
        table += [
            (one.limit, f"{number(one.most)} {one.unit}", _allowed(one),
             one.when, "over" if one.over else "")
            for one in found.limits
        ]  # fmt: skip
        said += ["", *in_columns(table, left=(0, 3, 4))]
    if not found.with_folder:
        said.append("Limits stand in the machine's folder: name it with --folder to compare.")
    starts = sum(one.starts for one in found.parts)
    return [
        *said,
        "",
        f"Sums of what was reported; n = {starts} starts; assumes that every start and stop was reported, "
        "and that what ran at a recording's end stopped there unless the next one says otherwise.",
    ]


def _allowed(one: Used) -> str:
    return "none" if one.allowed is None else f"{number(one.allowed)} {one.unit}"


def _part(rows: Rows, part: str) -> PartSum:
    runs = [row for row in rows.parts if row.part == part]
    days = _starts_by_day(runs)
    busiest = max(days, key=lambda day: days[day], default="")
    return PartSum(
        part=part,
        hours=sum(row.ran_s for row in runs) / 3600,
        starts=sum(not row.carried for row in runs),
        stops=sum(row.stopped for row in runs),
        exercised_h=sum(row.ran_s for row in rows.jobs if row.part == part) / 3600,
        most_starts_a_day=days.get(busiest, 0),
        busiest_day=busiest,
    )


def _starts_by_day(runs: list[PartRow]) -> dict[str, int]:
    days: dict[str, int] = {}
    for row in runs:
        if not row.carried:
            days[row.at[:10]] = days.get(row.at[:10], 0) + 1
    return days


def _pack(rows: Rows, label: str) -> PackSum:
    mounts = [row for row in rows.packs if row.label == label and row.mounted]
    turned = exercised = 0.0
    for row in mounts:
        span = moment(row), _taken_out(rows.packs, row)
        turned += _overlap_h([_span(one) for one in rows.parts if one.part == row.drive], span)
        exercised += _overlap_h([_span(one) for one in rows.jobs if one.part == row.drive], span)
    return PackSum(
        label=label,
        original=any(row.original for row in mounts),
        mounted=len(mounts),
        turned_h=turned,
        exercised_h=exercised,
        writable=sum(row.may_be_written for row in mounts),
    )


def _taken_out(packs: list[PackRow], mounted: PackRow) -> datetime | None:
    """When something else was said of the drive or the pack after this; None if never."""
    later = packs[packs.index(mounted) + 1 :]
    return next(
        (moment(row) for row in later if row.drive == mounted.drive or row.label == mounted.label), None
    )


def _span(row: PartRow | JobRow) -> Span:
    return moment(row), read_wall(row.ended_at) if row.ended_at else moment(row)


def _overlap_h(spans: list[Span], within: tuple[datetime, datetime | None]) -> float:
    begin, end = within
    total = timedelta()
    for one_begin, one_end in spans:
        until = one_end if end is None else min(one_end, end)
        total += max(until - max(one_begin, begin), timedelta())
    return total / HOUR


def _used(rows: Rows, limits: Limits) -> list[Used]:
    days: dict[str, float] = {}
    years: dict[str, float] = {}
    for row in rows.jobs:
        days[row.at[:10]] = days.get(row.at[:10], 0.0) + row.ran_s / 3600
        years[row.at[:4]] = years.get(row.at[:4], 0.0) + row.ran_s / 3600
    hour_h, hour_at = _busiest_hour(rows.jobs)
    starts = [
        (count, day, part)
        for part in {row.part for row in rows.parts}
        for day, count in _starts_by_day([row for row in rows.parts if row.part == part]).items()
    ]
    most_starts = max(starts, default=(0, "", ""))
    allowed = None if limits.starts_a_day is None else float(limits.starts_a_day)
    hour, day, year = (_over(one, unit) for one, unit in _exercise_limits(limits))
    return [
        Used(limit="exercise in an hour", most=hour_h * 60, allowed=hour, unit="min", when=hour_at),
        Used(
            limit="exercise in a day",
            most=max(days.values(), default=0),
            allowed=day,
            unit="h",
            when=_largest(days),
        ),
        Used(
            limit="exercise in a year",
            most=max(years.values(), default=0),
            allowed=year,
            unit="h",
            when=_largest(years),
        ),
        Used(
            limit="starts of a part in a day",
            most=most_starts[0],
            allowed=allowed,
            unit="starts",
            when=" ".join(most_starts[1:]),
        ),
    ]


def _exercise_limits(limits: Limits) -> tuple[tuple[int | None, float], ...]:
    """The limits of an hour, a day and a year, each with the microseconds of the unit in which it is said."""
    return (limits.hour_us, H_US / 60), (limits.day_us, H_US), (limits.year_us, H_US)


def _over(us: int | None, unit_us: float) -> float | None:
    return None if us is None else us / unit_us


def _largest(of: dict[str, float]) -> str:
    return max(of, key=lambda name: of[name], default="")


def _busiest_hour(jobs: list[JobRow]) -> tuple[float, str]:
    """The most exerciser-hours in any hour, and when that hour ended; it ends where some exerciser did."""
    used = _Exercised([_span(row) for row in jobs])
    most, at = 0.0, ""
    for row in jobs:
        end = _span(row)[1]
        hours = used.until(end) - used.until(end - HOUR)
        if hours > most + 1e-9:
            most, at = hours, row.ended_at[:16].replace("T", " ")
    return most, at


class _Exercised:
    """How many exerciser-hours there had been by a moment."""

    def __init__(self, spans: list[Span]) -> None:
        turns = sorted([(begin, 1) for begin, _ in spans] + [(end, -1) for _, end in spans])
        self._moments = [at for at, _ in turns]
        self._running = list(itertools.accumulate(change for _, change in turns))
        lengths = [(after - before) / HOUR for before, after in itertools.pairwise(self._moments)]
        ran = (running * length for running, length in zip(self._running, lengths, strict=False))
        self._hours = [0.0, *itertools.accumulate(ran)]

    def until(self, at: datetime) -> float:
        """By then."""
        place = bisect.bisect_right(self._moments, at) - 1
        if place < 0:
            return 0.0
        return self._hours[place] + self._running[place] * ((at - self._moments[place]) / HOUR)
