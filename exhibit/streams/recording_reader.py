"""Reads a recording from its start or from a position, and goes on after damage."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import msgspec

from exhibit.facts.kinds import Entry, RecordingOpened


class Position(msgspec.Struct, frozen=True):
    """A place between two lines: what a reader must know to go on from there."""

    offset_bytes: int = 0
    seq: int = 0
    """Of the last entry before this place."""
    at_us: int = 0
    crc: str = "00000000"
    damages: int = 0
    """How many damaged places were passed before."""


START = Position()


class Damaged(msgspec.Struct, frozen=True):
    """Bytes of a recording that aren't what was once written. Entries that follow are whole, but some may be missing."""

    offset_bytes: int
    length_bytes: int
    why: str
    torn: bool = False
    """A last line without its end: the writer was killed in the middle of it, or is still writing it."""


class Reading(msgspec.Struct, frozen=True):
    """A whole recording at once."""

    entries: list[Entry]
    damages: list[Damaged]
    end: Position


def read(path: Path, start: Position = START) -> Iterator[Entry | Damaged]:
    """Give every entry of a recording in order, and between them the damage.

    Raises RecordingFault, and nothing else, if the file can't be opened, isn't a recording, or is of a
    newer format than this software knows.
    """
    raise NotImplementedError


def read_all(path: Path) -> Reading:
    """Read a whole recording, damage listed apart. Raises as `read` does."""
    raise NotImplementedError


def read_opened(path: Path) -> RecordingOpened:
    """Read the first fact. Raises RecordingFault if it is damaged, missing or of a newer format."""
    raise NotImplementedError
