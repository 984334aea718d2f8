"""Brings an index up to date with a folder of recordings: reads only files that are new or have changed."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import msgspec

from exhibit.facts import kinds
from exhibit.facts.codec import MAX_LINE_BYTES, stored_crc
from exhibit.facts.errors import RecordingFault
from exhibit.records.index.moments import Moments
from exhibit.records.index.rows import TABLES, DayRow, Placed, RecordingRow, TransfersRow
from exhibit.records.index.said_rows import Said, SaidRows
from exhibit.records.index.schema import columns_of, table_of, values_of
from exhibit.records.index.session_rows import SessionRows
from exhibit.records.index.trouble_rows import TroubleRows
from exhibit.records.index.wear_rows import WearRows
from exhibit.streams.compressed import names
from exhibit.streams.recording import Damaged, read
from exhibit.streams.recording_reader import open_recording
from exhibit.sums.day_record import DONE, Day, DayRecord, seconds_between

AT_ONCE: Final = 5_000
"""How many lines are written to the index at once."""
Reading = Callable[[str, int, int], None]
"""Called before a file is read: with its name, its place among those to be read (from 1), and their number.
"""
_Rows = Iterator[Placed | TransfersRow | DayRow | RecordingRow | Said]


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
    for name in gone:
        with database:
            _forget(database, known[name][0])
    for place, name in enumerate(sorted(changed), 1):
        if reading is not None:
            reading(name, place, len(changed))
        with database:
            database.execute("BEGIN IMMEDIATE")
            # Another process may have read it meanwhile.
            row = database.execute(
                "SELECT id, size_bytes, changed_ns FROM recording_row WHERE recording = ?", (name,)
            ).fetchone()
            if row is not None and row[1:] == present[name]:
                continue
            if row is not None:
                _forget(database, row[0])
            _index_file(database, name, paths[name], present[name])
    with database:
        _mark_copies(database)


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


def _index_file(database: sqlite3.Connection, name: str, path: Path, state: tuple[int, int]) -> None:
    id_ = database.execute("SELECT coalesce(max(id), 0) + 1 FROM recording_row").fetchone()[0]
    said_id = database.execute("SELECT coalesce(max(id), 0) + 1 FROM said").fetchone()[0]
    said: list[tuple[Any, ...]] = []
    row_of_file = unread(name, state[0], "")
    first_crc = ""

    def write_said() -> None:
        database.executemany("INSERT INTO said VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)", said)
        database.executemany(
            "INSERT INTO said_text(rowid, text) VALUES (?, ?)", ((one[0], one[-1]) for one in said)
        )
        said.clear()

    try:
        _check_name(name, path)
        for row in rows_of(path):
            if isinstance(row, Said):
                said.append((said_id, id_, *row))
                said_id += 1
                if len(said) >= AT_ONCE:
                    write_said()
            elif isinstance(row, RecordingRow):
                row_of_file = row
            else:
                values = (id_, *values_of(row))
                marks = ", ".join("?" * len(values))
                database.execute(f"INSERT INTO {table_of(type(row))} VALUES ({marks})", values)
        first_crc = _first_crc(path)
    except RecordingFault as fault:
        if not row_of_file.fault:
            row_of_file = unread(name, state[0], f"{fault}")
    write_said()
    row_of_file = replace(row_of_file, size_bytes=state[0])
    values = (id_, name, *values_of(row_of_file), state[1], first_crc)
    database.execute(f"INSERT INTO recording_row VALUES ({', '.join('?' * len(values))})", values)


def _check_name(name: str, path: Path) -> None:
    """Raises RecordingFault for a file whose name can't be said again: nobody could open it by it."""
    if name != path.name:
        raise RecordingFault(
            "The name of this file isn't text in UTF-8.",
            "So it can't be named to find what is in it.",
            "Give it another name that ends in .exhibit.",
        )


