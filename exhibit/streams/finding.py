"""Finds a place in a recording by bisection, without reading everything before it."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO

from exhibit.facts import codec
from exhibit.streams.line_chain import START, LineChain, Position
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_reader import entries_of, format_of_recording, open_recording

# Bisecting stops here. The rest is read line by line, which also checks the place that it found.
_NEAR_BYTES = 16 * 1024
# If no two lines are found in so much, there is hardly anything but damage.
_MOST_BETWEEN_BYTES = 2 * codec.MAX_LINE_BYTES


def find_seq(path: Path, seq: int) -> Position:
    """The place just before entry `seq`, or before the next one if that entry is damaged.

    A number past the end gives the end. Position.damages counts only the damage met while looking. Raises
    RecordingFault if the file can't be read.
    """
    return _find(path, lambda entry_seq, _: entry_seq < seq)


def find_time(path: Path, at_us: int) -> Position:
    """The place just before the first entry at `at_us` or later. Otherwise like find_seq."""
    return _find(path, lambda _, entry_at_us: entry_at_us < at_us)


def _find(path: Path, is_before: Callable[[int, int], bool]) -> Position:
    with open_recording(path) as file:
        with as_recording_fault(path, "be read"):
            start, format_number = _bisect(file, is_before)
        chain = LineChain(start, format_number)
        first = next(entries_of(file, path, chain), None)
        # Bisecting doesn't check the lines that it looks at, so a damaged one may have misled it.
        if start != START and (first is None or chain.damages or not is_before(first.seq, first.at_us)):
            start, chain, first = START, LineChain(), None
            with as_recording_fault(path, "be read"):
                file.seek(0)
        elif first is not None and not is_before(first.seq, first.at_us):
            return start
        before = chain.position
        for entry in entries_of(file, path, chain):
            if not is_before(entry.seq, entry.at_us):
                return before
            before = chain.position
        return chain.finish()


def _bisect(file: BinaryIO, is_before: Callable[[int, int], bool]) -> tuple[Position, int | None]:
    """A place shortly before the one wanted, and the recording's format; moves `file` there."""
    first_line = file.readline(codec.MAX_LINE_BYTES)
    low_bytes, high_bytes = 0, file.seek(0, os.SEEK_END)
    found = START
    while high_bytes - low_bytes > _NEAR_BYTES:
        middle_bytes = (low_bytes + high_bytes) // 2
        place = _next_place(file, middle_bytes, high_bytes)
        if place is not None and is_before(place.seq + 1, place.at_us):
            low_bytes = max(place.offset_bytes, middle_bytes)
            found = place
        else:
            high_bytes = middle_bytes
    file.seek(found.offset_bytes)
    return found, None if found == START else format_of_recording(first_line)


def _next_place(file: BinaryIO, from_bytes: int, to_bytes: int) -> Position | None:
    """The first place after `from_bytes` between two lines that look complete; None if there is none.

    Its at_us is that of the second line. Neither line is checked.
    """
    file.seek(from_bytes)
    crc: bytes | None = None
    to_bytes = min(to_bytes, from_bytes + _MOST_BETWEEN_BYTES)
    while (offset_bytes := file.tell()) < to_bytes:
        line = file.readline(codec.MAX_LINE_BYTES)
        place = codec.seq_and_time(line)
        if crc is not None and place is not None:
            return Position(offset_bytes, place[0] - 1, place[1], crc.decode())
        crc = codec.stored_crc(line)
    return None
