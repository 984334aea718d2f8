"""Asks the index of a folder of recordings.

    with Index.open(folder) as index:
        index.recordings()                                  # what there is
        index.rows(StepRow, step="add", outcome="done")     # rows of a table, by values of their columns
        index.days()                                        # a row for each day of each machine
        index.find(text="DISC ERROR", kind="printed")       # lines that can be searched

Rows are in the order of their recordings (by the time of opening) and of their numbers in them. Copies and,
unless asked for, recordings of practice are left out.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import fields
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar, cast

import msgspec

from exhibit.facts.errors import RecordingFault
from exhibit.records.index.building import as_text, bring_up_to_date, holds_recordings
from exhibit.records.index.carried import with_carried
from exhibit.records.index.local_times import wall_of
from exhibit.records.index.reading_files import Reading
from exhibit.records.index.rows import (
    CarriedTroubleRow,
    Day,
    DayRow,
    Placed,
    RecordingRow,
    SaidRow,
    StepRow,
    TransfersRow,
    TroubleRow,
)
from exhibit.records.index.schema import columns_of, table_of
from exhibit.records.index.searching import Search, search_for
from exhibit.records.index.storing import connect, forget

R = TypeVar("R", bound=Placed | TransfersRow | DayRow)
_T = TypeVar("_T")


class Index:
    """The index of a folder's recordings, up to date when it was opened."""

    def __init__(self, folder: Path, only: Collection[str] = (), reading: Reading | None = None) -> None:
        self.folder = folder
        self._only = frozenset(map(as_text, only))
        self._files = frozenset(only)
        self._reading = reading
        self._empty = not holds_recordings(folder)
        self._database = connect(folder, whole=not only, empty=self._empty)
        self._whole(self._update)

    @classmethod
    def open(cls, folder: Path, only: Collection[str] = (), reading: Reading | None = None) -> Self:
        """The index of a folder, or of `only` the files of these names in it.

        Reads what is new or has changed first; `reading` is told of each file. Raises RecordingFault if the
        folder can't be read, and SetUpFault if this Python's SQLite can't search text.
        """
        return cls(folder, only, reading)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the index's file."""
        self._database.close()

    def recordings(
        self, machine: str | None = None, *, practice: bool = True, unreadable: bool = False
    ) -> list[RecordingRow]:
        """The recordings, oldest first; with `unreadable` also the files from which nothing could be read."""
        names = columns_of(RecordingRow)
        found = self._ask(f"SELECT {', '.join(names)} FROM recording_row ORDER BY opened_at, recording")
        rows = _made(RecordingRow, names, found)
        return [
            row
            for row in rows
            if (not self._only or row.recording in self._only)
            and not row.copy_of
            and (unreadable or not row.fault)
            and machine in (None, row.machine)
            and (practice or not row.practice)
        ]

    def rows(
        self, row: type[R], *, machine: str | None = None, practice: bool = False, **values: object
    ) -> list[R]:
        """The rows of a table whose columns have these values, such as step="add" or outcome=("done", "").

        `recording=` names a file. Raises ValueError for a column that the table doesn't have.
        """
        if row is not TroubleRow:
            return self._rows(row, machine, values, practice=practice)
        _where(row, columns_of(row), values)
        carried = self._rows(CarriedTroubleRow, machine, {}, practice=practice)
        whose = {one.recording: (one.machine, one.simulated) for one in self.recordings()} if carried else {}
        troubles = with_carried(self._rows(TroubleRow, machine, {}, practice=practice), carried, whose)
        return cast(list[R], [one for one in troubles if _has(one, values)])

    def _rows(
        self, row: type[R], machine: str | None, values: dict[str, object], *, practice: bool
    ) -> list[R]:
        names = columns_of(row)
        where, given = _where(row, names, values)
        of_recordings, which = self._of_recordings(machine, practice=practice)
        columns = ", ".join("r.recording" if name == "recording" else f"t.{name}" for name in names)
        order = "t.seq, t.rowid" if "seq" in names else "t.date"
        found = self._ask(
            f"SELECT {columns} FROM {table_of(row)} t JOIN recording_row r ON r.id = t.recording "
            f"WHERE {' AND '.join([of_recordings, *where])} ORDER BY r.opened_at, r.recording, {order}",
            (*which, *given),
        )
        return _made(row, names, found)

    def step_counts(self, machine: str | None = None) -> list[tuple[str, str, str, int]]:
        """How often each step was done: its machine, script and name, and the number of runs."""
        of_recordings, which = self._of_recordings(machine, practice=False)
        found = self._ask(
            f"SELECT r.machine, t.script, t.step, count(*) FROM {table_of(StepRow)} t "
            f"JOIN recording_row r ON r.id = t.recording WHERE {of_recordings} AND t.outcome = 'done' "
            "GROUP BY 1, 2, 3 ORDER BY min(t.rowid)",
            which,
        )
        return [(machine_, script, step, count) for machine_, script, step, count in found]

    def number_of_runs(self, machine: str, *, simulated: bool) -> int:
        """How many rows of steps there are of a machine's real or simulated recordings, without practice."""
        of_recordings, which = self._of_recordings(machine, practice=False)
        [(count,)] = self._ask(
            f"SELECT count(*) FROM {table_of(StepRow)} t JOIN recording_row r ON r.id = t.recording "
            f"WHERE {of_recordings} AND r.simulated = ?",
            (*which, simulated),
        )
        return int(count)

    def days(self, machine: str | None = None, *, practice: bool = False) -> list[Day]:
        """A row for each local day of each machine, in the order of machines and dates."""
        of = {one.recording: one for one in self.recordings(machine)}
        found: dict[tuple[str, bool, str], list[DayRow]] = {}
        for row in self.rows(DayRow, machine=machine, practice=practice):
            opened = of[row.recording]
            found.setdefault((opened.machine, opened.simulated, row.date), []).append(row)
        return [
            _day(*key, rows, closed=all(of[row.recording].closed for row in rows))
            for key, rows in sorted(found.items())
        ]

    def find(
        self,
        *,
        text: str = "",
        pattern: str = "",
        kind: Collection[str] = (),
        step: str = "",
        since: datetime | None = None,
        until: datetime | None = None,
        machine: str | None = None,
        practice: bool = False,
        most: int = 0,
    ) -> Iterator[SaidRow]:
        """Lines that contain `text` (in capitals or not) and match `pattern` (a regular expression).

        `kind` is one of SaidRow.kind's, `step` SCRIPT.STEP or the step alone. `since` and `until` are local
        dates and times, whatever their offset. `most` lines are given, or all if it is 0. Raises re.error for
        a pattern that is none.
        """
        search = search_for(text, pattern, kind, step, since, until)
        of_recordings, which = self._of_recordings(machine, practice=practice)
        if self._whole(lambda: search.may_be_few(self._database)):
            few = "t.id IN (SELECT rowid FROM said_text WHERE said_text MATCH ?)"
            where, given = [of_recordings, few, *search.where], [*which, search.threes, *search.given]
            yield from self._lines(where, given, search, most)
            return
        found = 0
        names = self._ask(
            f"SELECT r.id FROM recording_row r WHERE {of_recordings} ORDER BY r.opened_at, r.recording", which
        )
        for (recording,) in names:
            left = most - found if most else 0
            for row in self._lines(["r.id = ?", *search.where], [recording, *search.given], search, left):
                yield row
                found += 1
            if most and found == most:
                return

    def _lines(self, where: list[str], given: list[object], search: Search, most: int) -> Iterator[SaidRow]:
        found = self._search(
            "SELECT r.recording, t.seq, t.at_us, t.local_ms, t.offset_min, t.kind, t.step, t.who, t.text "
            f"FROM said t JOIN recording_row r ON r.id = t.recording WHERE {' AND '.join(where)} "
            "ORDER BY r.opened_at, r.recording, t.seq, t.id LIMIT ?",
            (*given, most or -1),
            search.functions,
        )
        for name, seq, at_us, local_ms, offset_min, said_kind, said_step, who, line in _each(found):
            yield SaidRow(
                recording=name,
                seq=seq,
                at=wall_of(local_ms, offset_min),
                at_us=at_us,
                kind=said_kind,
                step=said_step,
                by=who,
                text=line,
            )

    # -- within

    def _update(self) -> None:
        bring_up_to_date(self._database, self.folder, self._files, self._reading)

    def _ask(self, sql: str, given: Collection[object] = ()) -> list[Any]:
        """All rows of a query."""
        return self._whole(lambda: self._database.execute(sql, tuple(given)).fetchall())

    def _search(
        self, sql: str, given: Collection[object], functions: Mapping[str, Callable[[str], bool]]
    ) -> sqlite3.Cursor:
        """The rows of a query that uses functions of one text."""

        def asked() -> sqlite3.Cursor:
            for name, function in functions.items():
                self._database.create_function(name, 1, function)
            return self._database.execute(sql, tuple(given))

        return self._whole(asked)

    def _whole(self, ask: Callable[[], _T]) -> _T:
        """What `ask` gives; if the index's file is of no use, from an index that is made anew."""
        try:
            return ask()
        except sqlite3.OperationalError as error:
            # Damage is mended by a new file. A full disc, a lock that stays, or somebody else's file isn't.
            in_memory = "malformed" not in f"{error}"
        except sqlite3.DatabaseError:
            in_memory = False
        if in_memory:
            self._database.close()
        else:
            forget(self._database)
        self._database = connect(self.folder, whole=not self._only, empty=self._empty, in_memory=in_memory)
        self._update()
        return ask()

    def _of_recordings(self, machine: str | None, *, practice: bool) -> tuple[str, list[object]]:
        where: list[str] = ["r.copy_of = ''"]
        given: list[object] = []
        if not practice:
            where.append("r.practice = 0")
        if machine is not None:
            where.append("r.machine = ?")
            given.append(as_text(machine))
        if self._only:
            where.append(f"r.recording IN ({', '.join('?' * len(self._only))})")
            given += sorted(self._only)
        return " AND ".join(where), given


