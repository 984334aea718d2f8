"""Finds in a recording the lines of all facts but the most frequent, without decoding the others.

A day flat out has some 700,000 lines, nearly all of them received bytes. Their checksums aren't looked at
here: that is done on the way when the keyframes are made, and what is damaged is marked then.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final, NamedTuple

from exhibit.facts import codec
from exhibit.facts.kinds import Entry
from exhibit.facts.units import S_US
from exhibit.records.told import name_of
from exhibit.streams.bounds import is_within
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_reader import format_of_recording, open_recording

_BLOCK_BYTES: Final = 4 * 1024 * 1024
MOST_KINDS: Final = 500
MOST_FACTS: Final = 400_000
"""More facts than this besides bytes aren't shown: eight hours of rounds have about 30,000."""

_MOST_LOOKED_AT_BYTES: Final = 64 * 1024 * 1024
# They begin with the newline before, because a search for plain text is the quickest.
_HEAD: Final = re.compile(
    rb'\n\{"seq":([1-9][0-9]{0,14}),"at_us":(0|[1-9][0-9]{0,17}),"fact":"'
    rb'(?!bytes_received"|bytes_typed"|secret_typed"|typed_by_hand"|deadline_)([a-z0-9_]{1,64})"'
)
_ANY_HEAD: Final = re.compile(rb'\n\{"seq":[1-9][0-9]{0,14},"at_us":(0|[1-9][0-9]{0,17}),')
LOOKED_AT_CLOSER_US: Final = 100 * S_US
"""Heartbeats come every two real seconds. Where they are farther apart, lines are looked at singly."""


class Stretch(NamedTuple):
    """A time between two heartbeats, and which bytes of the file were written in it besides them."""

    from_us: int
    to_us: int
    from_bytes: int
    to_bytes: int


class Scanned:
    """The facts of a recording besides bytes: where each is in the file; and how much went on when."""

    def __init__(self) -> None:
        self.seqs = array("q")
        self.at_us = array("q")
        self.offsets_bytes = array("q")
        self.lengths_bytes = array("q")
        self.kinds = array("h")
        """The place of each fact's kind in `names`."""
        self.names: list[str] = []
        self.stretches: list[Stretch] = []
        self.end_us = 0
        """The time on the last line that looks whole."""
        self.end_seq = 0
        self.size_bytes = 0
        self.left_out = False
        """Whether there were more than MOST_FACTS."""


def scan(path: Path) -> tuple[Scanned, list[Entry]]:
    """Where the facts besides bytes and heartbeats are, and these facts.

    Raises RecordingFault if the file can't be read or is no recording. Lines that aren't whole are left out.
    """
    found = Scanned()
    entries: list[Entry] = []
    with open_recording(path) as file, as_recording_fault(path, "be read"):
        first_line = file.readline(codec.MAX_LINE_BYTES)
        format_number = format_of_recording(first_line)
        file.seek(0)
        beat = _Beat()
        last_us = 0
        for offset_bytes, block in _whole_lines(file):
            found.size_bytes = offset_bytes + len(block)
            for head in _HEAD.finditer(b"\n" + block):
                seq, at_us = int(head[1]), int(head[2])
                if at_us < last_us or seq <= found.end_seq:
                    continue  # damaged
                # The newline's place in what was searched is the line's place in the block.
                start = head.start()
                end = block.find(b"\n", start) + 1
                line = block[start:end]
                place = offset_bytes + start
                if head[3] == b"heartbeat":
                    last_us = at_us
                    found.stretches += beat.at(at_us, place, place + len(line))
                    continue
                entry = _entry(line, format_number)
                if entry is None:
                    continue
                last_us = at_us
                if len(entries) == MOST_FACTS:
                    found.left_out = True
                    continue
                found.end_seq = seq
                found.seqs.append(seq)
                found.at_us.append(at_us)
                found.offsets_bytes.append(place)
                found.lengths_bytes.append(len(line))
                found.kinds.append(_place(found.names, name_of(entry.fact)))
                entries.append(entry)
            found.end_seq, found.end_us = _last_of(block, found, last_us)
        found.stretches += beat.at(found.end_us, found.size_bytes, found.size_bytes)
    return found, entries


