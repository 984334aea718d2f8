"""Brings an index up to date with a folder of recordings: reads only files that are new or have changed."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from exhibit.facts.errors import RecordingFault
from exhibit.records.index.reading_files import Reading, can_start, read_beside, read_here
from exhibit.records.index.recording_rows import ReadFile, Row
from exhibit.records.index.rows import TABLES
from exhibit.records.index.said_rows import Said
from exhibit.records.index.schema import table_of, values_of
from exhibit.streams.compressed import names

AT_ONCE: Final = 5_000
"""How many lines are written to the index at once."""
KEPT_AFTER_BYTES: Final = 4_000_000
"""After so much was read it is kept, which takes a disc 10 ms; until then other processes wait."""
SMALL_BYTES: Final = 80_000
"""What a file costs however small it is, as so many bytes."""
BESIDE_BYTES: Final = 8_000_000
"""More than this is read in several processes: to start them takes half a second."""


def bring_up_to_date(
    database: sqlite3.Connection, folder: Path, only: Collection[str] = (), reading: Reading | None = None
) -> None:
    """Read what is new or has changed in a folder, or only the files of these names.

    A file that is no longer there leaves the index too. Raises RecordingFault if the folder can't be read,
    and sqlite3.Error if the index can't be written.
    """
    found = [*_files(folder)]
    paths = {as_text(name): folder / name for name, _ in found}
    present = {as_text(name): state for name, state in found if not only or name in only}
    known = {
        name: (id_, size_bytes, changed_ns)
        for id_, name, size_bytes, changed_ns in database.execute(
            "SELECT id, recording, size_bytes, changed_ns FROM recording_row"
        )
    }
    gone = [] if only else [name for name in known if name not in present]
    changed = [name for name, state in present.items() if known.get(name, (0, 0, 0))[1:] != state]
    if not gone and not changed:
        return
    with database:
        for name in gone:
            _forget(database, known[name][0])
    changed.sort()
    size_bytes = sum(present[name][0] for name in changed)
    in_several = len(changed) > 1 and size_bytes > BESIDE_BYTES and can_start()
    read_all = read_beside if in_several else read_here
    not_kept_bytes = 0
    with database:
        for name, rows in read_all([(name, paths[name]) for name in changed], reading or _untold):
            if not database.in_transaction:
                database.execute("BEGIN IMMEDIATE")
            # Another process may have read it meanwhile.
            row = database.execute(
                "SELECT id, size_bytes, changed_ns FROM recording_row WHERE recording = ?", (name,)
            ).fetchone()
            if row is not None and row[1:] == present[name]:
                continue
            if row is not None:
                _forget(database, row[0])
            _write(database, name, present[name], rows)
            not_kept_bytes += present[name][0] + SMALL_BYTES
            if not_kept_bytes > KEPT_AFTER_BYTES:
                database.commit()
                not_kept_bytes = 0
        _mark_copies(database)


def _untold(name: str, place: int, count: int) -> None:
    """For callers that don't want to be told."""


def holds_recordings(folder: Path) -> bool:
    """Whether there is a recording in the folder. Raises RecordingFault if it can't be read."""
    return any(True for _ in _files(folder))


def _files(folder: Path) -> Iterator[tuple[str, tuple[int, int]]]:
    """The recordings of a folder: the name of each, its size and when it was last written to. No links."""
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                if names.is_recordings_name(entry.name) and entry.is_file(follow_symlinks=False):
                    status = entry.stat(follow_symlinks=False)
                    yield entry.name, (status.st_size, status.st_mtime_ns)
    except OSError as error:
        raise RecordingFault(
            f"The folder {folder} can't be read: {error.strerror}.",
            "So the recordings in it can't be found.",
            "Check its name, or give this user access to it.",
        ) from error


def _forget(database: sqlite3.Connection, recording: int) -> None:
    database.execute(
        "INSERT INTO said_text(said_text, rowid, text) "
        "SELECT 'delete', id, text FROM said WHERE recording = ?",
        (recording,),
    )
    for table in ("said", *(table_of(row) for row in TABLES)):
        database.execute(f"DELETE FROM {table} WHERE recording = ?", (recording,))
    database.execute("DELETE FROM recording_row WHERE id = ?", (recording,))


def as_text(name: str) -> str:
    """A file's name as the index has it: the bytes in it that are no UTF-8 are escaped."""
    return os.fsencode(name).decode("utf-8", "backslashreplace")


def _write(
    database: sqlite3.Connection, name: str, state: tuple[int, int], rows: Iterable[Row | ReadFile]
) -> None:
    """Writes the rows of one file."""
    id_ = database.execute("SELECT coalesce(max(id), 0) + 1 FROM recording_row").fetchone()[0]
    said_id = database.execute("SELECT coalesce(max(id), 0) + 1 FROM said").fetchone()[0]
    said: list[tuple[Any, ...]] = []
    for row in rows:
        if isinstance(row, Said):
            said.append((said_id, id_, *row))
            said_id += 1
            if len(said) >= AT_ONCE:
                _write_said(database, said)
        elif isinstance(row, ReadFile):
            _write_said(database, said)
            if row.row.fault:
                _forget(database, id_)
            whole = replace(row.row, size_bytes=state[0])
            _insert(database, whole, (id_, name, *values_of(whole), state[1], row.first_crc))
        else:
            _insert(database, row, (id_, *values_of(row)))


def _insert(database: sqlite3.Connection, row: Row, values: tuple[Any, ...]) -> None:
    marks = ", ".join("?" * len(values))
    database.execute(f"INSERT INTO {table_of(type(row))} VALUES ({marks})", values)


def _write_said(database: sqlite3.Connection, said: list[tuple[Any, ...]]) -> None:
    database.executemany("INSERT INTO said VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", said)
    database.executemany(
        "INSERT INTO said_text(rowid, text) VALUES (?, ?)", ((one[0], one[-1]) for one in said)
    )
    said.clear()


def _mark_copies(database: sqlite3.Connection) -> None:
    """Of recordings with the same first line, the longest counts, and of those the first by name."""
    seen: dict[tuple[str, str, str], str] = {}
    database.execute("UPDATE recording_row SET copy_of = ''")
    for id_, name, *first in database.execute(
        "SELECT id, recording, first_crc, machine, opened_at FROM recording_row "
        "WHERE first_crc != '' ORDER BY facts DESC, recording"
    ).fetchall():
        original = seen.setdefault((first[0], first[1], first[2]), name)
        if original != name:
            database.execute("UPDATE recording_row SET copy_of = ? WHERE id = ?", (original, id_))