def _each(found: sqlite3.Cursor) -> Iterator[tuple[Any, ...]]:
    """The rows of a query, without having them all in memory."""
    try:
        while rows := found.fetchmany(1000):
            yield from rows
    except sqlite3.DatabaseError as error:
        raise RecordingFault(
            "The index of the recordings has just been damaged.",
            "So not all lines could be found.",
            "Do the same again: the index is then made anew from the recordings, which it doesn't touch.",
        ) from error


def _where(row: type, names: list[str], values: dict[str, object]) -> tuple[list[str], list[object]]:
    where, given = [], []
    for name, value in values.items():
        if name not in names:
            raise ValueError(f"{row.__name__} has no column {name}: it has {', '.join(names)}")
        several = _several(value)
        where.append(f"{'r' if name == 'recording' else 't'}.{name} IN ({', '.join('?' * len(several))})")
        given += several
    return where, given


def _several(value: object) -> list[object]:
    return [*value] if isinstance(value, tuple | list | set | frozenset) else [value]


def _has(row: object, values: dict[str, object]) -> bool:
    return all(getattr(row, name) in _several(value) for name, value in values.items())


def _made(row: type[_T], names: list[str], found: Iterable[tuple[Any, ...]]) -> list[_T]:
    """Rows of a class, with truth values as such."""
    truths = [one.name for one in fields(cast(Any, row)) if one.type == "bool"]
    made = []
    for values in found:
        by_name = dict(zip(names, values, strict=True))
        for name in truths:
            by_name[name] = bool(by_name[name])
        made.append(row(**by_name))
    return made


def _day(machine: str, simulated: bool, date: str, rows: list[DayRow], *, closed: bool) -> Day:
    part_s: dict[str, float] = {}
    for row in rows:
        for part, ran_s in msgspec.json.decode(row.part_s, type=dict[str, float]).items():
            part_s[part] = part_s.get(part, 0.0) + ran_s
    return Day(
        machine=machine,
        simulated=simulated,
        date=date,
        files=tuple(row.recording for row in rows),
        recorded_s=sum(row.recorded_s for row in rows),
        rounds=sum(row.rounds for row in rows),
        rounds_done=sum(row.rounds_done for row in rows),
        scripts=sum(row.scripts for row in rows),
        scripts_failed=sum(row.scripts_failed for row in rows),
        troubles=sum(row.troubles for row in rows),
        disc_errors=sum(row.disc_errors for row in rows),
        garbled=sum(row.garbled for row in rows),
        by_hand=sum(row.by_hand for row in rows),
        notes=sum(row.notes for row in rows),
        photographs=sum(row.photographs for row in rows),
        minutes_kept=sum(row.minutes_kept for row in rows),
        script_s=sum(row.script_s for row in rows),
        part_s=part_s,
        damaged=any(row.damaged for row in rows),
        closed=closed,
    )
