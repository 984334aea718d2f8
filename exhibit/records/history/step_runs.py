"""The runs of each step: how long they took, and what the console said meanwhile."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, NamedTuple

from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.records.given_folders import indexes_of
from exhibit.records.index.asking import Index
from exhibit.records.index.reading_files import Reading
from exhibit.records.index.rows import RecordingRow, StepRow
from exhibit.records.transcript import Transcript
from exhibit.streams.recording import read

MOST_READ: Final = 12
"""Of so many recordings of a side, the newest, the lines are read; the times come from all of them."""
MOST_LINES: Final = 2_000
"""Lines of one run that count; a step that prints more is no diagnostic."""


class Side(NamedTuple):
    """What is compared: recordings, and only their day if one is named."""

    path: Path
    date: str = ""

    @property
    def name(self) -> str:
        """As a person wrote it."""
        return f"{self.path}@{self.date}" if self.date else f"{self.path}"


@dataclass
class StepRuns:
    """All runs of one step on one side."""

    took_us: list[int] = field(default_factory=list)
    """Of those that were done, in the order of their times."""
    done: int = 0
    not_done: int = 0
    left_out: int = 0
    late: int = 0
    lines: list[list[str]] = field(default_factory=list)
    """What was printed in each run that was done and whose recording was read."""


@dataclass
class Compared:
    """One side, as far as it was read."""

    name: str
    machines: list[str]
    recordings: int
    read: int
    steps: dict[str, StepRuns]
    """By SCRIPT.STEP, in the order in which they first ran."""


def side_of(text: str) -> Side:
    """What a person means by a file, a folder, or one of them with a day: recordings@2026-11-25."""
    path, at, date = text.rpartition("@")
    if at and len(date) == 10 and not Path(text).exists():
        return Side(Path(path), date)
    return Side(Path(text))


def runs_of(side: Side, script: str = "", reading: Reading | None = None) -> Compared:
    """The runs of all steps of a side, or of one script.

    Raises RecordingFault; and SetUpFault if there is no recording, or none of that day or script.
    """
    found = Compared(side.name, [], 0, 0, {})
    for index in indexes_of([side.path], reading):
        rows = [
            row
            for row in index.rows(StepRow)
            if row.script and script in ("", row.script) and (not side.date or row.at[:10] == side.date)
        ]
        _take_times(found, rows)
        names = {row.recording for row in rows}
        recordings = [row for row in index.recordings() if row.recording in names]
        found.machines = sorted({*found.machines, *(row.machine for row in recordings)})
        found.recordings += len(recordings)
        for recording in recordings[-MOST_READ:]:
            found.read += 1
            _take_lines(
                found, index, recording, {row.seq for row in rows if row.recording == recording.recording}
            )
    if not found.steps:
        what = f"of the script {script}" if script else "of a script"
        when = f" on {side.date}" if side.date else ""
        raise SetUpFault(
            f"{side.path} has no steps {what}{when}.",
            "So there is nothing to compare.",
            "Name a recording, a folder, or a folder with a day, such as recordings@2026-11-25.",
        )
    return found


def _take_times(found: Compared, rows: Iterable[StepRow]) -> None:
    for row in rows:
        runs = found.steps.setdefault(f"{row.script}.{row.step}", StepRuns())
        runs.late += bool(row.overdue)
        if row.outcome == "done":
            runs.done += 1
            if not row.typed_again:
                runs.took_us.append(row.took_us)
        elif row.outcome == "left out":
            runs.left_out += 1
        else:
            runs.not_done += 1


def _take_lines(found: Compared, index: Index, recording: RecordingRow, wanted: set[int]) -> None:
    for name, lines in _printed(index.folder / recording.recording, wanted):
        runs = found.steps.get(name)
        if runs is not None:
            runs.lines.append(lines)


def _printed(path: Path, wanted: set[int]) -> Iterator[tuple[str, list[str]]]:
    """What was printed in each run of a step that was done, of those that began with these facts."""
    transcript = Transcript()
    name, lines = "", list[str]()
    for entry in read(path):
        for row in transcript.take(entry):
            if name and row.kind == "printed" and row.text.strip() and len(lines) < MOST_LINES:
                lines.append(" ".join(row.text.split()))
        fact = getattr(entry, "fact", None)
        match fact:
            case kinds.StepStarted(script=script, step=step):
                name, lines = (f"{script}.{step}" if entry.seq in wanted else ""), []  # type: ignore[union-attr]
            case kinds.StepEnded() if name:
                yield name, lines
                name = ""
            case kinds.StepFailed() | kinds.StepLeftOut() | kinds.ScriptEnded() | None:
                name = ""


def all_steps(sides: Sequence[Compared]) -> list[str]:
    """The steps of both sides, in the order of the first, with those of the second where they stand there."""
    order = [*sides[0].steps]
    before = ""
    for name in sides[1].steps:
        if name not in sides[0].steps:
            order.insert(order.index(before) + 1 if before in order else 0, name)
        before = name
    return order
