"""Whether faults come more and more often, by the hours the machine was on; and how far apart they are.

A fault is a trouble that the machine reported (one that was raised again is the same), or a script that
failed without one; if the machine had fallen silent meanwhile, that is what it is called. Its age is for how
long the machine had been on in all by then: the time in which any part was on.
"""

from __future__ import annotations

import bisect
import itertools
from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from typing import TypeVar

import msgspec

from exhibit.facts.clock import read_wall
from exhibit.output.columns import in_columns
from exhibit.records.index.rows import PartRow, Placed, ScriptRow
from exhibit.records.reckoning.of_rows import Rows, moment
from exhibit.records.reckoning.words import chance_words, day_and_time, number, range_words
from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.power_law import ConstantRate, PowerLaw, constant_mtbf, power_law
from exhibit.sums.statistical.trend import Trend, laplace, military_handbook, reverse_arrangements

R = TypeVar("R", bound=Placed)
FAILED = "script failed: "
SILENT = "machine silent"
MOST_REASONS = 5
JUST_ON_H = 1 / 3600
"""A fault within the first second counts there, since a power law has no rate at age 0."""
VERDICTS = {
    "fewer": "faults become fewer",
    "more": "faults become more frequent",
    "no trend shown": "no trend shown",
}


class Fault(msgspec.Struct, frozen=True, kw_only=True):
    """A fault, and where to find it."""

    at: str
    recording: str
    seq: int
    name: str
    why: str
    """What the machine printed, or why the script failed."""
    age_h: float


class FaultSums(msgspec.Struct, frozen=True, kw_only=True):
    """The faults of a machine, and their trend."""

    of: str
    on_h: float
    """For how long the machine was on in these recordings."""
    faults: list[Fault]
    tests: dict[str, Trend | TooFew]
    power_law: PowerLaw | TooFew
    constant: ConstantRate | TooFew


def fault_sums(rows: Rows, names: Collection[str] = ()) -> FaultSums:
    """The sums of all faults, or of the troubles of these names."""
    on = _TimeOn(rows.parts)
    on_h = on.hours
    faults = [
        Fault(
            at=row.at,
            recording=row.recording,
            seq=row.seq,
            name=name,
            why=why,
            age_h=max(on.until(moment(row)), JUST_ON_H),
        )
        for name, row, why in _faults(rows)
        if row.at and (not names or name in names)
    ]
    ages = [fault.age_h for fault in faults]
    end = max([on_h, *ages])
    few = TooFew(method="Fault trend", n=0, wanted=1, of="hours in which the machine was on")
    return FaultSums(
        of=rows.line,
        on_h=on_h,
        faults=faults,
        tests={
            "Reverse arrangements": reverse_arrangements(ages),
            "Laplace": laplace(ages, end) if on_h else few,
            "Military Handbook": military_handbook(ages, end) if on_h else few,
        },
        power_law=power_law(ages, end) if on_h else few,
        constant=constant_mtbf(len(ages), on_h),
    )


