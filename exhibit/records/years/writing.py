"""Writes what an index holds as Parquet files: for each table, machine and month one file.

    FOLDER/steps/whimbrel-2026-11.parquet

So a month is written again when more of it has been recorded, and a warehouse takes the files as they are.
"""

from __future__ import annotations

import json
import os
import re
import tempfile
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from exhibit.facts.errors import SetUpFault
from exhibit.records.index.asking import Index
from exhibit.records.index.rows import RecordingRow
from exhibit.records.years.library import connect, faults, why
from exhibit.records.years.tables import TABLES, Exported, columns, moment_of

if TYPE_CHECKING:
    from exhibit.records.years.library import Connection


def export(indexes: Iterable[Index], to: Path, *, practice: bool = False) -> dict[str, int]:
    """Write all tables of these indexes into the folder `to`. Returns how many rows each table has now got.

    All that the folder had of the same machines and months is replaced: give all recordings of a month
    together. Raises RecordingFault; and SetUpFault if DuckDB isn't
    installed, or the folder can't be written.
    """
    written = dict.fromkeys(TABLES, 0)
    with connect() as database, tempfile.TemporaryDirectory() as rows_in:
        files: dict[tuple[str, str, str], Path] = {}
        for index in indexes:
            _gather(index, Path(rows_in), files, practice=practice)
        try:
            for (table, machine, month), rows in files.items():
                written[table] += _write(database, table, rows, to / table / file_name(machine, month))
            for machine, month in {key[1:] for key in files}:
                for table in TABLES:
                    if (table, machine, month) not in files:
                        (to / table / file_name(machine, month)).unlink(missing_ok=True)
        except faults() as error:
            raise SetUpFault(
                f"The tables can't be written to {to}: {why(error)}",
                "What was written before that is whole; the rest is missing.",
                "Make room on the disc, or give another folder with --to.",
            ) from error
    return written


def file_name(machine: str, month: str) -> str:
    """The name of a table's file for a machine and a month (2026-11)."""
    plain = re.sub(r"[^a-z0-9]+", "-", machine.lower()).strip("-") or "machine"
    return f"{plain[:60]}-{re.sub(r'[^0-9-]', '', month)[:7] or 'unknown'}.parquet"


def _gather(index: Index, into: Path, files: dict[tuple[str, str, str], Path], *, practice: bool) -> None:
    """Adds the index's rows to a file of JSON lines for each table, machine and month."""
    opened = {one.recording: one for one in index.recordings(practice=practice)}
    for table, row in TABLES.items():
        for of, values in _rows(index, row, opened, practice=practice):
            month = f"{values['month']}"
            kind = "simulated " if of.simulated else ""
            path = files.setdefault((table, f"{kind}{of.machine}", month), into / f"{len(files)}.json")
            with path.open("a", encoding="utf-8") as file:
                file.write(json.dumps(values).replace("\\u0000", "\\ufffd") + "\n")


def _rows(
    index: Index, row: Exported, opened: dict[str, RecordingRow], *, practice: bool
) -> Iterator[tuple[RecordingRow, dict[str, Any]]]:
    found: Iterable[Any] = opened.values() if row is RecordingRow else index.rows(row, practice=practice)
    moment, names = moment_of(row), columns(row)
    for one in found:
        of = opened.get(one.recording)
        if of is None:
            continue
        day = getattr(one, moment)[:10] or of.opened_at[:10]
        whose = {"machine": of.machine, "simulated": of.simulated, "day": day, "month": day[:7]}
        values = {**asdict(one), **whose}
        yield of, {name: values[name] for name in names}


def _write(database: Connection, table: str, rows: Path, to: Path) -> int:
    to.parent.mkdir(parents=True, exist_ok=True)
    unfinished = to.with_suffix(".unfinished")
    named = ", ".join(f"\"{name}\": '{kind}'" for name, kind in columns(TABLES[table]).items())
    database.execute(
        f"COPY (SELECT * FROM read_json({_quoted(rows)}, format = 'newline_delimited', "
        f"columns = {{{named}}}) "
        f"ORDER BY day) TO {_quoted(unfinished)} (FORMAT parquet, COMPRESSION zstd)"
    )
    counted = database.execute(f"SELECT count(*) FROM read_parquet({_quoted(unfinished)})").fetchone()
    os.replace(unfinished, to)
    return int(counted[0]) if counted is not None else 0


def _quoted(path: Path) -> str:
    """A path as a text in SQL."""
    return "'" + f"{path}".replace("'", "''") + "'"
