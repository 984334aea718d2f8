"""Writes a recording: one file, one line a fact, each handed to the operating system at once."""

from __future__ import annotations

from pathlib import Path

from exhibit.facts.kinds import Entry, Fact, RecordingOpened

RESERVE_BYTES = 4 * 1024 * 1024
SYNC_EVERY_S = 1.0


class RecordingWriter:
    """An open recording. Make it after the process has forked for the last time; one thread appends.

    It fills in what only it knows of `opened`: format, how_to_read, previous_file and previous_crc.
    A file is never appended to again: each writer begins a new one.
    """

    path: Path
    opened: Entry
    """The first entry, as it was written."""
    nearly_full: Entry | None
    """The RecordNearlyFull that append() wrote before the fact it was given; None until then."""

    def __init__(
        self,
        folder: Path,
        opened: RecordingOpened,
        reserve_bytes: int = RESERVE_BYTES,
        sync_every_s: float = SYNC_EVERY_S,
    ) -> None:
        """Begin a new file in `folder`. Raises RecordingFault when that can't be."""
        raise NotImplementedError

    def append(self, fact: Fact, at_us: int) -> Entry:
        """Write a fact and give it in its place.

        Times never go back: an `at_us` before that of the last entry is raised to it. When the disc is
        full, the reserve is released, a RecordNearlyFull is written first (see `nearly_full`), and then
        the fact. Raises RecordingFault when a fact can't be written; the file then ends with its last whole
        line, and every later append raises the same fault: begin a new recording once the cause is gone.
        """
        raise NotImplementedError

    def close(self, why: str, at_us: int) -> Entry:
        """Write RecordingClosed, sync, give the lock and the reserve back."""
        raise NotImplementedError

    def abandon(self) -> None:
        """Give the file, the lock and the reserve back without a RecordingClosed, as after a fault."""
        raise NotImplementedError
