"""What `exhibit rehearse` prints: which steps of the scripts would now go differently from a recording."""

from __future__ import annotations

import datetime
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from itertools import zip_longest
from pathlib import Path
from typing import Final

import msgspec

from exhibit.decisions.machine.script import Folder, Script
from exhibit.decisions.rehearsal.recorded_run import MOST_ENTRIES, runs_of
from exhibit.decisions.rehearsal.rehearsal import Rehearsal, RunRehearsed
from exhibit.decisions.rehearsal.step_results import RunSummary, Seen, StepSummary
from exhibit.decisions.session.left_open import BY
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault
from exhibit.folder.whole import read_folder
from exhibit.records.given_recordings import opened_recordings, places
from exhibit.records.timings import time_text
from exhibit.streams.recording import Damaged, read

HEADINGS: Final = ("step", "then", "now")
WIDEST: Final = 56
"""The most characters in a column of the table."""
SAME: Final = "the same"
MOST_KEPT_BYTES: Final = 200_000_000
"""Of one run, which is kept in memory as a whole. A round has about 5 million."""
_ENTRY_BYTES: Final = 400
"""About what an entry takes (measured), without what the machine sent."""
WORTH_SAYING_US: Final = 1_000_000
"""A step whose time changes by more than this has its new time in the table. That alone is no difference."""

Key = tuple[str, bool]
"""A step's name, and whether it belongs to the tidy-up."""


class Row(msgspec.Struct, frozen=True):
    """A step of a run, in words."""

    step: str
    then: str
    now: str
    differs: bool


class Report(msgspec.Struct):
    """What a rehearsal found, as lines to print, and whether anything differs."""

    lines: list[str]
    differs: bool


def rehearse(folder: Path, recordings: Sequence[Path]) -> Report:
    """Rehearses the machine's folder against recordings: files, or folders of them.

    Raises FolderMistakes, RecordingFault, and SetUpFault if there is no recording, or one is of another
    machine.
    """
    described = read_folder(folder)
    report = Report([], False)
    ran: set[str] = set()
    for path, opened in opened_recordings(
        recordings,
        described.machine.name,
        why_some="So there is nothing to rehearse against.",
        why_one_machine="A script says nothing about a machine that it isn't for.",
    ):
        ran |= _rehearse_one(described, path, opened, report)
    not_recorded = sorted(set(described.scripts) - ran)
    if not_recorded:
        report.lines.append(f"Not rehearsed, for lack of a recorded run: {', '.join(not_recorded)}.")
    report.lines.append(
        "Something differs." if report.differs else "Nothing differs: each step would go as it did then."
    )
    return report


def rows_of(run: RunRehearsed) -> list[Row]:
    """The steps of a run in order, without those that ran neither then nor now."""
    then, now = _by_key(run.then), _by_key(run.now)
    rows = []
    for key in _in_order(run.script, list(then)):
        for step_then, step_now in zip_longest(then.get(key, []), now.get(key, [])):
            rows.append(_row(run, key, step_then, step_now))
    return rows


def _rehearse_one(folder: Folder, path: Path, opened: kinds.RecordingOpened, report: Report) -> set[str]:
    """Rehearses one recording, and adds to the report. Returns the scripts that were run in it."""
    rehearsal = Rehearsal(folder, opened)
    began = read_wall(opened.wall)
    ran: set[str] = set()
    damages = 0

    def entries() -> Iterator[kinds.Entry]:
        nonlocal damages
        kept_bytes, count, quiet = 0, 0, True
        for entry in read(path):
            if isinstance(entry, Damaged):
                damages += not entry.torn
                continue
            starts = isinstance(entry.fact, kinds.ScriptStarted)
            if starts or (quiet and count >= MOST_ENTRIES and isinstance(entry.fact, kinds.Heartbeat)):
                kept_bytes, count, quiet = 0, 0, not starts  # what came before is no longer kept (runs_of)
            kept_bytes += _ENTRY_BYTES + len(getattr(entry.fact, "bytes", ""))
            count += 1
            if kept_bytes > MOST_KEPT_BYTES:
                raise _too_long(path)
            yield entry

    report.lines.append(f"{path.name}")
    for recorded in runs_of(entries()):
        run = rehearsal.take(recorded)
        if run.started is not None and run.started.by != BY:
            ran.add(run.started.script)
        at = began + datetime.timedelta(microseconds=run.at_us / opened.rate)
        lines, differs = _run_lines(run, at)
        report.lines += [f"  {line}".rstrip() for line in lines]
        report.differs |= differs
    if damages:
        report.lines.append(
            f"  It is damaged in {places(damages)}, and later differences may be due to that."
        )
    report.lines.append("")
    return ran


def _too_long(path: Path) -> RecordingFault:
    return RecordingFault(
        f"A run in {path} is too long to be rehearsed: it has more than {MOST_KEPT_BYTES:,} bytes.",
        "No script runs for so long, so something must be wrong with the recording.",
        "Rehearse against other recordings.",
    )


