"""Reads a recording from its start or from a position, and continues after damage."""

from __future__ import annotations

import errno
import os
import stat
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, Final

import msgspec

from exhibit.facts import codec
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Entry, RecordingOpened
from exhibit.streams.compressed import compressed_file, names
from exhibit.streams.line_chain import START, Damaged, LineChain, Position
from exhibit.streams.recording_fault import as_recording_fault, fault

SUFFIX: Final = names.SUFFIX
"""What the name of every recording ends in, unless it was compressed (see names.is_recordings_name)."""
_BUFFER_BYTES: Final = 256 * 1024
MOST_SEARCHED_BYTES: Final = 8 * 1024**3
_SEARCH_BLOCK_BYTES: Final = 1024 * 1024
_LINE_BEGINS: Final = b'\n{"seq":'


class Recording(msgspec.Struct, frozen=True):
    """All that can be read of a recording."""

    entries: list[Entry]
    damages: list[Damaged]
    end: Position
    """The place after its last undamaged line."""


def read(path: Path, start: Position = START) -> Iterator[Entry | Damaged]:
    """All entries of a recording in order, with the damage in between.

    An incomplete last line counts as damage that is `torn`. Raises RecordingFault, and nothing else, if the
    file can't be read, isn't a recording, or its format is newer than this software.
    """
    with open_recording(path) as file:
        chain = chain_from(file, path, start)
        for entry in entries_of(file, path, chain):
            yield from chain.take_damages()
            yield entry
        chain.finish()
        yield from chain.take_damages()


def read_all(path: Path) -> Recording:
    """Read a whole recording, with the damage in a separate list. Raises as `read` does."""
    with open_recording(path) as file:
        chain = LineChain()
        damages: list[Damaged] = []
        entries = []
        for entry in entries_of(file, path, chain):
            entries.append(entry)
            damages += chain.take_damages()
        end = chain.finish()
        return Recording(entries, damages + chain.take_damages(), end)


def read_opened(path: Path) -> RecordingOpened:
    """The first fact. Raises RecordingFault if it is damaged or missing, or its format is too new."""
    with open_recording(path) as file:
        for entry in entries_of(file, path, LineChain()):
            if entry.seq == 1 and isinstance(entry.fact, RecordingOpened):
                return entry.fact
            break
    if not names.is_recordings_name(path.name):
        raise RecordingFault(
            f"{path} isn't a recording of a machine.",
            "So nothing in it can be shown.",
            f"Choose a file whose name ends in {SUFFIX}; each run says at its start where it puts them.",
        )
    raise RecordingFault(
        f"The first line of {path} can't be read.",
        "It says what machine this was and how to show its console, so nothing else can be shown either.",
        "Get another copy of the recording.",
    )


def entries_of(file: BinaryIO, path: Path, chain: LineChain) -> Iterator[Entry]:
    """The entries from the current position of `file`, checked by `chain`, which collects the damage.

    Raises RecordingFault if the file can't be read or isn't a recording.
    """
    take = chain.take
    while True:
        try:
            if chain.has_given_up and not _go_to_next_line(file, chain):
                return
            line = file.readline(codec.MAX_LINE_BYTES)
        except OSError as error:
            raise fault(path, "be read", error) from error
        if not line:
            return
        entry = take(line)
        if entry is not None:
            yield entry


def _go_to_next_line(file: BinaryIO, chain: LineChain) -> bool:
    """Look for a line after much damage. Returns whether one was found; `file` is there then."""
    if not chain.is_over and look_for_line(file, chain, MOST_SEARCHED_BYTES):
        file.seek(chain.offset_bytes)
        return not chain.is_over
    return False


def look_for_line(file: BinaryIO, chain: LineChain, most_bytes: int) -> bool:
    """Take a chain that has given up to the next line, or past so many bytes. Returns whether there is one.

    Raises OSError.
    """
    place, is_line = find_line(file, chain.offset_bytes, most_bytes)
    chain.skip(place - chain.offset_bytes)
    if is_line:
        chain.resume()
    return is_line


def find_line(file: BinaryIO, from_bytes: int, most_bytes: int) -> tuple[int, bool]:
    """Where the next line begins, as far as its first characters show; and whether there is one.

    It looks through so many bytes at most, and returns how far it came. What takes no room on the disc isn't
    looked at. Raises OSError.
    """
    end_bytes, place = size_of(file), max(0, from_bytes - 1)
    while place < end_bytes and most_bytes > 0:
        if (data := _next_data(file, place)) > place:
            place = min(data, end_bytes)
            continue
        block = read_at(file, _SEARCH_BLOCK_BYTES, place)
        if (found := block.find(_LINE_BEGINS)) >= 0:
            return place + found + 1, True
        if len(block) < len(_LINE_BEGINS):
            return max(end_bytes, from_bytes), False
        place += len(block) if place + len(block) >= end_bytes else len(block) - len(_LINE_BEGINS)
        most_bytes -= len(block)
    return max(place, from_bytes), False


def _next_data(file: BinaryIO, place: int) -> int:
    """Where the next bytes are that take room on the disc: this place, if it isn't in a hole."""
    if compressed_file.compressed_of(file) is not None:
        return place
    fd = file.fileno()
    where = os.lseek(fd, 0, os.SEEK_CUR)
    try:
        return os.lseek(fd, place, os.SEEK_DATA)
    except OSError as error:
        if error.errno == errno.ENXIO:  # nothing but a hole up to the end
            return sys.maxsize
        return place
    finally:
        os.lseek(fd, where, os.SEEK_SET)  # `file` goes on reading there


def chain_from(file: BinaryIO, path: Path, start: Position) -> LineChain:
    """A chain that begins at `start`; moves `file` there. Raises RecordingFault as open_recording does."""
    with as_recording_fault(path, "be read"):
        if start == START:
            return LineChain()
        first_line = file.readline(codec.MAX_LINE_BYTES)
        file.seek(start.offset_bytes)
    return LineChain(start, format_of_recording(first_line))


def format_of_recording(first_line: bytes) -> int:
    """The format number of a recording with this first line; the newest known if the line is damaged.

    Raises RecordingFault if the format is newer than this software.
    """
    if not codec.is_whole(first_line, codec.FIRST_CRC):
        return codec.FORMAT
    return codec.format_of(first_line)


def open_recording(path: Path) -> BinaryIO:
    """Open a recording for reading, compressed or not: every reader of recordings begins here.

    Raises RecordingFault if that fails, or it isn't a regular file.
    """
    with as_recording_fault(path, "be opened"):
        # Non-blocking, since opening a pipe would otherwise wait for somebody to write to it.
        fd = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
        try:
            if not stat.S_ISREG(os.fstat(fd).st_mode):
                raise codec.not_a_recording()
            if compressed_file.is_compressed(fd):
                return compressed_file.opened(fd, _BUFFER_BYTES)
        except BaseException:
            os.close(fd)
            raise
        return os.fdopen(fd, "rb", buffering=_BUFFER_BYTES)


def read_at(file: BinaryIO, size_bytes: int, offset_bytes: int) -> bytes:
    """Up to so many bytes of an open recording from this place on, as they are now. Raises OSError."""
    if compressed_file.compressed_of(file) is None:
        return os.pread(file.fileno(), size_bytes, offset_bytes)
    file.seek(offset_bytes)
    return file.read(size_bytes)


def size_of(file: BinaryIO) -> int:
    """How many bytes an open recording has now, compressed or not. Raises OSError."""
    compressed = compressed_file.compressed_of(file)
    return os.fstat(file.fileno()).st_size if compressed is None else compressed.size_bytes
