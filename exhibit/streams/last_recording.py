"""Reads what the last recording of a machine left open, before another one is begun."""

from __future__ import annotations

from pathlib import Path

from exhibit.decisions.left_open import NOTHING, LeftOpen
from exhibit.decisions.script import Folder
from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.streams.recording_files import RecordingFolder
from exhibit.streams.recording_reader import read


def left_by_last(recordings: Path, folder: Folder) -> kinds.LastRecordingRead:
    """What the newest recording of this machine that scripts were run in left open; NOTHING if there is none.

    A torn last line, as a killed writer leaves it, and damage within are passed over. Raises RecordingFault
    if the folder of recordings can't be read; a recording that can't be counts as one that broke off.
    """
    typed_at = [
        file
        for file in RecordingFolder(recordings).recordings(folder.machine.name)
        if file.opened.typing == "scripts"
    ]
    if not typed_at:
        return NOTHING
    last, left = typed_at[-1].path, LeftOpen(folder)
    try:
        for entry in read(last):
            if isinstance(entry, kinds.Entry):
                left.take(entry.fact)
    except RecordingFault:
        pass
    return left.told(last.name)