def _run_lines(run: RunRehearsed, at: datetime.datetime) -> tuple[list[str], bool]:
    seen = [_seen_line(what, then, now) for what, then, now in run.seen]
    if run.started is None:
        return (["While no script ran:", *seen], True) if seen else ([], False)
    number = f" {run.started.round}" if run.started.round else ""
    heading = f"{run.started.script}{number} at {at:%H:%M:%S}"
    if run.started.by == BY:
        return [f"{heading}: a way home, which isn't rehearsed"], False
    if run.script is None:
        return [f"{heading}: the folder has no such script any more"], True
    rows = rows_of(run)
    ended = run.then.outcome != run.now.outcome and bool(run.now.outcome or run.then.outcome)
    differs = ended or bool(seen) or any(row.differs for row in rows)
    if not differs:
        return [f"{heading}: all {len(rows)} steps the same"], False
    lines = [f"{heading}:", *table(rows), *seen]
    if run.stopped:
        lines.append(f"The rehearsal of this run ends before the script does: {run.stopped}.")
    elif ended:
        lines.append(f"The script's end: then {_outcome(run.then)}, now {_outcome(run.now)}.")
    return [*lines, ""], True


def table(rows: Sequence[Row]) -> list[str]:
    """A plain table, with a star before each step that differs. Long cells are wrapped.

    If no row says anything about then, there is no such column.
    """
    cells = [HEADINGS, *((("* " if row.differs else "  ") + row.step, row.then, row.now) for row in rows)]
    if not any(row.then for row in rows):
        cells = [(step, "", now) for step, _, now in cells]
    wrapped = [[textwrap.wrap(cell, WIDEST) or [""] for cell in line] for line in cells]
    for line, plain in zip(wrapped, cells, strict=True):
        line[0] = [plain[0]]
    widths = [max(len(part) for line in wrapped for part in line[column]) for column in range(3)]
    return [
        "  ".join(
            (cell[number] if number < len(cell) else "").ljust(width)
            for cell, width in zip(line, widths, strict=True)
            if width
        ).rstrip()
        for line in wrapped
        for number in range(max(len(cell) for cell in line))
    ]


_LATE: Final[Mapping[kinds.WhatThen, str]] = {
    "wait on": "was late, so it waited on",
    "again": "was late, so its command was typed again",
    "ask": "was late, so a person was asked",
}


def words_for(step: StepSummary) -> str:
    """How a step went, in plain words."""
    parts = []
    if step.typed_secret:
        parts.append("typed a secret")
    elif step.typed:
        parts.append(f"typed {shown(step.typed)}")
    parts += [_LATE[then] for then in step.late]
    took = time_text(max(0, step.ended_us - step.started_us))
    match step.came:
        case "done" if step.matched:
            parts.append(f"{step.matched} came after {took}")
        case "done":
            parts.append(f"done after {took}")
        case "left out":
            parts.append(f"left out: {step.why}")
        case "in vain":
            parts.append(f"waits in vain: {step.why}")
        case "failed":
            parts.append(f"failed: {step.why}")
        case "":
            parts.append("still under way at the end")
    return ", ".join(parts)


def shown(typed: str) -> str:
    """What was typed, as a person would say it: text in quotes and without its RETURN, keys by name."""
    text = typed.removesuffix("\n").removesuffix("\r")
    if not text:
        return "RETURN"
    if text == " ":
        return "the space bar"
    if len(text) == 1 and text < " ":
        return f"control {_letter(text)}"
    return '"' + "".join(c if " " <= c < "\x7f" else f"<control {_letter(c)}>" for c in text) + '"'


def _letter(control: str) -> str:
    return chr(ord(control) ^ 0x40)


def _by_key(run: RunSummary) -> dict[Key, list[StepSummary]]:
    steps: dict[Key, list[StepSummary]] = {}
    for step in run.steps:
        steps.setdefault((step.name, step.tidying), []).append(step)
    return steps


def _in_order(script: Script | None, then: list[Key]) -> list[Key]:
    """The steps of the script as it is now, and between them those that only the recording has."""
    order: list[Key] = []
    if script is not None:
        order = [(step.name, False) for step in script.steps] + [(step.name, True) for step in script.tidy_up]
    place = 0
    for key in then:
        if key not in order:
            order.insert(place, key)
        place = order.index(key) + 1
    return order


def _row(run: RunRehearsed, key: Key, then: StepSummary | None, now: StepSummary | None) -> Row:
    name, tidying = key
    notes = run.notes.get(key, [])
    if then is not None and now is not None and then.outcome == now.outcome and not notes:
        longer_us = (now.ended_us - now.started_us) - (then.ended_us - then.started_us)
        words_now = SAME if abs(longer_us) <= WORTH_SAYING_US else words_for(now)
        return Row(step_label(name, tidying), words_for(then), words_now, False)
    in_script = run.script is not None and name in {
        step.name for step in (run.script.tidy_up if tidying else run.script.steps)
    }
    if now is not None:
        words_now = words_for(now)
    elif not in_script:
        words_now = "no longer in the script"
    else:
        words_now = "not rehearsed" if run.stopped else "not reached"
    return Row(
        step_label(name, tidying),
        words_for(then) if then is not None else "didn't run",
        "; ".join([words_now, *notes]),
        now is not None or not (run.stopped and in_script),
    )


def step_label(name: str, tidying: bool) -> str:
    """A step's name as the table shows it, with a mark if it belongs to the tidy-up."""
    return f"{name} (tidy-up)" if tidying else name


def _seen_line(what: Seen, then: int, now: int) -> str:
    kind, name, text = what
    return f'{kind.capitalize()} {name}, "{text}": {_times(then)} then, {_times(now)} now'


def _times(count: int) -> str:
    return ("never", "once", "twice")[count] if count < 3 else f"{count} times"


def _outcome(run: RunSummary) -> str:
    return f"{run.outcome or 'not reached'}{f' ({run.why})' if run.why else ''}"
