"""Compares two recordings, two days, or the same script on two machines: step by step, what and how long."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any, Final

import msgspec

from exhibit.output.printable import as_unicode
from exhibit.records.history.differences import Said, differences
from exhibit.records.history.step_runs import Compared, StepRuns, all_steps
from exhibit.records.timings import time_text
from exhibit.sums.rank_test import RankTest, holm, rank_test
from exhibit.sums.tolerance import quantile

SURE: Final = 0.05
NOTHING: Final = StepRuns()
MOST_LINES: Final = 12
"""Lines of one kind that are printed of a step."""


@dataclass(frozen=True)
class Times:
    """How long a step took on both sides. `chance` is corrected for the number of steps; None if untold."""

    first_us: float
    second_us: float
    """Medians."""
    test: RankTest
    chance: float

    @property
    def ratio(self) -> float:
        """The second divided by the first."""
        return self.second_us / self.first_us if self.first_us else math.inf

    @property
    def too_few(self) -> bool:
        """Whether so few runs can't tell anything, whatever they took."""
        return self.test.least > SURE

    @property
    def differs(self) -> bool:
        """Whether they differ by more than chance."""
        return self.chance < SURE


@dataclass(frozen=True)
class StepCompared:
    """A step on both sides."""

    name: str
    first: StepRuns
    second: StepRuns
    said: Said
    times: Times | None
    """None where a side has no run that was done."""


def compare(first: Compared, second: Compared) -> list[StepCompared]:
    """All steps, in the order of a day."""
    names = all_steps((first, second))
    tests: dict[str, RankTest] = {}
    for name in names:
        one, other = first.steps.get(name, NOTHING), second.steps.get(name, NOTHING)
        if one.took_us and other.took_us:
            tests[name] = rank_test(one.took_us, other.took_us)
    # Only those can be told from chance that have runs enough, so only they count as looked at.
    told = [name for name, test in tests.items() if test.least <= SURE]
    corrected = dict(zip(told, holm([tests[name].chance for name in told]), strict=True))
    found = []
    for name in names:
        one, other = first.steps.get(name, NOTHING), second.steps.get(name, NOTHING)
        times = None
        if name in tests:
            medians = quantile(one.took_us, 0.5), quantile(other.took_us, 0.5)
            times = Times(*medians, tests[name], corrected.get(name, 1.0))
        found.append(StepCompared(name, one, other, differences(one.lines, other.lines), times))
    return found


def lines_of(first: Compared, second: Compared, steps: list[StepCompared]) -> list[str]:
    """The comparison as lines for people: A is the first, B the second."""
    lines = [_about("A", first), _about("B", second), ""]
    ran = [line for step in steps if (line := _ran(step))]
    lines += [*(["Not the same steps, or not with the same end", *ran, ""] if ran else [])]
    said = [line for step in steps if step.said for line in _said(step)]
    lines += ["Said differently", *(said or ["  Nothing, apart from what always varies."]), ""]
    lines += ["Took longer or shorter", *_times(steps)]
    return lines


def as_json_text(first: Compared, second: Compared, steps: list[StepCompared]) -> str:
    """The same as one line of JSON."""

    def side(compared: Compared) -> dict[str, Any]:
        return {
            "name": as_unicode(compared.name),
            "machines": compared.machines,
            "recordings": compared.recordings,
        }

    def counts(runs: StepRuns) -> dict[str, Any]:
        return {name: value for name, value in asdict(runs).items() if name not in ("lines", "took_us")}

    return msgspec.json.encode(
        {
            "first": side(first),
            "second": side(second),
            "steps": [
                {
                    "step": step.name,
                    "first": counts(step.first),
                    "second": counts(step.second),
                    "said": asdict(step.said),
                    "times": None
                    if step.times is None
                    else {
                        "first_us": step.times.first_us,
                        "second_us": step.times.second_us,
                        "chance": None if step.times.too_few else step.times.chance,
                    },
                }
                for step in steps
            ],
        }
    ).decode()


def _about(letter: str, side: Compared) -> str:
    machines = ", ".join(side.machines)
    read = f", lines from the newest {side.read} of them" if side.read < side.recordings else ""
    return f"{letter}: {side.name} ({machines}; {_many(side.recordings, 'recording')}{read})"


def _ran(step: StepCompared) -> str:
    one, other = step.first, step.second
    if bool(one.done) == bool(other.done) and not one.not_done and not other.not_done:
        return ""
    if not one.done + one.not_done + other.done + other.not_done:
        return ""
    return f"  {step.name}: A {_ends(one)}; B {_ends(other)}"


def _ends(runs: StepRuns) -> str:
    counted = (
        (runs.done, "done"),
        (runs.not_done, "not done"),
        (runs.left_out, "left out"),
        (runs.late, "late"),
    )
    return ", ".join(f"{count} {name}" for count, name in counted if count) or "never ran"


def _said(step: StepCompared) -> Iterator[str]:
    yield f"  {step.name}"
    for title, lines in (
        ("only A", step.said.only_first),
        ("only B", step.said.only_second),
        ("A | B", step.said.other_numbers),
        ("perhaps always so (too few runs to tell), A | B", step.said.perhaps),
    ):
        for line in lines[:MOST_LINES]:
            yield f"    {title}: {line}"
        if len(lines) > MOST_LINES:
            yield f"    {title}: and {len(lines) - MOST_LINES} more"


def _times(steps: list[StepCompared]) -> Iterator[str]:
    told = [step for step in steps if step.times is not None and step.times.differs]
    few = [step for step in steps if step.times is not None and step.times.too_few]
    looked_at = sum(step.times is not None for step in steps)
    width = max((len(step.name) for step in told), default=0)
    for step in sorted(
        told, key=lambda one: -abs(math.log(max(one.times.ratio, 1e-9))) if one.times else 0.0
    ):
        assert step.times is not None
        took = f"A {time_text(step.times.first_us)}, B {time_text(step.times.second_us)}"
        how = f"{step.times.ratio:.3g} times as long"
        yield f"  {step.name:<{width}}  {took} (medians), {how}, p = {step.times.chance:.2g}"
    if told:
        times = told[0].times
        assert times is not None
        yield f"  {times.test.line} p is corrected for {looked_at - len(few)} steps (Holm)."
    elif looked_at > len(few):
        yield f"  No step of {looked_at - len(few)} by more than chance."
    if few:
        yield (
            f"  {_many(len(few), 'step')} ran too seldom to tell anything from chance: "
            "with the same number on each side, at least 4 runs are needed."
        )


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"
