"""Which tables there are as Parquet files, and their columns: those of the index's rows, and whose."""

from __future__ import annotations

from dataclasses import fields
from typing import Final

from exhibit.records.index.rows import (
    DayRow,
    ErrorsRow,
    GapRow,
    GarbledRow,
    HandsOnRow,
    JobRow,
    LineErrorsRow,
    NoteRow,
    PackRow,
    PartRow,
    Placed,
    ReadingRow,
    RecordingRow,
    ScriptRow,
    StepRow,
    TransfersRow,
    TroubleRow,
)

Exported = type[Placed] | type[TransfersRow] | type[DayRow] | type[RecordingRow]
TABLES: Final[dict[str, Exported]] = {
    "recordings": RecordingRow,
    "days": DayRow,
    "scripts": ScriptRow,
    "steps": StepRow,
    "troubles": TroubleRow,
    "readings": ReadingRow,
    "disc_errors": ErrorsRow,
    "transfers": TransfersRow,
    "exercisers": JobRow,
    "parts": PartRow,
    "hands_on": HandsOnRow,
    "packs": PackRow,
    "notes": NoteRow,
    "gaps": GapRow,
    "line_errors": LineErrorsRow,
    "garbled": GarbledRow,
}
"""By its name: the rows of a table. docs/years.md lists them."""
WHOSE: Final = {"machine": "VARCHAR", "simulated": "BOOLEAN", "day": "DATE", "month": "VARCHAR"}
"""The columns with which each table begins. `day` is the local date, `month` its first seven characters."""
_SQL: Final = {
    "int": "BIGINT",
    "float": "DOUBLE",
    "float | None": "DOUBLE",
    "str": "VARCHAR",
    "bool": "BOOLEAN",
}
_MOMENTS: Final = ("at", "opened_at")


def columns(row: Exported) -> dict[str, str]:
    """A table's columns with their SQL types. Its `at` is text, as recorded: local time with its offset."""
    own = {one.name: _SQL[f"{one.type}"] for one in fields(row) if one.name != "date"}
    return {**WHOSE, **{name: kind for name, kind in own.items() if name not in WHOSE}}


def moment_of(row: Exported) -> str:
    """The column that says when a row was."""
    names = [one.name for one in fields(row)]
    return next((name for name in ("date", *_MOMENTS) if name in names), "")
