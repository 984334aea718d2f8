"""Removes recordings that a machine's folder says need not be kept any longer, but none that matters.

A day is kept or removed as a whole. Kept for good are days with a trouble, a failed run or an open question
in a note, with a photograph or minutes that somebody saved, and whatever is damaged or can't be read.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Final

import msgspec

from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import ExhibitError
from exhibit.records.keeping.copying import is_copied
from exhibit.records.keeping.discarded import LIST, Discarded
from exhibit.records.keeping.jsonl import add_line, sync_folder
from exhibit.streams.compressed.names import plain_name, stem_of
from exhibit.streams.line_chain import Damaged
from exhibit.streams.recording import RecordingFolder, read, read_opened, writer_state
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_files import last_crc

LONGEST_NOTE_BYTES: Final = 1_000_000


class OldDay(msgspec.Struct, frozen=True):
    """A day that is older than the rule asks for."""

    day: date
    files: list[Path]
    facts: list[int]
    size_bytes: int
    keep_because: str
    """Why it is kept all the same; empty if it can be removed."""


def old_days(
    recordings: Path, machine: str, keep_days: int, today: date, saved: Path, copied_to: Path | None = None
) -> list[OldDay]:
    """The days of this machine that are more than `keep_days` before `today`, oldest first.

    `saved` is the folder of notes and saved minutes. With `copied_to` a day can be removed only if all of it
    has arrived there. Raises RecordingFault if the folder can't be read.
    """
    files = RecordingFolder(recordings).recordings(machine)
    by_day = dict[date, list[Path]]()
    for file in files:
        by_day.setdefault(read_wall(read_opened(file.path).wall).date(), []).append(file.path)
    newest = files[-1].path if files else None
    found = []
    for day, paths in sorted(by_day.items()):
        if day >= today - timedelta(days=keep_days):
            continue
        counts, because = list[int](), ""
        for path in paths:
            count, why = _facts_in(path, saved)
            counts.append(count)
            if path == newest:
                why = why or "it holds the newest recording, with which the next run begins"
            if copied_to is not None and not is_copied(path, copied_to):
                why = why or f"{path.name} hasn't arrived in {copied_to}"
            because = because or why
        size_bytes = sum(path.stat().st_size for path in paths)
        found.append(OldDay(day, paths, counts, size_bytes, because))
    return found


def discard(one: OldDay, today: date, rule: str) -> None:
    """Remove a day that can be removed. It is listed first. Raises SetUpFault, RecordingFault."""
    assert not one.keep_because
    for path, facts in zip(one.files, one.facts, strict=True):
        line = Discarded(
            file=plain_name(path.name),
            day=f"{one.day}",
            facts=facts,
            last_crc=last_crc(path),
            discarded=f"{today}",
            rule=rule,
        )
        add_line(path.parent / LIST, line)
        with as_recording_fault(path, "be removed"):
            path.unlink()
            sync_folder(path.parent)


def _facts_in(path: Path, saved: Path) -> tuple[int, str]:
    """How many facts a recording has, and why it must be kept; empty if nothing in it says so."""
    facts = 0
    try:
        if writer_state(path) == "writing":
            return 0, "it is still being written"
        if saved_minutes := next(_minutes_of(path, saved), None):
            return 0, f"minutes of it were saved as {saved_minutes.name}"
        for item in read(path):
            if isinstance(item, Damaged):
                return facts, f"{path.name} is damaged"
            facts += 1
            if why := _says(item.fact, saved):
                return facts, f"{why} (fact {item.seq:,} of {path.name})"
    except (ExhibitError, OSError) as fault:
        return facts, f"{path.name} can't be read: {fault}"
    return facts, ""


def _minutes_of(path: Path, saved: Path) -> Iterator[Path]:
    if saved.is_dir():
        yield from sorted(saved.glob(f"{stem_of(path.name)}-last-*"))


def _says(fact: kinds.AnyFact | kinds.UnknownFact, saved: Path) -> str:
    """Why a recording with this fact must be kept; empty if it doesn't matter."""
    match fact:
        case kinds.TroubleRaised(trouble=trouble):
            return f"the trouble {trouble} was raised"
        case kinds.SessionFailed():
            return "a run failed"
        case kinds.NoteMade(kind="photograph"):
            return "a photograph was kept"
        case kinds.NoteMade(kind="minutes kept"):
            return "minutes were saved for the engineer"
        case kinds.NoteMade(digest=digest) if _asks(saved / "notes" / f"{digest}.txt"):
            return "a note asks a question"
        case kinds.UnknownFact(name=name):
            return f"it holds {name}, which this version doesn't know"
    return ""


def _asks(note: Path) -> bool:
    """Whether a note asks something. An erased one doesn't; one that can't be read may."""
    try:
        with note.open("rb") as file:
            return b"?" in file.read(LONGEST_NOTE_BYTES)
    except FileNotFoundError:
        return False
    except OSError:
        return True
