"""Rows of an invented machine, as the index would give them."""

from __future__ import annotations

import datetime
from typing import Any

from exhibit.records.index.rows import (
    ErrorsRow,
    GapRow,
    GarbledRow,
    JobRow,
    PackRow,
    PartRow,
    Placed,
    RecordingRow,
    ScriptRow,
    StepRow,
    TroubleRow,
)
from exhibit.records.reckoning.of_rows import Rows

FIRST = datetime.datetime(2026, 3, 2, 10, 0, tzinfo=datetime.UTC)


def at(day: int, hour: float = 0.0) -> str:
    """A moment: days and hours after ten o'clock of the first day."""
    return (FIRST + datetime.timedelta(days=day, hours=hour)).isoformat()


def name_of(day: int) -> str:
    return f"heron-{day}.exhibit"


def _row(row: type, day: int, hour: float, **values: Any) -> Any:
    """A row with empty values where none are given."""
    empty = {"str": "", "int": 0, "bool": False, "float": 0.0, "float | None": None}
    fields = {name: empty[field.type] for name, field in row.__dataclass_fields__.items()}
    placed = {"recording": name_of(day), "seq": 10 + round(hour * 1000), "at": at(day, hour)}
    return row(**{**fields, **placed, **values})


def rows(days: int = 1, hours: float = 7.0, **given: Any) -> Rows:
    """The rows of so many days, each of one recording."""
    recordings = [
        RecordingRow(
            **{
                name: {"str": "", "int": 0, "bool": False, "float": 1.0}[field.type]
                for name, field in RecordingRow.__dataclass_fields__.items()
                if name not in ("recording", "machine", "opened_at", "ended_at")
            },
            recording=name_of(day),
            machine="heron",
            opened_at=at(day),
            ended_at=at(day, hours),
        )
        for day in range(days)
    ]
    return Rows("heron", False, recordings, **given)


def step(day: int, took_s: float, *, hour: float = 1.0, **values: Any) -> StepRow:
    return _row(StepRow, day, hour, **{"script": "round", "step": "add", "outcome": "done",
                "took_us": round(took_s * 1e6), **values})  # fmt: skip


def job(day: int, hour: float, ran_h: float, **values: Any) -> JobRow:
    ends = at(day, hour + ran_h)
    return _row(JobRow, day, hour, **{"exerciser": "seek", "part": "drive", "ran_s": ran_h * 3600,
                "ended_at": ends, "on_s": hour * 3600, **values})  # fmt: skip


def errors(day: int, hour: float, count: int, **values: Any) -> ErrorsRow:
    given = {"by": "board.errors", "count": count, "parts": "drive", "on_s": hour * 3600}
    return _row(ErrorsRow, day, hour, **{**given, **values})


def part(day: int, hour: float, ran_h: float, **values: Any) -> PartRow:
    given = {"part": "drive", "ran_s": ran_h * 3600, "ended_at": at(day, hour + ran_h), "stopped": True}
    return _row(PartRow, day, hour, **{**given, **values})


def pack(day: int, hour: float, *, mounted: bool = True, **values: Any) -> PackRow:
    return _row(PackRow, day, hour, **{"label": "WORK 1", "drive": "drive", "mounted": mounted, **values})


def trouble(day: int, hour: float, **values: Any) -> TroubleRow:
    return _row(TroubleRow, day, hour, **{"trouble": "not-ready", "line": "NOT READY", **values})


def script(day: int, hour: float, outcome: str, **values: Any) -> ScriptRow:
    given = {"script": "round", "outcome": outcome, "ended_at": at(day, hour + 0.1), "why": "it was late"}
    return _row(ScriptRow, day, hour, **{**given, "ended_seq": 10 + round((hour + 0.1) * 1000), **values})


def silent(day: int, hour: float) -> GapRow:
    return _row(GapRow, day, hour, kind="machine silent")


def garbled(day: int, hour: float) -> GarbledRow:
    return _row(GarbledRow, day, hour, command="ADD 2 2", came_back=" ADD 2 6 ")


def confirmed(day: int, hour: float) -> Placed:
    return _row(Placed, day, hour)
