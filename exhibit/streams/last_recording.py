"""Reads what the last recording of a machine left open, before another one is begun."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Final, Literal

from exhibit.decisions.machine.script import Folder
from exhibit.decisions.session.left_open import NOTHING, LeftOpen
from exhibit.facts import codec, kinds
from exhibit.facts.errors import RecordingFault
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_files import RecordingFolder
from exhibit.streams.recording_reader import format_of_recording, open_recording

BOOT: Final = Path("/proc/sys/kernel/random/boot_id")
"""Linux gives the time from each start of the computer to its stop a name of its own (random(4))."""


_FREQUENT: Final = re.compile(rb'"(bytes_received|heartbeat|deadline_armed|deadline_passed|reading_taken)"')
_HEAD_BYTES: Final = 80
"""A line begins with its number, its time and its kind."""


def this_boot() -> str:
    """The name of the computer's present run; empty where that can't be told."""
    try:
        return BOOT.read_text("ascii").strip()
    except (OSError, ValueError):
        return ""


def left_by_last(
    recordings: Path, folder: Folder, boot: str, machine_is: Literal["real", "simulated"]
) -> kinds.LastRecordingRead:
    """What the newest recording of this machine that scripts were run in left open; NOTHING if there is none.

    What a simulated machine was left in says nothing of the real one, nor the other way round.
    `boot`: the computer's present run. One that was killed has all that it wrote in its file; what was
    written in another run, and not closed, may lack the last second (see the writer's syncing). A torn last
    line, as a killed writer leaves it, and damage within are passed over. Raises RecordingFault if the folder
    of recordings can't be read; a recording that can't be counts as one that broke off.
    """
    typed_at = [
        file
        for file in RecordingFolder(recordings).recordings(folder.machine.name)
        if file.typing == "scripts" and file.machine_is == machine_is
    ]
    if not typed_at:
        return NOTHING
    last, left = typed_at[-1], LeftOpen(folder)
    try:
        for fact in _facts_that_matter(last.path):
            left.take(fact)
    except RecordingFault:
        pass
    broke_off = not left.now.closed
    return left.as_fact(last.path.name, may_lack=broke_off and (not boot or last.boot != boot))


def _facts_that_matter(path: Path) -> Iterator[kinds.AnyFact | kinds.UnknownFact]:
    """The sound facts of a recording, without those that are many and from which LeftOpen learns nothing.

    Raises RecordingFault.
    """
    with open_recording(path) as file, as_recording_fault(path, "be read"):
        crc, format_number = codec.FIRST_CRC, 0
        for line in file:
            if not format_number:
                format_number = format_of_recording(line)
            if not _FREQUENT.search(line[:_HEAD_BYTES]):
                with suppress(codec.LineDamaged):
                    yield codec.decode_line(line, crc, format_number).fact
            crc = codec.stored_crc(line) or crc