def _place(names: list[str], name: str) -> int:
    """Where this name is among these; one that is new is added, unless a stranger made up thousands."""
    if name not in names:
        if len(names) == MOST_KINDS:
            return 0
        names.append(name)
    return names.index(name)


class _Beat:
    """The last heartbeat."""

    def __init__(self) -> None:
        self.us = 0
        self.end_bytes = 0

    def at(self, at_us: int, start_bytes: int, end_bytes: int) -> Iterator[Stretch]:
        """What lies between the last heartbeat and this one."""
        yield Stretch(self.us, at_us, self.end_bytes, start_bytes)
        self.us, self.end_bytes = at_us, end_bytes


def _whole_lines(file: object) -> Iterator[tuple[int, bytes]]:
    """The file in blocks of whole lines, each with its place. What is longer than any line is passed over."""
    offset_bytes, rest = 0, b""
    read = file.read  # type: ignore[attr-defined]
    while block := read(_BLOCK_BYTES):
        whole = rest + block
        cut = whole.rfind(b"\n") + 1
        if cut:
            yield offset_bytes, whole[:cut]
            offset_bytes += cut
            rest = whole[cut:]
        elif len(whole) > 2 * codec.MAX_LINE_BYTES:
            offset_bytes += len(whole)
            rest = b""
        else:
            rest = whole
    if rest:
        yield offset_bytes, rest


def _last_of(block: bytes, found: Scanned, last_us: int) -> tuple[int, int]:
    """The number and time of the last whole line in this block."""
    end = len(block)
    for _ in range(50):
        start = block.rfind(b"\n", 0, end - 1) + 1
        place = codec.seq_and_time(block[start:end])
        whole = codec.stored_crc(block[start:end]) is not None
        if place is not None and whole and place[0] > found.end_seq and place[1] >= last_us:
            return place
        if not start:
            break
        end = start
    return found.end_seq, max(last_us, found.end_us)


def _entry(line: bytes, format_number: int) -> Entry | None:
    try:
        entry = codec.decode_whole_line(line, format_number)
    except codec.LineDamaged:
        return None
    return entry if is_within(line, entry) else None


def busy_spans(path: Path, scanned: Scanned) -> list[tuple[int, int]]:
    """When anything but heartbeats was recorded: spans from and to. Raises RecordingFault."""
    spans = [(at_us, at_us) for at_us in scanned.at_us]
    with open_recording(path) as file, as_recording_fault(path, "be read"):
        for from_us, to_us, from_bytes, to_bytes in scanned.stretches:
            if to_bytes <= from_bytes:
                continue
            if to_us - from_us < LOOKED_AT_CLOSER_US:
                spans.append((from_us, to_us))
                continue
            file.seek(from_bytes)
            spans += _busy_in(file.read(min(to_bytes - from_bytes, _MOST_LOOKED_AT_BYTES)))
    return spans


def _busy_in(block: bytes) -> Iterator[tuple[int, int]]:
    """The spans in which the lines of this block follow each other within a second."""
    from_us = to_us = -1
    for head in _ANY_HEAD.finditer(b"\n" + block):
        at_us = int(head[1])
        if from_us < 0:
            from_us = to_us = at_us
        elif at_us - to_us > S_US:
            yield from_us, to_us
            from_us = to_us = at_us
        to_us = max(to_us, at_us)
    if from_us >= 0:
        yield from_us, to_us


def read_facts(path: Path, scanned: Scanned, indices: Iterable[int]) -> Iterator[Entry]:
    """The facts at these indices of `scanned`. One is left out if the file has changed meanwhile."""
    with open_recording(path) as file, as_recording_fault(path, "be read"):
        format_number = format_of_recording(file.readline(codec.MAX_LINE_BYTES))
        for index in indices:
            file.seek(scanned.offsets_bytes[index])
            entry = _entry(file.read(scanned.lengths_bytes[index]), format_number)
            if entry is not None and entry.seq == scanned.seqs[index]:
                yield entry
