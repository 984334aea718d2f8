"""What went wrong in recordings, counted in one way for the list of days, the page's list and its day.

Troubles, failed scripts and steps, late steps, commands that came back wrong, new disc errors, lost lines,
silences. A trouble that an earlier recording raised counts there.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from exhibit.records.index.asking import Index
from exhibit.records.index.rows import ErrorsRow, GapRow, GarbledRow, Placed, ScriptRow, StepRow, TroubleRow


class Wrong(NamedTuple):
    """One thing that went wrong. `at_us` is by the recording's clock, `date` the museum's local date."""

    recording: str
    at_us: int
    date: str


def went_wrong(index: Index, machine: str | None = None, *, practice: bool = False) -> Iterator[Wrong]:
    """All of it in an index, kind by kind."""
    for script in index.rows(ScriptRow, machine=machine, practice=practice, outcome="failed"):
        yield Wrong(script.recording, script.at_us + script.took_us, script.ended_at[:10])
    for step in index.rows(StepRow, machine=machine, practice=practice):
        for _ in range(step.overdue):
            yield Wrong(step.recording, step.overdue_us, step.overdue_at[:10])
        if step.outcome == "failed":
            yield Wrong(step.recording, step.at_us + step.took_us, step.at[:10])
    rows: list[Placed] = [
        *index.rows(TroubleRow, machine=machine, practice=practice),
        *index.rows(GarbledRow, machine=machine, practice=practice),
        *(row for row in index.rows(ErrorsRow, machine=machine, practice=practice) if row.count),
        *index.rows(GapRow, machine=machine, practice=practice, kind=("line lost", "machine silent")),
    ]
    for row in rows:
        yield Wrong(row.recording, row.at_us, row.at[:10])
