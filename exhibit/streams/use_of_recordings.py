"""Adds up how much a machine was used and what a day has brought, so that a restart resets nothing.

Each recording begins with the totals before it. So only the newest is read: its first fact, and what
happened after it. Older ones can be removed.
"""

from __future__ import annotations

from pathlib import Path

import msgspec

from exhibit.decisions.page.views import View
from exhibit.decisions.wear.troubles_left import TroublesLeft
from exhibit.decisions.wear.use import Use
from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.facts.use_before import DayBefore, UseBefore
from exhibit.streams.line_chain import Damaged
from exhibit.streams.recording_files import RecordingFile, RecordingFolder
from exhibit.streams.recording_reader import read, read_opened


def use_of_recordings(folder: Path, opened: kinds.RecordingOpened) -> UseBefore | None:
    """How much was used before the recording that `opened` begins; None if nothing was recorded.

    Only recordings of the same machine at the same rate count, either simulated or real. Damaged parts don't
    count. Raises RecordingFault if the folder can't be read.
    """
    total: UseBefore | None = None
    for file in _since_last_total(_comparable(RecordingFolder(folder).recordings(opened.machine), opened)):
        try:
            total = use_of(file.path, total)
        except RecordingFault:
            total = _use_before(file.path) or total  # all that can still be read
    return total


def use_of(path: Path, before: UseBefore | None = None) -> UseBefore:
    """How much was used in all up to the end of this recording.

    `before` is used if the recording itself doesn't say how much was used before it. Raises RecordingFault if
    it can't be read, or its times are outside the years 1 to 9999.
    """
    try:
        return _use_of(path, before)
    except (OverflowError, ZeroDivisionError) as error:
        raise RecordingFault(
            f"{path} contains a time that is outside the years 1 to 9999.",
            "So the use that it recorded doesn't count.",
            "Look for another copy of the recording.",
        ) from error


def day_of_recordings(folder: Path, opened: kinds.RecordingOpened) -> DayBefore:
    """What earlier recordings say about the local day on which `opened` begins one; empty if nothing.

    Only the newest of the same machine at the same rate is read: it begins with what was before it. Damaged
    parts don't count. Raises RecordingFault if the folder can't be read.
    """
    files = _comparable(RecordingFolder(folder).recordings(opened.machine), opened)
    if not files:
        return DayBefore()
    view = View()
    try:
        for entry in read(files[-1].path):
            # What the machine sent is in the facts that were recognised in it.
            if not isinstance(entry, Damaged) and not isinstance(entry.fact, kinds.BytesReceived):
                view.apply(entry)
        day = view.day_before() if view.opened is not None else DayBefore()
    except RecordingFault:
        return DayBefore()
    return day if day.date == opened.wall[:10] else DayBefore()


def _use_of(path: Path, before: UseBefore | None) -> UseBefore:
    use: Use | None = None
    troubles = TroublesLeft()
    at_us = 0
    for entry in read(path):
        if isinstance(entry, Damaged):
            continue
        if isinstance(entry.fact, kinds.RecordingOpened) and use is None:
            use = Use(_with_use_before(entry.fact, before))
        if use is not None:
            use.note(entry.at_us, entry.fact)
            at_us = entry.at_us
            troubles.take(entry, use.wall)
    if use is None:
        raise RecordingFault(
            f"The first line of {path} can't be read.",
            "So the use that it recorded doesn't count.",
            "Get another copy of the recording.",
        )
    return msgspec.structs.replace(use.before(at_us), troubles=troubles.left)


def _with_use_before(opened: kinds.RecordingOpened, before: UseBefore | None) -> kinds.RecordingOpened:
    if opened.use_before is not None or before is None:
        return opened
    return msgspec.structs.replace(opened, use_before=before)


def _comparable(files: list[RecordingFile], opened: kinds.RecordingOpened) -> list[RecordingFile]:
    kind = opened.machine_is, opened.rate
    return [file for file in files if (file.machine_is, file.rate) == kind]


def _since_last_total(files: list[RecordingFile]) -> list[RecordingFile]:
    """Those from the newest one on that says how much was used before it; if none does, only the newest."""
    for place in range(len(files) - 1, -1, -1):
        if _use_before(files[place].path) is not None:
            return files[place:]
    return files[-1:]


def _use_before(path: Path) -> UseBefore | None:
    try:
        return read_opened(path).use_before
    except RecordingFault:
        return None
