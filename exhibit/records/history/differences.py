"""What two sides said differently in the same step, without what always varies.

What varies is learnt from several runs of one side: a number that isn't the same in all of them varies. Where
a side has too few runs, nobody can tell a counter from a result: dates and times are left out by their form,
and other numbers are listed apart.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

from exhibit.records.history.signatures import without_numbers
from exhibit.sums.rank_test import rank_test

SURE: Final = 0.05
FEWEST_EACH: Final = 2
FEWEST_OF_ONE: Final = 3
"""What was the same in so many runs of each side, or of one of them, is no counter (our own choice)."""
_NUMBER: Final = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
_TIME: Final = re.compile(r"\d{1,4}(?:[.:/-]\d{1,4}){2,}|\d{1,2}:\d{2}")
"""A date, or a time with seconds, or hours and minutes with a colon; 14.32 may be a voltage as well."""
_WEEKDAY: Final = re.compile(
    r"\b(?:(?:MON|TUES|WEDNES|THURS|FRI|SATUR|SUN)DAY|MONTAG|DIENSTAG|MITTWOCH|DONNERSTAG|FREITAG|SAMSTAG|SONNTAG)\b",
    re.IGNORECASE,
)
_Key = tuple[str, int]
"""A line without its numbers, and which of several such lines of a run it is."""


@dataclass
class Said:
    """What the two sides said differently in a step."""

    only_first: list[str] = field(default_factory=list)
    """Lines with how often they came, "in 5 of 5 runs: ..."."""
    only_second: list[str] = field(default_factory=list)
    other_numbers: list[str] = field(default_factory=list)
    """Lines whose numbers differ although each side always said the same, or differ by more than chance."""
    perhaps: list[str] = field(default_factory=list)
    """Lines whose numbers differ, where too few runs can't tell whether they always do."""

    def __bool__(self) -> bool:
        return bool(self.only_first or self.only_second or self.other_numbers or self.perhaps)


def differences(first: Sequence[list[str]], second: Sequence[list[str]]) -> Said:
    """Compares the lines of some runs of a step with those of others."""
    said = Said()
    if not first or not second:
        return said
    one, other = _by_key(first), _by_key(second)
    for key in _in_order(one, other):
        here, there = one.get(key, []), other.get(key, [])
        if not there:
            if 2 * len(here) >= len(first):
                said.only_first.append(f"in {len(here)} of {_runs(len(first))}: {here[-1]}")
        elif not here:
            if 2 * len(there) >= len(second):
                said.only_second.append(f"in {len(there)} of {_runs(len(second))}: {there[-1]}")
        elif (how := _numbers_differ(here, there)) is not None:
            sure, words = how
            (said.other_numbers if sure else said.perhaps).append(words)
    return said


def _by_key(runs: Iterable[list[str]]) -> dict[_Key, list[str]]:
    """For each line without its numbers: the whole lines, at most one from each run."""
    found: dict[_Key, list[str]] = {}
    for lines in runs:
        counted: dict[str, int] = {}
        for line in lines:
            form = without_numbers(_WEEKDAY.sub("#", line))
            counted[form] = counted.get(form, 0) + 1
            found.setdefault((form, counted[form]), []).append(line)
    return found


def _in_order(one: dict[_Key, list[str]], other: dict[_Key, list[str]]) -> list[_Key]:
    return [*one, *(key for key in other if key not in one)]


def _numbers_differ(first: Sequence[str], second: Sequence[str]) -> tuple[bool, str] | None:
    """Whether the numbers of the same line differ, surely or perhaps, and how; None if they don't."""
    columns_first, columns_second = _columns(first), _columns(second)
    perhaps = ""
    for one, other in zip(columns_first, columns_second, strict=False):
        if set(one) & set(other) == set(one) | set(other):
            continue
        constant = len(set(one)) == 1 and len(set(other)) == 1
        runs = sorted((len(one), len(other)))
        learnt = runs[0] >= FEWEST_EACH or runs[1] >= FEWEST_OF_ONE
        words = f"{first[-1]}  |  {second[-1]}"
        if constant and learnt:
            return True, words
        varies = any(len(set(values)) > 1 for values in (one, other))
        if varies:
            test = rank_test(one, other)
            if test.chance < SURE:
                return True, f"{words}  (numbers differ, p = {test.chance:.2g})"
            continue
        perhaps = perhaps or words
    return (False, perhaps) if perhaps else None


def _columns(lines: Sequence[str]) -> list[list[float]]:
    """The numbers of lines of one form, place by place; dates and times are left out."""
    rows = [[_value(text) for text in _NUMBER.findall(_TIME.sub(" ", line))] for line in lines]
    width = min(len(row) for row in rows)
    return [[row[place] for row in rows] for place in range(width)]


def _value(text: str) -> float:
    return float(text.replace(",", "."))


def _runs(count: int) -> str:
    return "1 run" if count == 1 else f"{count} runs"
