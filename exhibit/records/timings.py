"""What `exhibit timings` prints: how long each step took, and which limit the recordings support."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

import msgspec

from exhibit.decisions.machine.script import (
    CheckPack,
    Folder,
    GiveCaption,
    HandsOn,
    Pause,
    Script,
    TypeCommand,
    TypeSecret,
)
from exhibit.facts.errors import SetUpFault
from exhibit.facts.kinds import RecordingOpened
from exhibit.facts.units import MIN_US, MS_US, S_US
from exhibit.facts.wall_times import WallTimes
from exhibit.folder.whole import USUAL_SCRIPTS, read_folder
from exhibit.output.columns import in_columns
from exhibit.records.given_recordings import opened_recordings, places
from exhibit.streams.recording import Damaged, read
from exhibit.sums.step_times import StepTimes, Stopwatch
from exhibit.sums.tolerance import supported_coverage

HEADINGS: Final = (
    "", "runs", "late", "failed", "median", "spread", "slowest", "limit", "supported", "because"
)  # fmt: skip
FEWEST_OF_100: Final = 50
"""Nothing is said of so few runs that not even half of all are known to keep the slowest (our own choice).
"""
EXTREMES: Final = ("", "quickest run", "slowest run")
EXPLANATION: Final = (
    "runs: those that ended well. late: over the limit of their day. spread: of the middle half of the runs.",
    "supported: with 95 % confidence, at least 95 of 100 such runs keep this limit, if the days to come are",
    "like those recorded: the same machine, as warm as then, with as much to do. If there are too few runs,",
    "the last column says with the same confidence how many of 100 keep the slowest one.",
)


class Row(msgspec.Struct, frozen=True):
    """A step that has a limit, and what the recordings say about it."""

    script: str
    step: str
    limit_us: int
    times: StepTimes
    supported_us: int | None
    """The limit that the runs support, rounded up; None if they support none."""
    because: str
    """What that limit rests on, or why there is none."""


class Timings(msgspec.Struct, frozen=True):
    """The steps of a folder in the order of a day, and notes on what else a person should know."""

    rows: list[Row]
    notes: list[str]
    extremes: list[tuple[str, str, str]]
    """For each step that varied: its name, its quickest and its slowest run, each with its recording."""


def timings(folder: Path, recordings: Sequence[Path]) -> Timings:
    """The times of all steps with a limit in the machine's folder, from recordings or folders of them.

    A recording that is given twice, or is a copy of another, counts once. Raises FolderMistakes,
    RecordingFault, and SetUpFault if there is no recording, one is of another machine, or some are of the
    real machine and some of a simulated one.
    """
    machine = read_folder(folder)
    watch = Stopwatch()
    notes: list[str] = []
    used: dict[bytes, RecordingOpened] = {}
    clocks: dict[str, WallTimes] = {}
    for path, opened in opened_recordings(
        recordings,
        machine.machine.name,
        why_some="So nothing is known of how long its steps take.",
        why_one_machine="Times of one machine say nothing about another.",
    ):
        _check_kind(opened, list(used.values()))
        mark = msgspec.json.encode(opened)
        if mark in used:
            notes.append(f"{path.name} is a copy of another recording here and was left out.")
            continue
        used[mark] = opened
        clocks[path.name] = WallTimes()
        clocks[path.name].set(opened.wall, 0, opened.rate)
        damaged = _take_all(path, watch)
        if damaged:
            notes.append(f"{path.name} is damaged in {places(damaged)}; the steps there aren't counted.")
    rows = list(_rows(machine, watch))
    notes += _notes(machine, watch, list(used.values()), rows)
    return Timings(rows, notes, [extreme for row in rows for extreme in _extremes(row, watch, clocks)])


def rounded_limit_us(us: float) -> int:
    """The smallest limit of few figures, in microseconds, that isn't below `us`.

    Below one second it is in hundredths of a second, below ten seconds in tenths, below ten minutes in
    seconds, and then in minutes.
    """
    for below, step_us in ((S_US, 10 * MS_US), (10 * S_US, 100 * MS_US), (10 * MIN_US, S_US)):
        rounded = _rounded_up(us, step_us)
        if rounded < below:
            return rounded
    return _rounded_up(us, MIN_US)


def time_text(us: float) -> str:
    """A time to about three figures: "80 ms", "1.3 s", "45 s", "12 min". Exact for a rounded limit."""
    unit_us, unit = MS_US, "ms"
    if us >= S_US:
        unit_us, unit = (S_US, "s") if us < 10 * MIN_US else (MIN_US, "min")
    value = us / unit_us
    places = 0 if value >= 100 or abs(value - round(value)) < 1e-9 else 1 if value >= 10 else 2
    text = f"{value:.{places}f}"
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {unit}"


def table(found: Timings) -> list[str]:
    """The lines of a plain table with a row for each step, then its explanation and the notes."""
    lines: list[Sequence[str]] = [HEADINGS]
    script = ""
    for row in found.rows:
        if row.script != script:
            script = row.script
            lines.append((script, *[""] * (len(HEADINGS) - 1)))
        lines.append(_cells(row))
    shown = in_columns(lines, left=(0, len(HEADINGS) - 1))
    extremes = in_columns([EXTREMES, *found.extremes], left=(0, 1, 2)) if found.extremes else []
    return [*shown, "", *EXPLANATION, "", *extremes, *([""] if extremes else []), *found.notes]


def _rounded_up(us: float, step_us: int) -> int:
    return -int(-us // step_us) * step_us


def _check_kind(opened: RecordingOpened, others: Sequence[RecordingOpened]) -> None:
    if any(other.machine_is != opened.machine_is for other in others):
        raise SetUpFault(
            "Some of these recordings are of the real machine and some of a simulated one.",
            "Times of the simulated one would count as times of the real one.",
            "Name recordings of one kind.",
        )


def _take_all(path: Path, watch: Stopwatch) -> int:
    """Takes a recording's times. Returns in how many places it is damaged, not counting a torn last line."""
    damaged = 0
    watch.begin(path.name)
    for entry in read(path):
        if isinstance(entry, Damaged):
            watch.interrupted()
            damaged += not entry.torn
        else:
            watch.take(entry)
    watch.interrupted()
    return damaged


