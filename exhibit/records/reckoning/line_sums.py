"""How often a command comes back wrong over the line: of the times that one was typed, and in two spans."""

from __future__ import annotations

from collections import Counter
from datetime import date

import msgspec

from exhibit.output.columns import in_columns
from exhibit.records.reckoning.of_rows import Rows
from exhibit.records.reckoning.words import chance_words, day_and_time
from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.shares import Share, TwoShares, compare_shares, share


class DayOfTyping(msgspec.Struct, frozen=True, kw_only=True):
    """The commands of a local day: how often one was typed, and came back wrong."""

    date: str
    typed: int
    garbled: int


class LineSums(msgspec.Struct, frozen=True, kw_only=True):
    """What came back wrong."""

    of: str
    days: list[DayOfTyping]
    whole: Share | TooFew
    first: str
    second: str
    spans: TwoShares | TooFew | None
    """None if none were asked for."""
    last: list[str]
    """The last few that came back wrong: when, where, what was typed and what came."""


def line_sums(
    rows: Rows, *, before: date | None = None, after: date | None = None, confidence: float = 0.95
) -> LineSums:
    """The sums; `before` and `after` as in `error_sums`."""
    garbled = Counter(row.at[:10] for row in rows.garbled)
    typed = Counter(row.at[:10] for row in rows.confirmed) + garbled
    days = [DayOfTyping(date=day, typed=typed[day], garbled=garbled[day]) for day in sorted(typed)]
    before, after = before or after, after or before
    spans: TwoShares | TooFew | None = None
    if before is not None and after is not None:
        parts = (
            [day for day in days if day.date < before.isoformat()],
            [day for day in days if day.date >= after.isoformat()],
        )
        wrong = [sum(day.garbled for day in part) for part in parts]
        trials = [sum(day.typed for day in part) for part in parts]
        spans = compare_shares((wrong[0], wrong[1]), (trials[0], trials[1]), confidence)
    return LineSums(
        of=rows.line,
        days=days,
        whole=share(sum(garbled.values()), sum(typed.values()), confidence),
        first=f"Before {before}",
        second=f"from {after} on",
        spans=spans,
        last=[
            f"{day_and_time(row.at)} ({row.recording}, fact {row.seq}): {row.command} came back as "
            f"{row.came_back.strip()}"
            for row in rows.garbled[-5:]
        ],
    )


def lines(found: LineSums) -> list[str]:
    """What is printed."""
    if isinstance(found.whole, TooFew):
        return [found.of, "", found.whole.line]
    table = [("day", "commands typed", "came back wrong", "of 100", f"{found.whole.confidence:.0%} limits")]
    for day in [*found.days, None]:
        name, wrong, trials = (
            (day.date, day.garbled, day.typed) if day else ("all", found.whole.wrong, found.whole.trials)
        )
        one = share(wrong, trials, found.whole.confidence)
        if isinstance(one, Share):
            limits = f"{100 * one.lower:.1f} to {100 * one.upper:.1f}"
            table.append((name, f"{trials}", f"{wrong}", f"{100 * one.share:.1f}", limits))
    said = [found.of, "", *in_columns(table, left=(0,)), ""]
    if isinstance(found.spans, TwoShares):
        verdict = "more than chance" if found.spans.differs else "chance may do that"
        said += [
            f"{found.first}: {100 * found.spans.first.share:.1f} of 100; {found.second}: "
            f"{100 * found.spans.second.share:.1f}: {verdict}. Two equal chances would differ so much "
            f"{chance_words(found.spans.chance)}.",
            f"    {found.spans.basis.line}",
        ]
    elif isinstance(found.spans, TooFew):
        said.append(found.spans.line)
    return [*said, *found.last, "", found.whole.basis.line]