def lines(found: FaultSums) -> list[str]:
    """What is printed."""
    said = [found.of, f"The machine was on for {number(found.on_h)} h; faults: {len(found.faults)}.", ""]
    counts = Counter(fault.name for fault in found.faults).most_common()
    if counts:
        latest = {fault.name: fault for fault in found.faults}
        table = [("fault", "times", "last at", "recording", "fact")]
        table += [
            (
                name,
                f"{times}",
                latest[name].at[:19].replace("T", " "),
                latest[name].recording,
                f"{latest[name].seq}",
            )
            for name, times in counts
        ]
        said += [*in_columns(table, left=(0, 2, 3)), ""]
        reasons = [fault for fault in found.faults if fault.why][-MOST_REASONS:]
        said += [f"{day_and_time(fault.at)} {fault.name}: {fault.why}" for fault in reasons]
        said.append("")
    for name, test in found.tests.items():
        if isinstance(test, TooFew):
            said.append(test.line)
            continue
        verdict = test.verdict()
        rarer = test.more if verdict == "more" else test.fewer
        chance = "" if verdict == "no trend shown" else f", as it would look by chance {chance_words(rarer)}"
        said += [f"{name}: {number(test.statistic)}: {VERDICTS[verdict]}{chance}.", f"    {test.basis.line}"]
    law, constant = found.power_law, found.constant
    if isinstance(law, PowerLaw):
        said += [
            f"Hours between faults now, if the trend goes on: {number(law.mtbf)} "
            f"({law.confidence:.0%} limits {range_words(law.lower, law.upper)}).",
            f"    {law.basis.line}",
        ]
    else:
        said.append(law.line)
    if isinstance(constant, ConstantRate):
        said += [
            "Hours between faults, if there is no trend: "
            f"{number(constant.mtbf) if found.faults else 'no fault yet'} "
            f"({constant.confidence:.0%} limits {range_words(constant.lower, constant.upper)}).",
            f"    {constant.basis.line}",
        ]
    else:
        said.append(constant.line)
    return said


def _faults(rows: Rows) -> list[tuple[str, Placed, str]]:
    """The name of each fault, its moment and its reason, in the order of time."""
    troubles = [row for row in rows.troubles if not row.repeats]
    found: list[tuple[str, Placed, str]] = [(row.trouble, row, row.line) for row in troubles]
    silences = _by_recording([row for row in rows.gaps if row.kind == SILENT])
    reported = _by_recording(troubles)
    for script in rows.scripts:
        if script.outcome == "failed" and not _within(script, reported):
            silent = _within(script, silences)
            ended = Placed(
                recording=script.recording,
                seq=script.ended_seq,
                at=script.ended_at or script.at,
                at_us=script.at_us,
            )
            name = SILENT if silent else FAILED + script.script
            found.append((name, silent[0] if silent else ended, f"{script.script} failed: {script.why}"))
    return sorted(found, key=lambda one: moment(one[1]))


def _by_recording(rows: Iterable[R]) -> dict[str, list[R]]:
    of: dict[str, list[R]] = {}
    for row in rows:
        of.setdefault(row.recording, []).append(row)
    return {name: sorted(some, key=lambda row: row.seq) for name, some in of.items()}


def _within(script: ScriptRow, rows: Mapping[str, Sequence[R]]) -> Sequence[R]:
    """Those that were while the script ran."""
    some = rows.get(script.recording, [])
    begin = bisect.bisect_left(some, script.seq, key=lambda row: row.seq)
    end = bisect.bisect_right(some, script.ended_seq or script.seq, key=lambda row: row.seq)
    return some[begin:end]


def _times_on(parts: list[PartRow]) -> list[tuple[datetime, datetime]]:
    """When any part was on: spans in order that don't touch."""
    spans = sorted((read_wall(row.at), read_wall(row.ended_at)) for row in parts if row.at and row.ended_at)
    joined: list[tuple[datetime, datetime]] = []
    for begin, end in spans:
        if joined and begin <= joined[-1][1]:
            joined[-1] = joined[-1][0], max(joined[-1][1], end)
        else:
            joined.append((begin, end))
    return joined


class _TimeOn:
    """For how many hours in all the machine had been on by a moment."""

    def __init__(self, parts: list[PartRow]) -> None:
        self._spans = _times_on(parts)
        lengths = ((end - begin).total_seconds() / 3600 for begin, end in self._spans)
        self._before = [0.0, *itertools.accumulate(lengths)]

    @property
    def hours(self) -> float:
        """In all."""
        return self._before[-1]

    def until(self, at: datetime) -> float:
        """By then."""
        place = bisect.bisect_right(self._spans, at, key=lambda span: span[0]) - 1
        if place < 0:
            return 0.0
        begin, end = self._spans[place]
        return self._before[place] + (min(at, end) - begin).total_seconds() / 3600
