"""What `exhibit rehearse` says: where the scripts, as they are now, go another way than in a recording."""

from __future__ import annotations

import datetime
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

import msgspec

from exhibit.decisions.machine.script import Folder, Script
from exhibit.decisions.rehearsal.recorded_run import runs_of
from exhibit.decisions.rehearsal.rehearsal import Rehearsal, RunRehearsed
from exhibit.decisions.rehearsal.step_results import RunSummary, Seen, StepSummary
from exhibit.decisions.session.left_open import BY
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import SetUpFault
from exhibit.folder.whole import read_folder
from exhibit.records.timings import written
from exhibit.streams.recording import Damaged, RecordingFolder, read, read_opened

HEADINGS: Final = ("step", "then", "now")
WIDEST: Final = 56
"""Characters in a column of the table."""
SAME: Final = "the same"
WORTH_TELLING_US: Final = 1_000_000
"""A step that would take so much longer or less is told of, though its time is no difference."""

Key = tuple[str, bool]
"""A step's name, and whether it is of the tidy-up."""


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
    """Rehearse the machine's folder against recordings: files, or folders of them.

    Raises FolderMistakes, RecordingFault, and SetUpFault where a recording is of another machine or there is
    none.
    """
    described = read_folder(folder)
    report = Report([], False)
    ran: set[str] = set()
    for path in _files(recordings, described.machine.name):
        opened = read_opened(path)
        if opened.machine != described.machine.name:
            raise SetUpFault(
                f"{path} is a recording of {opened.machine}, and the folder describes "
                f"{described.machine.name}.",
                "A script says nothing about a machine that it isn't for.",
                f"Name recordings of {described.machine.name}, or the folder of {opened.machine}.",
            )
        ran |= _rehearse_one(described, path, opened, report)
    never = sorted(set(described.scripts) - ran)
    if never:
        report.lines.append(f"Not rehearsed, because these recordings hold no run of it: {', '.join(never)}.")
    report.lines.append(
        "Something differs." if report.differs else "Nothing differs: each step would go as it went then."
    )
    return report


def rows_of(run: RunRehearsed) -> list[Row]:
    """The steps of a run in their order; those that ran neither then nor now are left out."""
    then, now = _by_key(run.then), _by_key(run.now)
    rows = []
    for key in _in_order(run.script, list(then)):
        was, would = then.get(key, []), now.get(key, [])
        for number in range(max(len(was), len(would))):
            one = was[number] if number < len(was) else None
            other = would[number] if number < len(would) else None
            rows.append(_row(run, key, one, other))
    return rows


def _rehearse_one(folder: Folder, path: Path, opened: kinds.RecordingOpened, report: Report) -> set[str]:
    """Rehearse one recording; gives the scripts that it holds runs of."""
    rehearsal = Rehearsal(folder, opened)
    began = read_wall(opened.wall)
    ran: set[str] = set()
    damages = 0

    def entries() -> Iterator[kinds.Entry]:
        nonlocal damages
        for entry in read(path):
            if isinstance(entry, Damaged):
                damages += not entry.torn
            else:
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
        report.lines.append(f"  It is damaged in {damages} places: what differs behind them may be for that.")
    report.lines.append("")
    return ran


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
        return [f"{heading}: all {len(rows)} steps as then"], False
    lines = [f"{heading}:", *table(rows), *seen]
    if run.stopped:
        lines.append(f"The rehearsal of this run ends before the script does: {run.stopped}.")
    elif ended:
        lines.append(f"The script's end: then {_outcome(run.then)}, now {_outcome(run.now)}.")
    return [*lines, ""], True


def table(rows: Sequence[Row]) -> list[str]:
    """A plain table, with a star before each step that differs; long cells go on below.

    Where nothing is known of then, there is no such column.
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
    "wait on": "was late and waited on",
    "again": "was late, so its command was typed again",
    "ask": "was late, so a person was asked",
}


def words_for(step: StepSummary) -> str:
    """What a step came to, in plain words."""
    said = []
    if step.secret_characters:
        said.append("typed a secret")
    elif step.typed:
        said.append(f"typed {shown(step.typed)}")
    said += [_LATE[then] for then in step.late]
    took = written(max(0, step.ended_us - step.started_us))
    match step.came:
        case "done" if step.matched:
            said.append(f"{step.matched} came after {took}")
        case "done":
            said.append(f"done after {took}")
        case "left out":
            said.append(f"left out: {step.why}")
        case "in vain":
            said.append(f"waits in vain: {step.why}")
        case "failed":
            said.append(f"failed: {step.why}")
        case "":
            said.append("under way at the end")
    return ", ".join(said)


def shown(typed: str) -> str:
    """What was typed as a person would say it: the text in quotes without its RETURN, keys by name."""
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


def _files(recordings: Sequence[Path], machine: str) -> list[Path]:
    found: dict[Path, None] = {}
    for path in recordings:
        within = (
            [file.path for file in RecordingFolder(path).recordings(machine)] if path.is_dir() else [path]
        )
        if not within:
            raise SetUpFault(
                f"There is no recording of {machine} in {path}.",
                "So there is nothing to rehearse against.",
                "Name a recording, or a folder that holds some.",
            )
        found.update((file.resolve(), None) for file in within)
    return list(found)


def _by_key(told: RunSummary) -> dict[Key, list[StepSummary]]:
    found: dict[Key, list[StepSummary]] = {}
    for step in told.steps:
        found.setdefault((step.name, step.tidying), []).append(step)
    return found


def _in_order(script: Script | None, then: list[Key]) -> list[Key]:
    """The steps of the script as it is now, and between them those that only the recording has."""
    order: list[Key] = []
    if script is not None:
        order = [(step.name, False) for step in script.steps] + [(step.name, True) for step in script.tidy_up]
    behind = 0
    for key in then:
        if key not in order:
            order.insert(behind, key)
        behind = order.index(key) + 1
    return order


def _row(run: RunRehearsed, key: Key, then: StepSummary | None, now: StepSummary | None) -> Row:
    name, tidying = key
    notes = run.notes.get(key, [])
    if then is not None and now is not None and then.outcome == now.outcome and not notes:
        apart_us = (now.ended_us - now.started_us) - (then.ended_us - then.started_us)
        would = SAME if abs(apart_us) <= WORTH_TELLING_US else words_for(now)
        return Row(_named(name, tidying), words_for(then), would, False)
    has = run.script is not None and name in {
        step.name for step in (run.script.tidy_up if tidying else run.script.steps)
    }
    gone = "not in the script any more" if not has else "not rehearsed" if run.stopped else "not reached"
    would = words_for(now) if now is not None else gone
    return Row(
        _named(name, tidying),
        words_for(then) if then is not None else "didn't run",
        "; ".join([would, *notes]),
        now is not None or not (run.stopped and has),
    )


def _named(name: str, tidying: bool) -> str:
    return f"{name} (tidy-up)" if tidying else name


def _seen_line(what: Seen, then: int, now: int) -> str:
    kind, name, text = what
    return f'{kind.capitalize()} {name}, "{text}": seen {_times(then)} then, {_times(now)} now'


def _times(count: int) -> str:
    return ("never", "once", "twice")[count] if count < 3 else f"{count} times"


def _outcome(told: RunSummary) -> str:
    return f"{told.outcome or 'not reached'}{f' ({told.why})' if told.why else ''}"
