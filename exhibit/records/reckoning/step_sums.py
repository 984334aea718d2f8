"""Step times: which steps became slower or quicker for good, and which single runs were far off.

Only good runs count: those that ended well, and whose command wasn't typed again. Steps that a person does
are left out. Times are on the recording's own clock, as the machine's own are.
"""

from __future__ import annotations

from collections.abc import Collection
from itertools import takewhile
from statistics import NormalDist

import msgspec

from exhibit.output.columns import in_columns
from exhibit.records.index.rows import StepRow
from exhibit.records.index.start_rows import READY
from exhibit.records.reckoning.of_rows import Rows
from exhibit.records.reckoning.words import day_and_time, number, places_words, seconds
from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.charts import Individuals, individuals
from exhibit.sums.statistical.drift import (
    SIGNALLING,
    VALUES_A_FALSE_CUSUM,
    VALUES_A_FALSE_EWMA,
    Change,
    Drift,
    drift,
)
from exhibit.sums.statistical.trend import reversals, reversals_as_rare
from exhibit.sums.tolerance import quantile

_RARE = 0.005
"""So rare an order of few runs is told (our own choice)."""
FINEST_S = 0.01
"""Smaller differences are this computer's, not the machine's (our own choice)."""


class Run(msgspec.Struct, frozen=True, kw_only=True):
    """One good run, and where to find it."""

    at: str
    recording: str
    seq: int
    took_s: float


class StepSum(msgspec.Struct, frozen=True, kw_only=True):
    """What the recordings say about the times of one step. Places count the runs from 0."""

    script: str
    step: str
    runs: list[Run]
    late: int
    """Runs that were over their limit."""
    failed: int
    median_s: float
    spread_s: float
    """Of the middle half."""
    drift: Drift | TooFew
    single: Individuals | TooFew
    off: list[int]
    """Runs so far off that among all runs of all steps one is expected by chance, if times are normal."""

    @property
    def name(self) -> str:
        """SCRIPT.STEP."""
        return f"{self.script}.{self.step}"

    @property
    def changed(self) -> bool:
        """Whether a chart shows a lasting change at the last run."""
        return self.change is not None and self.change.in_latest

    @property
    def change(self) -> Change | None:
        """The latest lasting change, also if it is over."""
        return self.drift.change if isinstance(self.drift, Drift) else None

    @property
    def as_before(self) -> int:
        """How many of the last runs lie where those before the change lay: after a repair it is over."""
        if self.change is None:
            return 0
        before = [run.took_s for run in self.runs[: self.change.began]]
        slowest, quickest, up = max(before), min(before), self.change.up
        last = (run.took_s for run in reversed(self.runs[self.change.began :]))
        return sum(1 for _ in takewhile(lambda s: s <= slowest if up else s >= quickest, last))

    @property
    def far_off(self) -> list[Run]:
        """Single runs that are far off; none if the step changed for good: then the limits are wrong."""
        return [] if self.changed else [self.runs[place] for place in self.off]


class StepSums(msgspec.Struct, frozen=True, kw_only=True):
    """All steps, in the order in which they first ran."""

    of: str
    steps: list[StepSum]
    expected_false: float
    """How many of the steps would show a lasting change by chance alone."""


def step_sums(rows: Rows, names: Collection[str] = (), among: int = 0) -> StepSums:
    """The sums of all steps, or of those named as STEP or SCRIPT.STEP.

    `among`: among how many runs of all steps one is called far off by chance; 0 means those in `rows`.
    """
    of: dict[tuple[str, str], list[StepRow]] = {}
    for row in rows.steps:
        key = row.script, row.step
        wanted = not names or row.step in names or f"{row.script}.{row.step}" in names
        if wanted and key not in rows.by_hand:
            of.setdefault(key, []).append(row)
    wide = max(3.0, NormalDist().inv_cdf(1 - 0.5 / max(2, among or len(rows.steps))))
    steps = [one for key, runs in of.items() if (one := _sum(key, runs, wide)) is not None]
    return StepSums(
        of=rows.line,
        steps=steps,
        expected_false=SIGNALLING * sum(isinstance(one.drift, Drift) for one in steps),
    )


def lines(found: StepSums, *, whole: bool = False) -> list[str]:
    """What is printed: a table of the steps (with `whole` also those without a finding), findings, what they
    rest on.
    """
    judged = [(one, one.drift) for one in found.steps if isinstance(one.drift, Drift)]
    said = [found.of, ""]
    shown = [one for one in found.steps if whole or one.changed or one.far_off]
    if shown:
        table = [("step", "runs", "late", "failed", "median", "middle half within", "")]
        table += [
            (one.name, f"{len(one.runs)}", f"{one.late}", f"{one.failed}", seconds(one.median_s),
             seconds(one.spread_s), _mark(one))
            for one in shown
        ]  # fmt: skip
        said += [*in_columns(table, left=(0, 6)), ""]
    for one in found.steps:
        said += _findings(one, whole=whole)
    if judged and not any(one.changed for one, _ in judged):
        said.append(f"None of the {len(judged)} steps with enough runs became slower or quicker for good.")
    said += _far_off_in_all(found)
    rising = {one.name: words for one in found.steps if (words := _order_of_few(one))}
    said += rising.values()
    few = [one.name for one in found.steps if isinstance(one.drift, TooFew) and one.name not in rising]
    if few:
        wanted = next(one.drift.wanted for one in found.steps if isinstance(one.drift, TooFew))
        said.append(
            f"Too few runs to judge (fewer than {wanted}), so nothing was computed: {places_words(few, 5)}."
        )
    if any(one.step.endswith(READY) for one in found.steps):
        said.append(
            'The step "PART ready" is no step of a folder: it lasts from a person\'s word that the part was '
            "started to the machine's own report of it."
        )
    if judged:
        said += [
            "",
            judged[0][1].basis.line.replace(f"n = {len(judged[0][0].runs)} ", f"n = {_span(judged)} "),
            f"A chart gives a false alarm about once in {VALUES_A_FALSE_CUSUM:,} runs (CUSUM) and "
            f"{VALUES_A_FALSE_EWMA:,} (EWMA); of {len(judged)} steps {number(found.expected_false)} would be "
            "called changed by chance.",
            "Single runs far off: individuals charts (X-mR), limits so wide that of all these runs one is "
            "outside by chance, if times are normal; more if they aren't.",
        ]
    return said


