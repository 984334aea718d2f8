"""Follows a recording while it grows."""

from __future__ import annotations

from pathlib import Path

from exhibit.facts.kinds import Entry
from exhibit.streams.recording_lock import WriterState
from exhibit.streams.recording_reader import START, Damaged, Position


class Tail:
    """Reads what was appended since it was last asked; never blocks and never waits.

    Keeps the file open, so that it may be moved or removed meanwhile.
    """

    position: Position
    """Behind the last line that was given."""
    damages: list[Damaged]
    """The damage passed so far."""

    def __init__(self, path: Path, start: Position = START) -> None:
        """Raises RecordingFault if the file can't be opened."""
        raise NotImplementedError

    def read_new(self, most: int = 10_000) -> list[Entry]:
        """Entries of up to `most` whole lines that are new; a line half written waits for its end.

        Raises RecordingFault if the file isn't a recording or has become shorter than what was read.
        """
        raise NotImplementedError

    def writer_state(self) -> WriterState:
        """Is a process still holding this recording open for writing?"""
        raise NotImplementedError

    def close(self) -> None:
        """Close the file."""
        raise NotImplementedError
