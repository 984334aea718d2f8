"""All rows of one recording, made in one reading of its file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import Any

import msgspec

from exhibit.facts import kinds
from exhibit.facts.codec import MAX_LINE_BYTES, stored_crc
from exhibit.facts.errors import RecordingFault
from exhibit.records.index.moments import Moments
from exhibit.records.index.rows import DayRow, ErrorsRow, GarbledRow, Placed, RecordingRow, TransfersRow
from exhibit.records.index.said_rows import Said, SaidRows
from exhibit.records.index.schema import columns_of
from exhibit.records.index.session_rows import SessionRows
from exhibit.records.index.start_rows import StartRows
from exhibit.records.index.trouble_rows import TroubleRows
from exhibit.records.index.wear_rows import WearRows
from exhibit.streams.recording import Damaged, read, read_opened
from exhibit.streams.recording_reader import open_recording
from exhibit.sums.day_record import DONE, Day, DayRecord

WRITTEN_DOWN = "It holds what an engineer wrote down: `exhibit work list` shows it."
Row = Placed | TransfersRow | DayRow | RecordingRow | Said


@dataclass(frozen=True)
class ReadFile:
    """That a file has been read to its end, or as far as it could be."""

    row: RecordingRow
    """With why it couldn't be read, if so: then the rows before this one don't count."""
    first_crc: str
    """The checksum of its first line, by which copies are known; empty if it couldn't be read."""


def rows_of_file(name: str, path: Path) -> Iterator[Row | ReadFile]:
    """All rows of a file that is called `name` in the index; a ReadFile comes last."""
    try:
        _check_name(name, path)
        if _is_work(path):
            yield ReadFile(unread(name, WRITTEN_DOWN), _first_crc(path))
            return
        whole = None
        for row in rows_of(path):
            if isinstance(row, RecordingRow):
                whole = row
            else:
                yield row
        if whole is None:  # its first line is damaged
            whole = unread(name, "The first line, which says what machine this was, can't be read.")
        yield ReadFile(whole, _first_crc(path))
    except RecordingFault as fault:
        yield ReadFile(unread(name, f"{fault}"), "")


def _is_work(path: Path) -> bool:
    """Whether the file holds only what an engineer wrote down: that is no day of the machine."""
    try:
        return read_opened(path).work
    except RecordingFault:
        return False


def _check_name(name: str, path: Path) -> None:
    """Raises RecordingFault for a file whose name can't be said again: nobody could open it by it."""
    if name != path.name:
        raise RecordingFault(
            "The name of this file isn't text in UTF-8.",
            "So it can't be named to find what is in it.",
            "Give it another name that ends in .exhibit.",
        )


def rows_of(path: Path) -> Iterator[Row]:
    """All rows of one recording; that of the file comes last.

    Raises RecordingFault if the file is no recording.
    """
    now = Moments(path.name)
    session, wear, troubles, said = SessionRows(now), WearRows(now), TroubleRows(now), SaidRows(now)
    starts = StartRows(now)
    days = DayRecord()
    days.begin(path.name)
    counts = _Counts()
    spans: dict[str, list[int]] = {}
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
                starts.lost()
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
        for row in chain(wear.take(fact), troubles.take(fact), starts.take(fact), session.take(fact)):
            counts.note(row)
            yield row
        days.take(entry)
        at = now.times.wall(entry.at_us)
        spans.setdefault(at[:10], [entry.at_us, entry.at_us])[1] = entry.at_us
        if isinstance(fact, kinds.RecordingClosed):
            closed = fact
    yield from said.end()
    yield from session.end()
    yield from wear.end()
    yield from troubles.end()
    days.end()
    for day in days.days.values():
        first_us, last_us = spans.get(day.date, (0, 0))
        recorded_s = (last_us - first_us) / 1e6 / (now.opened.rate if now.opened is not None else 1.0)
        yield _day_row(path.name, day, recorded_s, counts)
    if now.opened is not None:
        yield _recording_row(now, now.opened, closed, damaged, torn=torn)


def unread(name: str, fault: str) -> RecordingRow:
    """The row of a file from which nothing was read."""
    nothing: dict[str, Any] = {"str": "", "int": 0, "float": 0.0, "bool": False}
    fields = RecordingRow.__dataclass_fields__
    values = {field: nothing[f"{fields[field].type}"] for field in columns_of(RecordingRow)}
    return RecordingRow(**{**values, "recording": name, "fault": fault})


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


@dataclass
class _Counts:
    """What is counted for each day from the rows that are made on it."""

    errors: dict[str, Counter[str]] = field(default_factory=dict)
    """By day: how many disc errors each source has reported."""
    garbled: Counter[str] = field(default_factory=Counter)

    def note(self, row: Placed) -> None:
        if isinstance(row, ErrorsRow):
            self.errors.setdefault(row.at[:10], Counter())[row.by] += row.count
        elif isinstance(row, GarbledRow):
            self.garbled[row.at[:10]] += 1


def _day_row(recording: str, day: Day, recorded_s: float, counts: _Counts) -> DayRow:
    rounds = [ran for ran in day.scripts if ran.round]
    return DayRow(
        recording=recording,
        date=day.date,
        recorded_s=recorded_s,
        rounds=len(rounds),
        rounds_done=sum(ran.outcome == DONE for ran in rounds),
        scripts=len(day.scripts),
        scripts_failed=sum(ran.outcome in ("failed", "stopped") for ran in day.scripts),
        troubles=len(day.troubles),
        disc_errors=max(counts.errors.get(day.date, {}).values(), default=0),
        garbled=counts.garbled[day.date],
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
