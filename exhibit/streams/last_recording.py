"""Reads what the last run left unfinished at a machine, before a new recording begins."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final, Literal

import msgspec

from exhibit.decisions.machine.script import Folder
from exhibit.decisions.session.day_left import DayLeft
from exhibit.decisions.session.left_open import BY_HAND, NOTHING, LeftOpen
from exhibit.facts import codec, kinds
from exhibit.facts.errors import RecordingFault
from exhibit.streams.bounds import is_within
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_files import RecordingFolder
from exhibit.streams.recording_reader import format_of_recording, open_recording

BOOT: Final = Path("/proc/sys/kernel/random/boot_id")
"""Linux gives a new name to each time the computer is started (random(4))."""

_FREQUENT: Final = re.compile(rb'"(bytes_received|heartbeat|deadline_armed|deadline_passed|reading_taken)"')
_HEARD: Final = (kinds.LastRecordingRead, kinds.TypedByHand, kinds.BytesMissed)
"""In a recording without scripts the first of them says what was typed before midnight.

It counts if the recording of the day before can't be read: what is typed may follow what a run left.
"""
_MOST_UNREADABLE_BYTES: Final = 4 * codec.MAX_LINE_BYTES
"""After so much without a line, nothing more is read."""
_HEAD_BYTES: Final = 80
"""Enough for what a line begins with: its number, its time and its kind."""


def this_boot() -> str:
    """A name for the time since the computer was started; empty if unknown."""
    try:
        return BOOT.read_text("ascii").strip()
    except (OSError, ValueError):
        return ""


def left_open_by_last(
    recordings: Path, folder: Folder, boot: str, machine_is: Literal["real", "simulated"]
) -> kinds.LastRecordingRead:
    """What the newest run that typed at this machine left unfinished; NOTHING if there is none.

    So is what a person left on the console whose typing was heard in recordings since.
    Recordings of a simulated machine say nothing about the real one, and the reverse. `boot` is the result
    of this_boot. If the program was killed, its file has everything that it wrote. But if the computer has
    been restarted since, a recording that wasn't closed may lack its last second, which was not yet synced
    to the disc (`may_lack`). Damage is skipped, and so is an incomplete last line. Raises RecordingFault if
    the folder of recordings can't be read; a recording that can't be read counts as one that wasn't closed.
    """
    files = [
        file
        for file in RecordingFolder(recordings).recordings(folder.machine.name)
        if file.machine_is == machine_is
    ]
    runs = [file for file in files if file.typing == "scripts"]
    watched = files[files.index(runs[-1]) + 1 :] if runs else files
    by_hand = [(file, facts) for file in watched if (facts := _by_hand(file.path))]
    if not (runs or by_hand):
        return NOTHING
    left_open, day, lacks, read = LeftOpen(folder), DayLeft(), False, set[str]()
    if runs:
        with suppress(RecordingFault):
            for entry in _entries_that_matter(runs[-1].path):
                left_open.take(entry.fact)
                day.take(entry)
        lacks = not left_open.now.closed and (not boot or runs[-1].boot != boot)
    for file, facts in by_hand:
        for fact in facts:
            if not (isinstance(fact, kinds.LastRecordingRead) and fact.recording in read):
                left_open.take_by_hand(fact)
        read.add(file.name)
        if not isinstance(facts[-1], kinds.RecordingClosed):
            lacks = lacks or not boot or file.boot != boot
        elif not runs and file is by_hand[-1][0]:
            left_open.take(facts[-1])
    last = runs[-1] if runs else by_hand[-1][0]
    return msgspec.structs.replace(left_open.as_fact(last.name, may_lack=lacks), day=day.kept)


def _by_hand(path: Path) -> Sequence[kinds.AnyFact]:
    """What a person typed in this recording, and what else matters then; empty if no typing was heard."""
    with suppress(RecordingFault):
        facts = [entry.fact for entry in _entries_that_matter(path) if isinstance(entry.fact, BY_HAND)]
        if any(isinstance(fact, _HEARD) for fact in facts):
            return facts
    return []


def _entries_that_matter(path: Path) -> Iterator[kinds.Entry]:
    """The undamaged entries of a recording, without the frequent ones, which don't matter to LeftOpen.

    Raises RecordingFault if the file can't be read.
    """
    with open_recording(path) as file, as_recording_fault(path, "be read"):
        crc, format_number, unreadable_bytes = codec.FIRST_CRC, 0, 0
        while (line := file.readline(codec.MAX_LINE_BYTES)) and unreadable_bytes <= _MOST_UNREADABLE_BYTES:
            if not format_number:
                format_number = format_of_recording(line)
            if not _FREQUENT.search(line[:_HEAD_BYTES]):
                with suppress(codec.LineDamaged):
                    entry = codec.decode_line(line, crc, format_number)
                    if is_within(line, entry):
                        yield entry
            stored = codec.stored_crc(line)
            crc, unreadable_bytes = stored or crc, 0 if stored else unreadable_bytes + len(line)