def _rows(folder: Folder, watch: Stopwatch) -> Iterator[Row]:
    for script in _in_day_order(folder):
        for step in (*script.steps, *script.tidy_up):
            if isinstance(step, Pause | GiveCaption):
                continue
            times = watch.steps.get((script.name, step.name), StepTimes())
            supported_us, because = _supported(times, by_hand=isinstance(step, HandsOn | CheckPack))
            yield Row(script.name, step.name, step.within_us, times, supported_us, because)


def _in_day_order(folder: Folder) -> list[Script]:
    """Opening, round and closing, then the other scripts by name."""
    usual = [folder.scripts[name] for name in USUAL_SCRIPTS]
    return usual + [folder.scripts[name] for name in sorted(folder.scripts) if name not in USUAL_SCRIPTS]


def _supported(times: StepTimes, *, by_hand: bool) -> tuple[int | None, str]:
    if by_hand:
        return None, "done by a person, who isn't hurried"
    bound = times.bound()
    beyond = f", {times.cut_off} cut off" if times.cut_off else ""
    if bound.upper is None:
        return None, f"too few runs: {bound.runs} of {bound.wanted}{beyond}{_so_far(times)}"
    if bound.kind == "distribution-free":
        return rounded_limit_us(bound.upper), f"the slowest of {len(times.good_us)} runs{beyond}"
    return rounded_limit_us(bound.upper), (
        f"{bound.runs} runs, assumed normal: mean + {bound.deviations:.2f} deviations, or the slowest"
    )