def _sum(key: tuple[str, str], rows: list[StepRow], wide: float) -> StepSum | None:
    good = [row for row in rows if row.outcome == "done" and not row.typed_again]
    if not good:
        return None
    times = [row.took_us / 1e6 for row in good]
    single = individuals(times, finest=FINEST_S)
    return StepSum(
        script=key[0],
        step=key[1],
        runs=[
            Run(at=row.at, recording=row.recording, seq=row.seq, took_s=took_s)
            for row, took_s in zip(good, times, strict=True)
        ],
        late=sum(row.overdue > 0 for row in rows),
        failed=sum(row.outcome == "failed" for row in rows),
        median_s=quantile(times, 0.5),
        spread_s=quantile(times, 0.75) - quantile(times, 0.25),
        drift=drift(times, "runs", FINEST_S),
        single=single,
        off=[] if isinstance(single, TooFew) else _outside(times, single, wide),
    )


def _outside(times: list[float], single: Individuals, wide: float) -> list[int]:
    return [place for place in single.outside if abs(times[place] - single.centre) > wide * single.sigma]


def _mark(one: StepSum) -> str:
    if one.change is not None and one.changed:
        return "slower" if one.change.up else "quicker"
    return f"{len(one.far_off)} far off" if one.far_off else ""


def _far_off_in_all(found: StepSums) -> list[str]:
    """How many runs were far off, since when and by how much: a chart of lasting changes passes over them."""
    off = [(run, run.took_s / one.median_s) for one in found.steps if one.median_s for run in one.far_off]
    if not off:
        return []
    steps = sum(bool(one.far_off) for one in found.steps)
    first, most = min(off, key=lambda pair: pair[0].at)[0], max(times for _, times in off)
    runs = "1 single run" if len(off) == 1 else f"{len(off)} single runs"
    longest = f", up to {number(most)} times as long as the step takes as a rule" if most > 1 else ""
    return [f"Far off: {runs} of {_steps(steps)}{longest}, the first on {day_and_time(first.at)}."]


def _steps(count: int) -> str:
    return "1 step" if count == 1 else f"{count} steps"


def _order_of_few(one: StepSum) -> str:
    """What the order of too few runs for a chart shows all the same: that each took longer, or less long."""
    if not isinstance(one.drift, TooFew):
        return ""
    times = [run.took_s for run in one.runs]
    told = places_words([seconds(took_s) for took_s in times], 9)
    for words, ordered in (("longer and longer", times), ("less and less long", times[::-1])):
        chance = reversals_as_rare(len(times), reversals(ordered))
        if chance <= _RARE:
            return (
                f"{one.name} has only {len(times)} runs, but they take {words}: {told} "
                f"(reverse arrangements, exact: by chance once in {1 / chance:,.0f})."
            )
    return ""


def _findings(one: StepSum, *, whole: bool) -> list[str]:
    if (change := one.change) is not None and (change.in_latest or whole):
        began, noticed = one.runs[change.began], one.runs[change.noticed]
        return [
            f"{one.name} {became(one, change)}",
            f"    It most likely began on {day_and_time(began.at)} ({began.recording}, fact {began.seq}); "
            f"{change.by} noticed it from {day_and_time(noticed.at)} on.",
        ]
    if one.far_off:
        runs = [
            f"{seconds(run.took_s)} on {day_and_time(run.at)} ({run.recording}, fact {run.seq})"
            for run in one.far_off
        ]
        return [f"{one.name} took {seconds(one.median_s)} as a rule, but {places_words(runs)}."]
    return []


def became(one: StepSum, change: Change) -> str:
    """What became of a step, and whether it still is so, as a sentence without its beginning."""
    still = " and still is" if change.in_latest and not one.as_before else ""
    now = "" if change.in_latest else " It no longer is."
    if change.in_latest and one.as_before:
        which = "last run was" if one.as_before == 1 else f"last {one.as_before} runs were"
        now = f" But its {which} as {'quick' if change.up else 'slow'} as before that."
    way = "slower" if change.up else "quicker"
    return f"became {way}{still}: median {seconds(change.before)}, then {seconds(change.after)}.{now}"


def _span(judged: list[tuple[StepSum, Drift]]) -> str:
    numbers = sorted(len(one.runs) for one, _ in judged)
    return f"{numbers[0]}" if numbers[0] == numbers[-1] else f"{numbers[0]} to {numbers[-1]}"
