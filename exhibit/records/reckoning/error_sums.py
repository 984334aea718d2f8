"""Disc errors per hour of exercise: for each day, in two spans, and before and after the machine was warm.

The readings of a status display and the lines of an error log report the same errors, so of a day that source
counts which reports more. An error that a reading reports happened at some time since the reading before it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from datetime import date

import msgspec

from exhibit.output.columns import in_columns
from exhibit.records.index.rows import ErrorsRow, JobRow
from exhibit.records.reckoning.of_rows import Rows
from exhibit.records.reckoning.words import chance_words, number, range_words
from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.rates import Bunching, Comparison, Rate, bunching, compare, rate

WARM_S = 30 * 60.0
"""When a machine counts as warm, if nothing else is said (our own choice)."""
AGES_MIN = (0, 10, 20, 30, 45, 60, 90, 120, 240)
"""Where the groups of minutes since power-on begin; the last has no end (our own choice)."""

OTHER_RATES = (
    "Hours here are hours of exercisers (two at once make two), and of each day the source counts that "
    "reported more. `exhibit incidents` counts each source by itself, by hours that were recorded or had the "
    "machine on; so its rates can differ."
)


class DayOfErrors(msgspec.Struct, frozen=True, kw_only=True):
    """The errors of a local day. Hours are exerciser-hours: two exercisers for an hour make two."""

    date: str
    errors: int
    hours: float
    rate: Rate | TooFew


class AgeOfErrors(msgspec.Struct, frozen=True, kw_only=True):
    """The errors while the machine had been on for so many minutes. Hours are exerciser-hours."""

    from_min: int
    until_min: int | None
    """None if it has no end."""
    errors: int
    hours: float
    rate: Rate | TooFew

    @property
    def name(self) -> str:
        """Such as "20 to 30 min"."""
        return (
            f"from {self.from_min} min"
            if self.until_min is None
            else f"{self.from_min} to {self.until_min} min"
        )


class TwoSpans(msgspec.Struct, frozen=True, kw_only=True):
    """Two spans compared, and what they are."""

    first: str
    second: str
    result: Comparison | TooFew


class ErrorSums(msgspec.Struct, frozen=True, kw_only=True):
    """The disc errors of a machine."""

    of: str
    part: str
    """The part whose exercisers' hours count; empty: all of them."""
    days: list[DayOfErrors]
    whole: Rate | TooFew
    bunching: Bunching | TooFew
    spans: TwoSpans | None
    """None if none were asked for."""
    warm: TwoSpans
    """The time until the machine was warm, and the time after."""
    ages: list[AgeOfErrors]
    """By the time since power-on, where an exerciser ran."""
    first_error_s: float | None
    """The shortest time since power-on after which an error was reported; None if there was none."""
    unplaced: int
    """Errors of which nobody knows how long the machine had been on."""


def error_sums(
    rows: Rows,
    *,
    part: str = "",
    before: date | None = None,
    after: date | None = None,
    warm_s: float = WARM_S,
    confidence: float = 0.95,
) -> ErrorSums:
    """The sums; `before` and `after` are local dates: the spans are up to the one, and from the other on.

    If only one is given, both begin and end there. `part`: only exercisers of this part count. `warm_s`:
    seconds since power-on from which the machine is warm.
    """
    jobs = [row for row in rows.jobs if not part or row.part == part]
    errors = [row for row in rows.errors if not part or part in row.parts.split()]
    dates = sorted({row.at[:10] for row in jobs} | {row.at[:10] for row in errors if row.count})
    days = []
    for day in dates:
        count = _count(row for row in errors if row.at[:10] == day)
        hours = math.fsum(row.ran_s for row in jobs if row.at[:10] == day) / 3600
        days.append(DayOfErrors(date=day, errors=count, hours=hours, rate=rate(count, hours, confidence)))
    known = [row for row in errors if row.on_s is not None]
    cold_hours = math.fsum(_cold_s(row, warm_s) for row in jobs if row.on_s is not None) / 3600
    all_hours = math.fsum(row.ran_s for row in jobs if row.on_s is not None) / 3600
    warm_min = f"{warm_s / 60:.0f} minutes"

    def is_cold(row: ErrorsRow) -> bool:
        return row.on_s is not None and row.on_s < warm_s

    return ErrorSums(
        of=rows.line,
        part=part,
        days=days,
        whole=rate(sum(day.errors for day in days), math.fsum(day.hours for day in days), confidence),
        bunching=bunching([day.errors for day in days], [day.hours for day in days]),
        spans=_spans(days, before or after, after or before, confidence),
        warm=TwoSpans(
            first=f"the first {warm_min} after power-on",
            second="later",
            result=compare(
                (_days_count(known, is_cold), _days_count(known, lambda row: not is_cold(row))),
                (cold_hours, max(0.0, all_hours - cold_hours)),
                confidence,
            ),
        ),
        ages=_ages(jobs, known, confidence),
        first_error_s=min((row.on_s for row in known if row.count and row.on_s is not None), default=None),
        unplaced=_days_count(errors, lambda row: row.on_s is None),
    )


def lines(found: ErrorSums) -> list[str]:
    """What is printed."""
    said = [found.of, f"Exercisers of {found.part} only." if found.part else "All exercisers.", ""]
    if isinstance(found.whole, TooFew):
        return [*said, found.whole.line]
    table: list[tuple[str, ...]] = [
        ("day", "exerciser-hours", "errors", "an hour", f"{found.whole.confidence:.0%} limits")
    ]
    table += [_cells(day.date, day.hours, day.errors, day.rate) for day in found.days]
    table.append(_cells("all", found.whole.hours, found.whole.errors, found.whole))
    said += [*in_columns(table, left=(0,)), ""]
    for spans in (found.spans, found.warm):
        said += _compared(spans) if spans is not None else []
    said += _by_age(found)
    if found.unplaced:
        said.append(
            f"{found.unplaced} errors are left out there: nobody knows when the machine was switched on."
        )
    said += [
        *_bunching_words(found.bunching),
        "",
        found.whole.basis.line,
        *([] if isinstance(found.bunching, TooFew) else [found.bunching.basis.line]),
        "",
        OTHER_RATES,
    ]
    return said


