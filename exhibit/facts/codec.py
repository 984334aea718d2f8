"""Facts to lines and back: the format of a recording, described in docs/recording-format.md.

A line is one JSON object in UTF-8 and a newline:

    {"seq":7,"at_us":1500000,"fact":"heartbeat","wall":"...","crc":"0f3a99d1"}

`crc` is the CRC-32 of the eight digits stored in the line before (00000000 before the first line)
followed by this line's bytes up to, and without, `,"crc":`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import msgspec

from exhibit.facts.kinds import Entry, RecordingOpened

FORMAT = 1
"""The number of the format that this version writes."""

FIRST_CRC = b"00000000"
"""What stands for the line before the first one."""

MAX_LINE_BYTES = 4 * 1024 * 1024
"""A longer line is neither written nor believed."""

Upgrader = Callable[[dict[str, Any]], dict[str, Any]]

UPGRADERS: Mapping[int, Upgrader] = {}
"""For each older format number: what makes one fact of it, as read from JSON, a fact of the next number."""


class LineDamaged(Exception):
    """A line is not what was once written. Stays within the reader, which goes on behind it."""


def encode_line(entry: Entry, previous_crc: bytes) -> tuple[bytes, bytes]:
    """Give the line for an entry, newline included, and its checksum.

    Raises RecordingFault if the fact can't be written down: a number that JSON doesn't have or that takes
    more than 64 bits, a text that isn't Unicode, or a line above MAX_LINE_BYTES.
    """
    raise NotImplementedError


def decode_line(line: bytes, previous_crc: bytes, format: int = FORMAT) -> Entry:
    """Give the entry on a whole line (with its newline). Raises LineDamaged if its checksum or form is wrong.

    A fact of a kind or a form that this version doesn't know becomes an UnknownFact.
    """
    raise NotImplementedError


def stored_crc(line: bytes) -> bytes | None:
    """The eight digits at the end of a whole line, unchecked; None where there are none."""
    raise NotImplementedError


def format_of(first_line: bytes) -> int:
    """The format number in a recording's first line. Raises RecordingFault if it is newer than this software."""
    raise NotImplementedError


class Opened(msgspec.Struct, frozen=True):
    """A recording's first fact."""

    fact: RecordingOpened