def rows_of(path: Path) -> _Rows:
    """All rows of one recording; that of the file comes last.

    Raises RecordingFault if the file is no recording.
    """
    now = Moments(path.name)
    session, wear, troubles, said = SessionRows(now), WearRows(now), TroubleRows(now), SaidRows(now)
    days = DayRecord()
    days.begin(path.name)
    spans: dict[str, list[str]] = {}
    closed = None
    damaged, torn = 0, False
    for entry in read(path):
        if isinstance(entry, Damaged):
            damaged, torn = damaged + (not entry.torn), torn or entry.torn
            troubles.lost(entry)
            yield from said.lost(entry)
            if not entry.torn:
                # What happened there nobody knows: what was under way has no end.
                yield from session.end()
                days.lost()
            continue
        if troubles.is_damaged:
            yield from troubles.found(entry.seq, entry.at_us)
        now.note(entry)
        fact = entry.fact
        yield from wear.pass_time()
        yield from said.take(entry)
        if isinstance(fact, kinds.BytesReceived):
            continue
        yield from wear.take(fact)
        yield from troubles.take(fact)
        yield from session.take(fact)
        days.take(entry)
        at = now.times.wall(entry.at_us)
        spans.setdefault(at[:10], [at, at])[1] = at
        if isinstance(fact, kinds.RecordingClosed):
            closed = fact
    yield from said.end()
    yield from session.end()
    yield from wear.end()
    yield from troubles.end()
    days.end()
    for day in days.days.values():
        yield _day_row(path.name, day, spans.get(day.date, ["", ""]))
    if now.opened is not None:
        yield _recording_row(now, now.opened, closed, damaged, torn=torn)


def unread(name: str, size_bytes: int, fault: str) -> RecordingRow:
    """The row of a file from which nothing was read."""
    nothing: dict[str, Any] = {"str": "", "int": 0, "float": 0.0, "bool": False}
    fields = RecordingRow.__dataclass_fields__
    values = {field: nothing[f"{fields[field].type}"] for field in columns_of(RecordingRow)}
    return RecordingRow(**{**values, "recording": name, "size_bytes": size_bytes, "fault": fault})


def _recording_row(
    now: Moments,
    opened: kinds.RecordingOpened,
    closed: kinds.RecordingClosed | None,
    damaged: int,
    *,
    torn: bool,
) -> RecordingRow:
    return RecordingRow(
        recording=now.recording,
        size_bytes=0,
        machine=opened.machine,
        title=now.first_words(opened.title),
        simulated=opened.machine_is == "simulated",
        practice=opened.practice,
        watched=opened.typing == "nothing",
        rate=opened.rate,
        opened_at=opened.wall,
        ended_at=now.times.wall(now.at_us),
        length_us=now.at_us,
        facts=now.seq,
        closed=closed is not None,
        why_closed=closed.why if closed is not None else "",
        damaged=damaged,
        torn=torn,
        previous=opened.previous_file,
        software=opened.software,
        line=opened.line,
        fault="",
    )


def _day_row(recording: str, day: Day, span: list[str]) -> DayRow:
    rounds = [ran for ran in day.scripts if ran.round]
    return DayRow(
        recording=recording,
        date=day.date,
        recorded_s=seconds_between(*span),
        rounds=len(rounds),
        rounds_done=sum(ran.outcome == DONE for ran in rounds),
        scripts=len(day.scripts),
        scripts_failed=sum(ran.outcome in ("failed", "stopped") for ran in day.scripts),
        troubles=len(day.troubles),
        by_hand=sum(hand.answer == DONE for hand in day.by_hand),
        notes=day.notes.get("note", 0),
        photographs=day.notes.get("photograph", 0),
        minutes_kept=day.notes.get("minutes kept", 0),
        script_s=day.script_s,
        part_s=msgspec.json.encode(day.part_s).decode(),
        damaged=day.damaged,
    )


def _first_crc(path: Path) -> str:
    """The checksum of a recording's first line; empty if it can't be read."""
    with open_recording(path) as file:
        crc = stored_crc(file.readline(MAX_LINE_BYTES))
    return crc.decode() if crc is not None else ""


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