def _bunching_words(found: Bunching | TooFew) -> list[str]:
    """Whether the errors come in bunches, whatever the answer is."""
    if isinstance(found, TooFew):
        return [f"Whether the errors come in bunches can't be said. {found.line}"]
    varies = f"from day to day they vary {number(found.index)} times as much as independent ones would"
    if found.bunched:
        return [
            f"The errors come in bunches: {varies} ({chance_words(found.chance)} by chance alone). "
            "So these limits are too narrow, and differences less sure."
        ]
    return [
        f"No sign that the errors come in bunches: {varies}, and chance alone does that or more "
        f"{chance_words(found.chance)}."
    ]


def _by_age(found: ErrorSums) -> list[str]:
    """The errors by the time since power-on, so that nobody has to trust one border between cold and warm."""
    if found.first_error_s is None or not found.ages:
        return []
    table: list[tuple[str, ...]] = [("since power-on", "exerciser-hours", "errors", "an hour", "limits")]
    table += [_cells(one.name, one.hours, one.errors, one.rate) for one in found.ages]
    return [
        "",
        *in_columns(table, left=(0,)),
        "",
        f"The earliest error was reported {found.first_error_s / 60:.0f} minutes after power-on. Where cold "
        "ends is a choice (--warm): made after a look at these errors, it makes the difference look surer "
        "than it is.",
    ]


def _cells(name: str, hours: float, errors: int, found: Rate | TooFew) -> tuple[str, ...]:
    if isinstance(found, TooFew):
        return name, number(hours), f"{errors}", "", "no exerciser ran"
    return name, number(hours), f"{errors}", number(found.per_hour), range_words(found.lower, found.upper)


def _compared(spans: TwoSpans) -> list[str]:
    result = spans.result
    if isinstance(result, TooFew):
        return [f"{spans.first}, and {spans.second}: {result.line}"]
    first, second = result.first, result.second
    verdict = "more than chance" if result.differs else "chance may do that"
    ratio = (
        f"{number(result.ratio)} times the rate" if math.isfinite(result.ratio) else "There were none before"
    )
    limits = range_words(result.ratio_lower, result.ratio_upper)
    return [
        f"{spans.first}: {first.errors} errors in {number(first.hours)} h, {number(first.per_hour)} an hour; "
        f"{spans.second}: {second.errors} in {number(second.hours)} h, {number(second.per_hour)} an hour.",
        f"    {ratio} ({result.confidence:.0%} limits {limits}): {verdict}. "
        f"Two equal rates would differ so much {chance_words(result.chance)}.",
        f"    {result.basis.line}",
    ]


def _spans(
    days: list[DayOfErrors], before: date | None, after: date | None, confidence: float
) -> TwoSpans | None:
    if before is None or after is None:
        return None
    first = [day for day in days if day.date < before.isoformat()]
    second = [day for day in days if day.date >= after.isoformat()]
    return TwoSpans(
        first=f"Before {before}",
        second=f"from {after} on",
        result=compare(
            (sum(day.errors for day in first), sum(day.errors for day in second)),
            (math.fsum(day.hours for day in first), math.fsum(day.hours for day in second)),
            confidence,
        ),
    )


def _count(errors: Iterable[ErrorsRow]) -> int:
    """The errors of one day, by that source which reports more."""
    by_source = {"reading": 0, "log": 0}
    for row in errors:
        by_source["log" if row.entry else "reading"] += row.count
    return max(by_source.values())


def _days_count(errors: list[ErrorsRow], wanted: Callable[[ErrorsRow], bool]) -> int:
    """The errors of several days that are wanted: of each day, of that source which reports more that day."""
    of: dict[str, list[ErrorsRow]] = {}
    for row in errors:
        of.setdefault(row.at[:10], []).append(row)
    total = 0
    for day in of.values():
        logged = sum(row.count for row in day if row.entry)
        read = sum(row.count for row in day if not row.entry)
        total += sum(row.count for row in day if bool(row.entry) == (logged > read) and wanted(row))
    return total


def _ages(jobs: list[JobRow], errors: list[ErrorsRow], confidence: float) -> list[AgeOfErrors]:
    """The groups in which an exerciser ran, or an error was reported."""
    found = []
    for low, high in zip(AGES_MIN, (*AGES_MIN[1:], None), strict=True):
        from_s, until_s = low * 60.0, math.inf if high is None else high * 60.0

        def is_of_age(row: ErrorsRow, from_s: float = from_s, until_s: float = until_s) -> bool:
            return row.on_s is not None and from_s <= row.on_s < until_s

        ran_s = (
            min(row.on_s + row.ran_s, until_s) - max(row.on_s, from_s) for row in jobs if row.on_s is not None
        )
        hours = math.fsum(max(0.0, one) for one in ran_s) / 3600
        count = _days_count(errors, is_of_age)
        if hours or count:
            found.append(
                AgeOfErrors(
                    from_min=low,
                    until_min=high,
                    errors=count,
                    hours=hours,
                    rate=rate(count, hours, confidence),
                )
            )
    return found


def _cold_s(job: JobRow, warm_s: float) -> float:
    """How long it ran before the machine was warm."""
    return min(job.ran_s, max(0.0, warm_s - (job.on_s or 0.0)))
