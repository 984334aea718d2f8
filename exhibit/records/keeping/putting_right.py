"""Has damaged lines back as they were, where a checksum shows that they are so."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

import msgspec

from exhibit.facts import codec, kinds
from exhibit.facts.errors import RecordingFault
from exhibit.records.keeping.flipped_bit import flipped_bit
from exhibit.streams.bounds import check_opened, is_within

_TAIL: Final = b',"crc":"%b"}\n'
_JOINED: Final = re.compile(rb'(?<="\})[^\n](?=\{"seq":[0-9])')
"""Where a line's end was hit, so that two lines run together."""


class Restored(msgspec.Struct, frozen=True):
    """A line as it was."""

    line: bytes
    entry: kinds.Entry
    length_bytes: int
    """How much of the damaged content it was."""
    said: str
    """What was done, in words; empty for a line that only followed a damaged one."""


class Between(msgspec.Struct, frozen=True):
    """What a damaged place lies between."""

    seq: int
    at_us: int
    crc: bytes
    """The number, time and checksum of the last line before it."""
    next_entry: kinds.Entry | None
    next_line: bytes
    """The first line after it; None and empty if there is none."""


def restored(content: bytes, at_bytes: int, between: Between) -> Iterator[Restored]:
    """The first lines of a damaged place that can be had back for certain.

    `at_bytes` is where the place begins in the file, for the words. It stops at the first line that can't.
    """
    seq, at_us, crc = between.seq, between.at_us, between.crc
    begin = 0
    for line in _JOINED.sub(b"\n", content).splitlines(keepends=True):
        end = begin + len(line)
        found = _line(line, crc, at_bytes + begin, between.next_line if end == len(content) else b"")
        if found is None:
            return
        whole, said = found
        entry = _entry_on(whole, crc)
        if entry is None or entry.seq != seq + 1 or entry.at_us < at_us:
            return
        after = between.next_entry
        if after is not None and not (entry.seq < after.seq and entry.at_us <= after.at_us):
            return
        if content[begin:end] != line:
            said = f"The end of the line of fact {entry.seq:,} at byte {at_bytes + end - 1:,} is put right."
        yield Restored(whole, entry, end - begin, said)
        seq, at_us, crc, begin = entry.seq, entry.at_us, whole[-11:-3], end


def _line(line: bytes, crc: bytes, at_bytes: int, next_line: bytes) -> tuple[bytes, str] | None:
    """The line as it was, and what was wrong; None if nothing shows what it was."""
    body, computed = line[: -codec.TAIL_BYTES], codec.line_crc(line, crc)
    whole = body + _TAIL % computed
    if whole == line:
        return line, ""  # the line before it was not
    if len(line) < codec.TAIL_BYTES:
        return None
    where = f"at byte {at_bytes + next(n for n in range(len(line)) if whole[n] != line[n]):,}"
    if line[-11:-3] == computed:
        return whole, f"What stands around the checksum {where} is put right."
    if next_line and codec.is_whole(next_line, computed) and not codec.is_whole(next_line, line[-11:-3]):
        return whole, f"The checksum {where} is put right, as the line after it shows."
    flipped = flipped_bit(line, crc)
    if flipped is None:
        return None
    return (
        flipped.line,
        f"Bit {flipped.bit} of byte {at_bytes + flipped.byte:,} was flipped, and is put right.",
    )


def _entry_on(line: bytes, previous_crc: bytes) -> kinds.Entry | None:
    """The entry on a line, if such a thing can have been recorded."""
    try:
        entry = codec.decode_line(line, previous_crc, codec.FORMAT)
        if isinstance(entry.fact, kinds.RecordingOpened):
            check_opened(entry.fact)
        return entry if is_within(line, entry) else None
    except (codec.LineDamaged, RecordingFault):
        return None
