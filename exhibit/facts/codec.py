"""Turns facts into lines and back: the format of a recording, described in docs/recording-format.md.

A line is one JSON object in UTF-8 and a newline:

    {"seq":7,"at_us":1500000,"fact":"heartbeat","wall":"...","crc":"0f3a99d1"}

`crc` is the CRC-32 of the eight digits stored in the previous line (00000000 for the first line)
followed by this line's bytes up to, but not including, `,"crc":`. Whatever a later format changes, these
four keys (seq, at_us, fact, crc) stay as they are.
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
"""How to read a recording, in short. The first line of every recording contains this."""

FIRST_CRC = b"00000000"
"""What the first line uses as the checksum of the line before it."""

MAX_LINE_BYTES = 4 * 1024 * 1024
"""The longest line that is written, and that is accepted when reading."""

Upgrader = Callable[[dict[str, Any]], dict[str, Any]]

UPGRADERS: Mapping[int, Upgrader] = {}
"""For each older format: the function that turns one of its facts, as read from JSON, into the next one."""

# `{"seq":1,"at_us":0,`, followed by the fact's own JSON object without its opening brace. Browsers ask
# for what comes after a number, and hold integers of 15 digits exactly (those below 2**53).
_HEAD = re.compile(rb'\{"seq":([1-9][0-9]{0,14}),"at_us":(0|[1-9][0-9]{0,17}),"fact":"([a-z0-9_]{1,64})"[,}]')
# `,"crc":"0f3a99d1"}` and the newline.
_TAIL = re.compile(rb',"crc":"([0-9a-f]{8})"\}\n')
TAIL_BYTES = 19

_encoder = msgspec.json.Encoder()
_decoder: msgspec.json.Decoder[AnyFact] = msgspec.json.Decoder(AnyFact)


class LineDamaged(Exception):
    """A line isn't what was originally written. Never leaves the reader, which continues after that line."""


class _Format(msgspec.Struct):
    fact: str
    format: int


def encode_line(entry: Entry, previous_crc: bytes) -> tuple[bytes, bytes]:
    """Returns the line for an entry, newline included, and its checksum.

    Raises RecordingFault if the fact could not be read back unchanged: a number that JSON doesn't have or
    that has thousands of digits, a value of the wrong type, text that isn't Unicode (or, where it represents
    bytes, has characters above 255), or a line above MAX_LINE_BYTES.
    """
    fact = entry.fact
    try:
        if isinstance(fact, UnknownFact):
            own = fact.raw.encode()
        else:
            own = _encoder.encode(fact)
            # msgspec doesn't check types when a fact is made, and an unreadable fact must not reach the disc.
            if _decoder.decode(own) != fact or not _bytes_are_valid(fact):
                raise _unwritable(entry, "it would be read back as something else")
    except (msgspec.MsgspecError, ValueError, OverflowError, TypeError) as error:
        raise _unwritable(entry, str(error)) from error
    body = b'{"seq":%d,"at_us":%d,%b' % (entry.seq, entry.at_us, own[1:-1])
    if len(body) + TAIL_BYTES > MAX_LINE_BYTES:
        raise _unwritable(entry, f"its line would take more than {MAX_LINE_BYTES} bytes")
    crc = b"%08x" % crc32(body, crc32(previous_crc))
    return b'%b,"crc":"%b"}\n' % (body, crc), crc


def decode_line(line: bytes, previous_crc: bytes, format_number: int) -> Entry:
    """The entry on a complete line (newline included). Raises LineDamaged if its checksum or form is wrong.

    A fact whose kind or fields this version doesn't know becomes an UnknownFact. `format_number` is that
    of the recording, as returned by format_of.
    """
    if not is_whole(line, previous_crc):
        raise LineDamaged("its checksum is wrong")
    return decode_whole_line(line, format_number)


def is_whole(line: bytes, previous_crc: bytes) -> bool:
    """Whether the line is complete and its checksum is right."""
    return line.endswith(b',"crc":"%08x"}\n' % crc32(line[:-TAIL_BYTES], crc32(previous_crc)))


def decode_whole_line(line: bytes, format_number: int) -> Entry:
    """Like decode_line, for a line that is_whole has already accepted."""
    head = _HEAD.match(line)
    if head is None:
        raise LineDamaged("it doesn't begin like a line of a recording")
    return Entry(int(head[1]), int(head[2]), _fact(line, head, format_number))


def line_crc(line: bytes, previous_crc: bytes) -> bytes:
    """The checksum that a complete line should have: eight hexadecimal digits."""
    return b"%08x" % crc32(line[:-TAIL_BYTES], crc32(previous_crc))


def stored_crc(line: bytes) -> bytes | None:
    """The checksum that a complete line does have; None if it has none."""
    tail = _TAIL.fullmatch(line, max(0, len(line) - TAIL_BYTES))
    return tail[1] if tail is not None else None


def seq_and_time(line: bytes) -> tuple[int, int] | None:
    """The seq and at_us at the beginning of a line, without checking the line; None if it has none."""
    head = _HEAD.match(line)
    return (int(head[1]), int(head[2])) if head is not None else None


def format_of(first_line: bytes) -> int:
    """The format number in a recording's first line.

    Raises RecordingFault if that line doesn't open a recording, or its format is newer than this software.
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
            f"and the recording has format {opened.format}.",
            "This version might show it wrongly.",
            "Install a newer version of this software and open the recording again; it has not been changed.",
        )
    return opened.format


def not_a_recording() -> RecordingFault:
    """The fault for a file that isn't a recording."""
    return RecordingFault(
        "This file isn't a recording, or its beginning is damaged beyond reading.",
        "Nothing in it can be shown.",
        "Choose another file, or get another copy of this one.",
    )


def _fact(line: bytes, head: re.Match[bytes], format_number: int) -> AnyFact | UnknownFact:
    try:
        if format_number != FORMAT:
            return _upgraded(_fact_json(line, head), format_number)
        fact = _decoder.decode(line)
        if _bytes_are_valid(fact):
            return fact
    except msgspec.ValidationError:
        pass  # valid JSON, but not a fact that this version knows
    except (msgspec.DecodeError, ValueError, RecursionError) as error:
        raise LineDamaged("it isn't JSON in UTF-8") from error
    return UnknownFact(name=head[3].decode(), raw=_fact_json(line, head))


def _fact_json(line: bytes, head: re.Match[bytes]) -> str:
    """The fact alone, as JSON: the line without seq, at_us and crc. Raises LineDamaged if that isn't JSON."""
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
        # Old versions may have written things that an upgrader doesn't expect. Keep those unchanged.
        return UnknownFact(name=name, raw=raw)


def _bytes_are_valid(fact: AnyFact) -> bool:
    """Whether every character of a text that represents bytes is one (no character above 255)."""
    if type(fact) is BytesReceived or type(fact) is BytesTyped:
        return fact.bytes.isascii() or max(fact.bytes) <= "\xff"
    return True


def _unwritable(entry: Entry, why: str) -> RecordingFault:
    kind = next((name for name, kind in ALL_KINDS.items() if type(entry.fact) is kind), "unknown")
    return RecordingFault(
        f"Fact {entry.seq} ({kind}) can't be written to the recording: {why[:200]}.",
        "The program does only what it can record, so it types nothing more.",
        "This is a fault in the software: keep the recording and report the fault to the developers.",
    )
