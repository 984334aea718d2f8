"""Reads only some kinds of fact out of a recording: the other lines are passed over unread."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Final

from exhibit.facts import codec
from exhibit.facts.kinds import Entry
from exhibit.streams.bounds import is_within
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_reader import format_of_recording, open_recording

_HEAD_BYTES: Final = 120
"""Enough for what a line begins with: its number, its time and its kind."""
_MOST_UNREADABLE_BYTES: Final = 4 * codec.MAX_LINE_BYTES


def entries_of_kinds(path: Path, names: Collection[str]) -> Iterator[Entry]:
    """The undamaged entries of these kinds (names on disc), in order.

    Raises RecordingFault if the file can't be read or isn't a recording.
    """
    wanted = re.compile(b'"fact":"(?:%b)"' % b"|".join(re.escape(name.encode()) for name in names))
    with open_recording(path) as file, as_recording_fault(path, "be read"):
        crc, format_number, unreadable_bytes = codec.FIRST_CRC, 0, 0
        while (line := file.readline(codec.MAX_LINE_BYTES)) and unreadable_bytes <= _MOST_UNREADABLE_BYTES:
            if not format_number:
                format_number = format_of_recording(line)
            if wanted.search(line, 0, _HEAD_BYTES):
                with suppress(codec.LineDamaged):
                    entry = codec.decode_line(line, crc, format_number)
                    if is_within(line, entry):
                        yield entry
            stored = codec.stored_crc(line)
            crc, unreadable_bytes = stored or crc, 0 if stored else unreadable_bytes + len(line)
