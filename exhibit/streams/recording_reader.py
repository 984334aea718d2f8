"""Reads a recording from its start or from a position, and goes on after damage."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, Final

import msgspec

from exhibit.facts import codec
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Entry, RecordingOpened
from exhibit.streams.line_chain import START, Damaged, LineChain, Position
from exhibit.streams.recording_fault import as_recording_fault, fault

SUFFIX: Final = ".exhibit"
"""Of a recording's file."""


class Recording(msgspec.Struct, frozen=True):
    """A whole recording at once."""

    entries: list[Entry]
    damages: list[Damaged]
    end: Position
    """Behind the last whole line that was read."""


def read(path: Path, start: Position = START) -> Iterator[Entry | Damaged]:
    """Give every entry of a recording in order, and between them the damage.

    A last line without its end comes as damage that is `torn`. Raises RecordingFault, and nothing else, if
    the file can't be opened, isn't a recording, or is of a newer format than this software knows.
    """
    with open_recording(path) as file:
        chain = chain_from(file, path, start)
        for entry in entries_of(file, path, chain):
            yield from chain.passed()
            yield entry
        chain.finish()
        yield from chain.passed()


def read_all(path: Path) -> Recording:
    """Read a whole recording, damage listed apart. Raises as `read` does."""
    with open_recording(path) as file:
        chain = LineChain()
        damages: list[Damaged] = []
        entries = []
        for entry in entries_of(file, path, chain):
            entries.append(entry)
            damages += chain.passed()
        end = chain.finish()
        return Recording(entries, damages + chain.passed(), end)


def read_opened(path: Path) -> RecordingOpened:
    """Read the first fact. Raises RecordingFault if it is damaged, missing or of a newer format."""
    with open_recording(path) as file:
        for entry in entries_of(file, path, LineChain()):
            if entry.seq == 1 and isinstance(entry.fact, RecordingOpened):
                return entry.fact
            break
    if path.suffix != SUFFIX:
        raise RecordingFault(
            f"{path} isn't a recording of a machine.",
            "So there is nothing in it to be shown.",
            f"Choose a file whose name ends in {SUFFIX}; a run says at its start where it puts them.",
        )
    raise RecordingFault(
        f"The first line of {path} can't be read.",
        "It says what machine this was and how its console is shown, so the rest can't be shown either.",
        "Fetch another copy of the recording.",
    )


def entries_of(file: BinaryIO, path: Path, chain: LineChain) -> Iterator[Entry]:
    """Give the entries from where `file` stands, checked by `chain`, which gathers the damage."""
    take = chain.take
    while True:
        try:
            line = file.readline(codec.MAX_LINE_BYTES)
        except OSError as error:
            raise fault(path, "be read", error) from error
        if not line:
            return
        entry = take(line)
        if entry is not None:
            yield entry


def chain_from(file: BinaryIO, path: Path, start: Position) -> LineChain:
    """A chain that goes on from `start`, and `file` moved there."""
    with as_recording_fault(path, "be read"):
        if start == START:
            return LineChain()
        first_line = file.readline(codec.MAX_LINE_BYTES)
        file.seek(start.offset_bytes)
    return LineChain(start, format_of_recording(first_line))


def format_of_recording(first_line: bytes) -> int:
    """The format by which lines in the middle are to be read.

    It is the newest that is known if the first line, damaged, doesn't tell. Raises RecordingFault if it tells
    of a newer one.
    """
    if not codec.is_whole(first_line, codec.FIRST_CRC):
        return codec.FORMAT
    return codec.format_of(first_line)


def open_recording(path: Path) -> BinaryIO:
    """Open a file to read it. Raises RecordingFault if it can't be, or is a folder, a device or a pipe."""
    with as_recording_fault(path, "be opened"):
        # Not blocking: opening a pipe would wait for whoever writes into it.
        fd = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
        if not stat.S_ISREG(os.fstat(fd).st_mode):
            os.close(fd)
            raise codec.not_a_recording()
        return os.fdopen(fd, "rb", buffering=256 * 1024)
