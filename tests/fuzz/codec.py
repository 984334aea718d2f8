"""A line of a recording is read or is damaged, and nothing else; what is read is written again as it was."""

from __future__ import annotations

import contextlib
from pathlib import Path

from exhibit.facts import codec
from exhibit.facts.codec import FIRST_CRC, FORMAT, LineDamaged
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Entry, UnknownFact
from exhibit.streams.line_chain import LineChain
from tests.fuzz.choices import Choices

SAMPLE = Path(__file__).resolve().parents[1] / "recordings" / "format-1.exhibit"
HEADS = (
    b'{"seq":1,"at_us":0,"fact":"',
    b'{"seq":999999999999999999,"at_us":999999999999999999,"fact":"',
    b'{"seq":2,"at_us":5,"fact":"',
    b"",
)
LINE, LINES = len(HEADS), len(HEADS) + 1


def seeds() -> list[bytes]:
    """Inputs to begin with: each kind of fact, as a fact and as a line."""
    lines = SAMPLE.read_bytes().splitlines(keepends=True)
    bodies = [line[: -codec.TAIL_BYTES] for line in lines]
    heads = len(HEADS) - 1
    return [
        *(bytes((heads,)) + body for body in bodies),
        *(b"\0" + body.partition(b'"fact":"')[2] for body in bodies),
        *(bytes((LINE,)) + line for line in lines[:3]),
        bytes((LINES,)) + b"\n".join(bodies[:9]),
    ]


def one(data: bytes) -> None:
    """Reads a line whose checksum is right, a line as it comes, or lines as a whole recording."""
    given = Choices(data)
    how = given.below(LINES + 1)
    if how < len(HEADS):
        _read_whole(HEADS[how] + given.rest())
    elif how == LINE:
        line = given.rest()
        with contextlib.suppress(LineDamaged):
            codec.decode_line(line, FIRST_CRC, FORMAT)
        with contextlib.suppress(RecordingFault):
            codec.format_of(line)
        codec.seq_and_time(line)
        codec.stored_crc(line)
    else:
        _read_recording(given.rest())


def _read_whole(body: bytes) -> None:
    line = _with_crc(body)
    try:
        entry = codec.decode_line(line, FIRST_CRC, FORMAT)
    except LineDamaged:
        return
    again, crc = codec.encode_line(entry, FIRST_CRC)
    read = codec.decode_line(again, FIRST_CRC, FORMAT)
    assert _same(read, entry), f"{entry} became {read}"
    assert codec.encode_line(read, FIRST_CRC) == (again, crc)
    assert codec.seq_and_time(again) == (entry.seq, entry.at_us)
    if isinstance(entry.fact, UnknownFact):
        assert again == line, "a fact that isn't known was changed"


def _same(read: Entry, entry: Entry) -> bool:
    return type(read.fact) is type(entry.fact) and read == entry


def _with_crc(body: bytes, previous_crc: bytes = FIRST_CRC) -> bytes:
    line = body + b',"crc":"00000000"}\n'
    return body + b',"crc":"%b"}\n' % codec.line_crc(line, previous_crc)


def _read_recording(content: bytes) -> None:
    """Lines with right checksums, but numbers and facts that can be anything."""
    chain, crc = LineChain(), FIRST_CRC
    taken = 0
    with contextlib.suppress(RecordingFault):
        for body in content.split(b"\n"):
            line = _with_crc(body, crc)
            crc = line[-11:-3]
            entry = chain.take(line)
            assert entry is None or entry.seq > taken
            taken = taken if entry is None else entry.seq
        chain.finish()
        chain.take_damages()
