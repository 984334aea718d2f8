"""The index's tables, made from the rows' classes."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Sequence
from dataclasses import fields
from typing import Any, Final

from exhibit.records.index.rows import TABLES, RecordingRow

RULES: Final = 6
"""Counted up whenever the same recording would make other rows than before: older indexes are made anew."""
MOST: Final = 2**63 - 1
"""The largest whole number in SQLite."""
_SQL: Final = {"int": "INTEGER", "float": "REAL", "str": "TEXT", "bool": "INTEGER", "float | None": "REAL"}


def table_of(row: type) -> str:
    """The name of a row's table: StepRow is step_row."""
    return re.sub(r"(?<!^)(?=[A-Z])", "_", row.__name__).lower()


def columns_of(row: type) -> list[str]:
    """A table's columns: the row's fields in order."""
    return [one.name for one in fields(row)]


def _columns(row: type, names: Sequence[str]) -> str:
    kinds = {one.name: _SQL[f"{one.type}"] for one in fields(row)}
    return ", ".join(f"{name} {kinds[name]} {'' if kinds[name] == 'REAL' else 'NOT NULL'}" for name in names)


def _statements() -> Iterable[str]:
    own = [name for name in columns_of(RecordingRow) if name != "recording"]
    # `changed_ns` is when the file was last written to; `first_crc` is its first line's checksum.
    yield (
        "CREATE TABLE recording_row (id INTEGER PRIMARY KEY, recording TEXT NOT NULL UNIQUE, "
        f"{_columns(RecordingRow, own)}, changed_ns INTEGER NOT NULL, first_crc TEXT NOT NULL)"
    )
    for row in TABLES:
        rest = [name for name in columns_of(row) if name != "recording"]
        yield f"CREATE TABLE {table_of(row)} (recording INTEGER NOT NULL, {_columns(row, rest)})"
        yield f"CREATE INDEX {table_of(row)}_by_recording ON {table_of(row)} (recording)"
    yield "CREATE INDEX step_row_by_step ON step_row (script, step)"
    # `local_ms`: milliseconds since 1970-01-01T00:00 by the museum's local time; NULL if that isn't known.
    yield (
        "CREATE TABLE said (id INTEGER PRIMARY KEY, recording INTEGER NOT NULL, seq INTEGER NOT NULL, "
        "at_us INTEGER NOT NULL, local_ms INTEGER, offset_min INTEGER NOT NULL, kind TEXT NOT NULL, "
        "step TEXT NOT NULL, who TEXT NOT NULL, text TEXT NOT NULL)"
    )
    yield "CREATE INDEX said_by_recording ON said (recording, seq)"
    # Every three characters in a row are a word, so that any part of a line is found. Where they stand isn't
    # kept: lines that may hold a text are looked at once more.
    yield (
        "CREATE VIRTUAL TABLE said_text USING fts5(text, content='said', content_rowid='id', "
        "tokenize='trigram', detail='none')"
    )


STATEMENTS: Final = tuple(_statements())
"""What makes an empty index."""
VERSION: Final = int.from_bytes(hashlib.sha256(f"{RULES}{STATEMENTS}".encode()).digest()[:4], "big") >> 1
"""The number of this form of the index, as SQLite keeps it (PRAGMA user_version)."""


def values_of(row: Any) -> tuple[Any, ...]:
    """A row's values without its recording, in the order of its columns: numbers that SQLite can hold."""
    values = (getattr(row, name) for name in columns_of(type(row)) if name != "recording")
    return tuple(max(-MOST, min(one, MOST)) if isinstance(one, int) else one for one in values)
