"""Asks the Parquet files of many machines: DuckDB reads them from the disc, within a bound of memory."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

from exhibit.facts.errors import SetUpFault
from exhibit.output.columns import in_columns
from exhibit.output.json_lines import json_line
from exhibit.records.years.library import MEMORY, connect, faults, why
from exhibit.records.years.queries import QUERIES, SAYS
from exhibit.records.years.tables import TABLES, columns

NOTHING: Final = (
    ("Nothing of that is recorded.",),
    ("No step ran at least 20 times before the last 30 days, and 20 times in them: too few to compare.",),
)


def ask(folder: Path, query: str, memory: str = MEMORY) -> tuple[list[str], list[tuple[Any, ...]]]:
    """The columns and rows of one of QUERIES over the tables in a folder.

    Raises SetUpFault if DuckDB isn't installed, there are no tables, or they can't be read.
    """
    if not any(folder.glob("*/*.parquet")):
        raise SetUpFault(
            f"There are no tables in {folder}.",
            "Sums over years are made from tables, not from the recordings themselves.",
            f"Make them with: exhibit export RECORDINGS --to {folder}",
        )
    with connect(memory) as database:
        try:
            for table in TABLES:
                database.execute(_view(folder, table))
            found = database.execute(QUERIES[query])
            return [one[0] for one in found.description or ()], found.fetchall()
        except faults() as error:
            raise SetUpFault(
                f"The tables in {folder} can't be read: {why(error)}",
                "So nothing can be added up.",
                "Make them anew from the recordings with `exhibit export`.",
            ) from error


def json_lines(names: Sequence[str], rows: Sequence[Sequence[Any]]) -> Iterator[str]:
    """A JSON object for each row."""
    for row in rows:
        yield json_line(
            {
                name: value.isoformat() if isinstance(value, datetime.date) else value
                for name, value in zip(names, row, strict=True)
            }
        )


def table_lines(query: str, names: Sequence[str], rows: Sequence[Sequence[Any]]) -> list[str]:
    """What the query answers, and a line for each row below its headings."""
    if not rows:
        return [SAYS[query], "", *NOTHING[query == "slower"]]
    shown = [name.replace("_", " ") for name in names]
    words = [index for index, value in enumerate(rows[0]) if isinstance(value, str | bool)]
    return [SAYS[query], "", *in_columns([shown, *([_cell(one) for one in row] for row in rows)], left=words)]


def _cell(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if value is None:
        return "-"
    return f"{value:.3g}" if isinstance(value, float) and abs(value) < 100 else _whole(value)


def _whole(value: Any) -> str:
    return f"{value:.0f}" if isinstance(value, float) else f"{value}"


def _view(folder: Path, table: str) -> str:
    """A table is all its files together; one without files is empty."""
    if any((folder / table).glob("*.parquet")):
        files = f"{folder / table / '*.parquet'}".replace("'", "''")
        return f"CREATE VIEW {table} AS SELECT * FROM read_parquet('{files}', union_by_name = true)"
    empty = ", ".join(f'CAST(NULL AS {kind}) AS "{name}"' for name, kind in columns(TABLES[table]).items())
    return f"CREATE VIEW {table} AS SELECT {empty} WHERE false"
