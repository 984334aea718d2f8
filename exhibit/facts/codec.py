"""Facts to lines and back: the format of a recording, described in docs/recording-format.md.

A line is one JSON object in UTF-8 and a newline:

    {"seq":7,"at_us":1500000,"fact":"heartbeat","wall":"...","crc":"0f3a99d1"}

`crc` is the CRC-32 of the eight digits stored in the line before (00000000 before the first line)
followed by this line's bytes up to, and without, `,"crc":`. Whatever a later format changes, it
leaves that frame (seq, at_us, fact, crc) as it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any
from zlib import crc32

import msgspec

from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import ALL_KINDS, AnyFact, BytesReceived, BytesTyped, Entry, UnknownFact

FORMAT = 1
"""The number of the format that this version writes."""

HOW_TO_READ = (
    "Each line of this file is one JSON object (RFC 8259) in UTF-8: something that happened. seq numbers "
    "the lines from 1. at_us is the time in microseconds since this line's wall time, times rate. fact names "
    "what happened; the other keys tell it. Text under the key bytes stands for bytes: each character for "
    "the byte of its number (ISO/IEC 8859-1). crc is the CRC-32 (as in gzip, RFC 1952; of 123456789 it is "
    "cbf43926) in hexadecimal of the eight digits of crc in the line before (00000000 for this one) followed "
    "by the line's bytes up to the comma before crc. A line whose crc is wrong was damaged; those after it "
    "may be whole."
)
"""What the first line of every recording says about all of them."""

FIRST_CRC = b"00000000"
"""What stands for the line before the first one."""

MAX_LINE_BYTES = 4 * 1024 * 1024
"""A longer line is neither written nor believed."""

Upgrader = Callable[[dict[str, Any]], dict[str, Any]]

UPGRADERS: Mapping[int, Upgrader] = {}
"""For each older format number: what turns one fact of it, as read from JSON, into one of the next number."""

# `{"seq":1,"at_us":0,` and then the fact's own object without its opening brace.
_HEAD = re.compile(rb'\{"seq":([1-9][0-9]{0,17}),"at_us":(0|[1-9][0-9]{0,17}),"fact":"([a-z0-9_]{1,64})"[,}]')
# `,"crc":"0f3a99d1"}` and the newline.
_TAIL = re.compile(rb',"crc":"([0-9a-f]{8})"\}\n')
TAIL_BYTES = 19

_encoder = msgspec.json.Encoder()
_decoder: msgspec.json.Decoder[AnyFact] = msgspec.json.Decoder(AnyFact)


class LineDamaged(Exception):
    """A line is not what was once written. Stays within the reader, which goes on behind it."""


class _Format(msgspec.Struct):
    fact: str
    format: int


def encode_line(entry: Entry, previous_crc: bytes) -> tuple[bytes, bytes]:
    """Give the line for an entry, newline included, and its checksum.

    Raises RecordingFault if the fact can't be read back as it is: a number that JSON doesn't have or
    of thousands of digits, a value of the wrong type, a text that isn't Unicode (or, where it stands for
    bytes, has other characters), or a line above MAX_LINE_BYTES.
    """
    fact = entry.fact
    try:
        if isinstance(fact, UnknownFact):
            own = fact.raw.encode()
        else:
            own = _encoder.encode(fact)
            # Types aren't checked when a fact is made. A fact that can't be read must not get onto the disc.
            if _decoder.decode(own) != fact or not _stands_for_bytes(fact):
                raise _unwritable(entry, "it would be read back as something else")
    except (msgspec.MsgspecError, ValueError, OverflowError, TypeError) as error:
        raise _unwritable(entry, str(error)) from error
    body = b'{"seq":%d,"at_us":%d,%b' % (entry.seq, entry.at_us, own[1:-1])
    if len(body) + TAIL_BYTES > MAX_LINE_BYTES:
        raise _unwritable(entry, f"its line would take more than {MAX_LINE_BYTES} bytes")
    crc = b"%08x" % crc32(body, crc32(previous_crc))
    return b'%b,"crc":"%b"}\n' % (body, crc), crc


def decode_line(line: bytes, previous_crc: bytes, format_number: int) -> Entry:
    """Give the entry on a whole line (with its newline). Raises LineDamaged if its checksum or form is wrong.

    A fact of a kind or a form that this version doesn't know becomes an UnknownFact. `format_number` is that
    of the recording, as format_of gave it.
    """
    if not is_whole(line, previous_crc):
        raise LineDamaged("its checksum is wrong")
    return decode_whole_line(line, format_number)


def is_whole(line: bytes, previous_crc: bytes) -> bool:
    """Does the line end as it should, with the right checksum?"""
    return line[-TAIL_BYTES:] == b',"crc":"%08x"}\n' % crc32(line[:-TAIL_BYTES], crc32(previous_crc))


def decode_whole_line(line: bytes, format_number: int) -> Entry:
    """As decode_line, where is_whole was asked already."""
    head = _HEAD.match(line)
    if head is None:
        raise LineDamaged("it doesn't begin like a line of a recording")
    return Entry(int(head[1]), int(head[2]), _fact(line, head, format_number))


def line_crc(line: bytes, previous_crc: bytes) -> bytes:
    """The eight digits that should stand at the end of a whole line."""
    return b"%08x" % crc32(line[:-TAIL_BYTES], crc32(previous_crc))


def stored_crc(line: bytes) -> bytes | None:
    """The eight digits that do stand at the end of a whole line; None where there are none."""
    tail = _TAIL.fullmatch(line, max(0, len(line) - TAIL_BYTES))
    return tail[1] if tail is not None else None


def place_of(line: bytes) -> tuple[int, int] | None:
    """The seq and at_us at the beginning of a line, not checked; None where there are none."""
    head = _HEAD.match(line)
    return (int(head[1]), int(head[2])) if head is not None else None


def format_of(first_line: bytes) -> int:
    """The format number in a recording's first line.

    Raises RecordingFault if that line doesn't open a recording, or is of a format newer than this software.
    """
    try:
        opened = msgspec.json.decode(first_line, type=_Format)
    except (msgspec.DecodeError, ValueError, RecursionError) as error:
        raise not_a_recording() from error
    if opened.fact != "recording_opened" or opened.format < 1:
        raise not_a_recording()
    if opened.format > FORMAT:
        raise RecordingFault(
            f"This software is older than the recording: it knows formats up to {FORMAT}, "
            f"and the recording is of format {opened.format}.",
            "Read with what this version knows, it would be shown wrongly.",
            "Install a newer version of this software and open the recording again; it was left as it is.",
        )
    return opened.format


def not_a_recording() -> RecordingFault:
    """The fault of a file that is something else."""
    return RecordingFault(
        "This file isn't a recording, or its beginning is damaged beyond reading.",
        "Nothing in it can be shown.",
        "Choose another file, or fetch another copy of it.",
    )


def _fact(line: bytes, head: re.Match[bytes], format_number: int) -> AnyFact | UnknownFact:
    try:
        if format_number != FORMAT:
            return _upgraded(_own_object(line, head), format_number)
        fact = _decoder.decode(line)
        if _stands_for_bytes(fact):
            return fact
    except msgspec.ValidationError:
        pass  # sound JSON, but not a fact as this version knows it
    except (msgspec.DecodeError, ValueError, RecursionError) as error:
        raise LineDamaged("it isn't JSON in UTF-8") from error
    return UnknownFact(name=head[3].decode(), raw=_own_object(line, head))


def _own_object(line: bytes, head: re.Match[bytes]) -> str:
    """The fact alone, as JSON: the line without seq, at_us and crc. Raises LineDamaged if it isn't JSON."""
    raw = b"{" + line[head.start(3) - len('"fact":"') : -TAIL_BYTES] + b"}"
    try:
        msgspec.json.decode(raw)
        return raw.decode()
    except (msgspec.DecodeError, ValueError, RecursionError) as error:
        raise LineDamaged("it isn't JSON in UTF-8") from error


def _upgraded(raw: str, format_number: int) -> AnyFact | UnknownFact:
    plain: dict[str, Any] = msgspec.json.decode(raw)
    name = str(plain["fact"])
    try:
        for number in range(format_number, FORMAT):
            plain = UPGRADERS[number](plain)
        fact: AnyFact = msgspec.convert(plain, AnyFact)
        return fact
    except Exception:
        # An upgrader meets whatever an old version wrote; what it can't deal with is carried as it is.
        return UnknownFact(name=name, raw=raw)


def _stands_for_bytes(fact: AnyFact) -> bool:
    """False if a text that stands for bytes has a character that stands for none."""
    if type(fact) is BytesReceived or type(fact) is BytesTyped:
        return fact.bytes.isascii() or max(fact.bytes) <= "\xff"
    return True


def _unwritable(entry: Entry, why: str) -> RecordingFault:
    kind = next((name for name, kind in ALL_KINDS.items() if type(entry.fact) is kind), "unknown")
    return RecordingFault(
        f"Fact {entry.seq} ({kind}) can't be written into the recording: {why[:200]}.",
        "What isn't recorded must not be done, so nothing more is typed.",
        "This is a fault in the software: keep the recording and tell its makers.",
    )
