"""Step times: which steps became slower or quicker for good, and which single runs were far off.

Only good runs count: those that ended well, and whose command wasn't typed again. Steps that a person does
are left out. Times are on the recording's own clock, as the machine's own are.
"""

from __future__ import annotations

import math
from collections.abc import Collection

import msgspec

from exhibit.output.columns import in_columns
from exhibit.records.index.rows import StepRow
from exhibit.records.reckoning.of_rows import Rows
from exhibit.records.reckoning.words import day_and_time, places_words, seconds
from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.charts import Individuals, individuals
from exhibit.sums.statistical.drift import VALUES_A_FALSE_CUSUM, VALUES_A_FALSE_EWMA, Drift, drift
from exhibit.sums.tolerance import quantile

FINEST_S = 0.01
"""Smaller differences are this computer's, not the machine's (our own choice)."""
VALUES_A_FALSE_INDIVIDUAL = 370
"""Of normal values one in 370 lies outside three known deviations."""


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

    @property
    def name(self) -> str:
        """SCRIPT.STEP."""
        return f"{self.script}.{self.step}"

    @property
    def changed(self) -> bool:
        """Whether a chart shows a lasting change."""
        return isinstance(self.drift, Drift) and self.drift.change is not None

    @property
    def far_off(self) -> list[Run]:
        """Single runs outside the limits; none if the step changed for good: then the limits are wrong."""
        if self.changed or isinstance(self.single, TooFew):
            return []
        return [self.runs[place] for place in self.single.outside]


class StepSums(msgspec.Struct, frozen=True, kw_only=True):
    """All steps, in the order in which they first ran."""

    of: str
    steps: list[StepSum]
    expected_false: float
    """How many steps would show a lasting change by chance alone, at most."""


def step_sums(rows: Rows, names: Collection[str] = ()) -> StepSums:
    """The sums of all steps, or of those named as STEP or SCRIPT.STEP."""
    of: dict[tuple[str, str], list[StepRow]] = {}
    for row in rows.steps:
        key = row.script, row.step
        wanted = not names or row.step in names or f"{row.script}.{row.step}" in names
        if wanted and key not in rows.by_hand:
            of.setdefault(key, []).append(row)
    steps = [one for key, runs in of.items() if (one := _sum(key, runs)) is not None]
    return StepSums(
        of=rows.line,
        steps=steps,
        expected_false=math.fsum(one.drift.expected_false for one in steps if isinstance(one.drift, Drift)),
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
        said += _findings(one)
    if judged and not any(one.changed for one, _ in judged):
        said.append(f"None of the {len(judged)} steps with enough runs became slower or quicker for good.")
    few = [one.name for one in found.steps if isinstance(one.drift, TooFew)]
    if few:
        wanted = next(one.drift.wanted for one in found.steps if isinstance(one.drift, TooFew))
        said.append(
            f"Too few runs to judge (fewer than {wanted}), so nothing was computed: {places_words(few, 5)}."
        )
    if judged:
        said += [
            "",
            judged[0][1].basis.line.replace(f"n = {len(judged[0][0].runs)} ", f"n = {_span(judged)} "),
            f"Each chart is wrong about once in {VALUES_A_FALSE_CUSUM:,} and {VALUES_A_FALSE_EWMA:,} runs; "
            f"among these {len(judged)} steps, {found.expected_false:.2f} changes would be due to chance.",
            "Single runs far off: individuals charts (X-mR) with three deviations, of which one run in "
            f"{VALUES_A_FALSE_INDIVIDUAL} lies outside by chance if times are normal; more if they aren't.",
        ]
    return said


def _sum(key: tuple[str, str], rows: list[StepRow]) -> StepSum | None:
    good = [row for row in rows if row.outcome == "done" and not row.typed_again]
    if not good:
        return None
    times = [row.took_us / 1e6 for row in good]
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
        single=individuals(times, finest=FINEST_S),
    )


def _mark(one: StepSum) -> str:
    if isinstance(one.drift, Drift) and one.drift.change is not None:
        return "slower" if one.drift.change.up else "quicker"
    return f"{len(one.far_off)} far off" if one.far_off else ""


def _findings(one: StepSum) -> list[str]:
    if isinstance(one.drift, Drift) and (change := one.drift.change) is not None:
        began, noticed = one.runs[change.began], one.runs[change.noticed]
        still = "and still is" if change.in_latest else "and no longer is"
        return [
            f"{one.name} became {'slower' if change.up else 'quicker'} {still}: median "
            f"{seconds(change.before)}, then {seconds(change.after)}.",
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


def _span(judged: list[tuple[StepSum, Drift]]) -> str:
    numbers = sorted(len(one.runs) for one, _ in judged)
    return f"{numbers[0]}" if numbers[0] == numbers[-1] else f"{numbers[0]} to {numbers[-1]}"
