"""Sums up what a machine was used for, over the recordings in a folder, so that a restart resets nothing.

Each recording begins with what was used before it. So only the newest is read: what it begins with, and
what happened in it. Older ones may be taken away.
"""

from __future__ import annotations

from pathlib import Path

import msgspec

from exhibit.decisions.wear.use import Use
from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.facts.use_before import UseBefore
from exhibit.streams.line_chain import Damaged
from exhibit.streams.recording_files import RecordingFile, RecordingFolder
from exhibit.streams.recording_reader import read, read_opened


def use_of_recordings(folder: Path, opened: kinds.RecordingOpened) -> UseBefore | None:
    """What was used before the recording that `opened` begins; None where nothing was recorded of it.

    Recordings of the simulator, or at another rate, don't count for a real machine, nor the other way round.
    What is damaged in a recording doesn't count. Raises RecordingFault if the folder can't be read.
    """
    kept: UseBefore | None = None
    for file in _since_it_was_carried_on(_like(RecordingFolder(folder).recordings(opened.machine), opened)):
        try:
            kept = use_of(file.path, kept)
        except RecordingFault:
            kept = _use_before(file.path) or kept  # what can still be read counts
    return kept


def use_of(path: Path, before: UseBefore | None = None) -> UseBefore:
    """What was used up to the end of this recording.

    `before` counts where the recording itself doesn't say what was used before it. Raises RecordingFault.
    """
    try:
        return _use_of(path, before)
    except (OverflowError, ZeroDivisionError) as error:
        raise RecordingFault(
            f"{path} gives a time that is in no year.",
            "So what was used in it doesn't count.",
            "Look for another copy of the recording.",
        ) from error


def _use_of(path: Path, before: UseBefore | None) -> UseBefore:
    use: Use | None = None
    at_us = 0
    for entry in read(path):
        if isinstance(entry, Damaged):
            continue
        if isinstance(entry.fact, kinds.RecordingOpened) and use is None:
            use = Use(_with(entry.fact, before))
        if use is not None:
            use.note(entry.at_us, entry.fact)
            at_us = entry.at_us
    if use is None:
        raise RecordingFault(
            f"The first line of {path} can't be read.",
            "So what was used in it doesn't count.",
            "Fetch another copy of the recording.",
        )
    return use.before(at_us)


def _with(opened: kinds.RecordingOpened, before: UseBefore | None) -> kinds.RecordingOpened:
    if opened.use_before is not None or before is None:
        return opened
    return msgspec.structs.replace(opened, use_before=before)


def _like(files: list[RecordingFile], opened: kinds.RecordingOpened) -> list[RecordingFile]:
    kind = opened.machine_is, opened.rate
    return [file for file in files if (file.machine_is, file.rate) == kind]


def _since_it_was_carried_on(files: list[RecordingFile]) -> list[RecordingFile]:
    """From the newest recording that says what was used before it; the newest alone, if none does."""
    for place in range(len(files) - 1, -1, -1):
        if _use_before(files[place].path) is not None:
            return files[place:]
    return files[-1:]


def _use_before(path: Path) -> UseBefore | None:
    try:
        return read_opened(path).use_before
    except RecordingFault:
        return None
