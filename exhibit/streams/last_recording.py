"""Reads what the last recording of a machine left open, before another one is begun."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from exhibit.decisions.left_open import NOTHING, LeftOpen
from exhibit.decisions.script import Folder
from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.streams.recording_files import RecordingFolder
from exhibit.streams.recording_reader import read

BOOT: Final = Path("/proc/sys/kernel/random/boot_id")
"""Linux gives the time from each start of the computer to its stop a name of its own (random(4))."""


def this_boot() -> str:
    """The name of the computer's present run; empty where that can't be told."""
    try:
        return BOOT.read_text("ascii").strip()
    except (OSError, ValueError):
        return ""


def left_by_last(recordings: Path, folder: Folder, boot: str) -> kinds.LastRecordingRead:
    """What the newest recording of this machine that scripts were run in left open; NOTHING if there is none.

    `boot`: the computer's present run. One that was killed has all that it wrote in its file; what was
    written in another run, and not closed, may lack the last second (see the writer's syncing). A torn last
    line, as a killed writer leaves it, and damage within are passed over. Raises RecordingFault if the folder
    of recordings can't be read; a recording that can't be counts as one that broke off.
    """
    typed_at = [
        file
        for file in RecordingFolder(recordings).recordings(folder.machine.name)
        if file.opened.typing == "scripts"
    ]
    if not typed_at:
        return NOTHING
    last, left = typed_at[-1], LeftOpen(folder)
    try:
        for entry in read(last.path):
            if isinstance(entry, kinds.Entry):
                left.take(entry.fact)
    except RecordingFault:
        pass
    broke_off = not left.now.closed
    return left.told(last.path.name, may_lack=broke_off and (not boot or last.opened.boot != boot))