def _so_far(times: StepTimes) -> str:
    """What can be said of too few runs; empty if nothing can."""
    share = supported_coverage(len(times.good_us) + times.cut_off, rank=times.cut_off + 1)
    kept = math.floor(100 * share)
    return f"; at least {kept} of 100 keep the slowest" if kept >= FEWEST_OF_100 else ""


def _extremes(row: Row, watch: Stopwatch, clocks: dict[str, WallTimes]) -> Iterator[tuple[str, str, str]]:
    """The extreme runs of a step. Yields nothing if all its runs took the same time."""
    runs = watch.extremes.get((row.script, row.step))
    if runs is not None and runs[0].took_us < runs[1].took_us:
        quickest, slowest = (
            f"{time_text(run.took_us)} in {run.recording} at {clocks[run.recording].wall(run.at_us)[11:19]}"
            for run in runs
        )
        yield f"{row.script}.{row.step}", quickest, slowest


def _cells(row: Row) -> tuple[str, ...]:
    times = row.times
    measured = ("", "", "")
    if times.good_us:
        measured = (time_text(times.median_us), time_text(times.spread_us), time_text(times.slowest_us))
    return (
        f"  {row.step}",
        f"{len(times.good_us)}",
        f"{times.overdue}",
        f"{times.failed}",
        *measured,
        time_text(row.limit_us),
        "" if row.supported_us is None else time_text(row.supported_us),
        row.because,
    )


def _chance_of_a_late_step(steps: Sequence[StepTimes]) -> float:
    """At most how likely it is that some step takes longer than its slowest good run did.

    Among n runs and the next one, each is equally likely to be the slowest: 1 in n + 1.
    """
    return 1 - math.prod(1 - (step.cut_off + 1) / (len(step.good_us) + step.cut_off + 1) for step in steps)


def _notes(
    folder: Folder, watch: Stopwatch, opened: Sequence[RecordingOpened], rows: Sequence[Row]
) -> Iterator[str]:
    for script in _in_day_order(folder):
        file = f"{script.name}.toml"
        changed = sum(recording.digests.get(file) != folder.digests.get(file) for recording in opened)
        if changed:
            yield (
                f"In {changed} of {len(opened)} recordings {file} was not as it is now: "
                "check whether its steps did the same then."
            )
        supported = [row.times for row in rows if row.script == script.name and row.supported_us]
        late = _chance_of_a_late_step(supported)
        if late:
            yield (
                f"With exactly the supported limits, up to {math.ceil(100 * late)} in 100 runs of "
                f"{script.name} would have a late step."
            )
    for row in rows:
        if row.times.good_us and row.times.slowest_us * 10 > row.limit_us * 9 and row.supported_us is None:
            yield f"{row.script}.{row.step} came close to its limit of {time_text(row.limit_us)}."
    typed = {
        (script.name, step.name)
        for script in folder.scripts.values()
        for step in (*script.steps, *script.tidy_up)
        if isinstance(step, TypeCommand | TypeSecret)
    }
    echo_us = folder.machine.typing.echo_within_us
    too_short = [
        row for row in rows if (row.script, row.step) in typed and 0 < (row.supported_us or 0) <= echo_us
    ]
    if too_short:
        yield (
            f"{len(too_short)} of the supported limits leave no time to type a command again: its echo "
            f"counts as lost only after {time_text(echo_us)}."
        )
    known = {
        (script.name, step.name)
        for script in folder.scripts.values()
        for step in (*script.steps, *script.tidy_up)
    }
    gone = [f"{script}.{step}" for script, step in watch.steps if (script, step) not in known]
    if gone:
        yield f"Recorded, but no longer in the folder: {', '.join(gone)}."
    if any(recording.machine_is == "simulated" for recording in opened):
        yield "These are times of a simulated machine, not of a real one."
    rates = sorted({recording.rate for recording in opened} - {1.0})
    if rates:
        yield (
            f"Recorded at {', '.join(f'{rate:g}' for rate in rates)} times the real speed: "
            "this computer's own delays are multiplied by as much."
        )
