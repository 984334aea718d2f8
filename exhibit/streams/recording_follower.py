"""Follows a recording while it grows, and then the next one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Entry, RecordingClosed
from exhibit.streams.line_chain import START, Position
from exhibit.streams.recording_files import RecordingFolder
from exhibit.streams.recording_lock import WriterState
from exhibit.streams.tail import Tail


class RecordingFollower:
    """Reads new entries of one recording, and then of the next.

    `find_next` gets the follower and returns the recording to read next, or None as long as there is none. It
    is called whenever there is nothing new to read, so each recording is read to its end first.
    """

    path: Path | None = None
    """The recording being followed; None before there is one, and after a fault in it."""
    count = 0
    """How many recordings it has begun to read. One that was replaced or had a fault counts again."""
    is_closed = False
    """Whether it has read that recording's RecordingClosed."""

    def __init__(
        self,
        find_next: Callable[[RecordingFollower], Path | None],
        start_at: Callable[[Path], Position] = lambda _: START,
    ) -> None:
        """`start_at` says from which place on each recording is read; it may raise RecordingFault."""
        self._find_next = find_next
        self._start_at = start_at
        self._tail: Tail | None = None
        self._faults: list[tuple[Path, tuple[int, int, int]]] = []
        """Where the last two faults were, and what the file was like then."""

    def read_new(self, most: int = 10_000) -> list[Entry]:
        """Up to `most` new entries, all of one recording: the one at `path`.

        Raises RecordingFault if the next recording can't be found or opened; it then keeps following the same
        one. Raises it also if that one can no longer be read; it then follows none until the next is found.
        """
        entries = self._read(most)
        if entries:
            return entries
        path = self._find_next(self)
        if path is None or self._is_hopeless(path):
            return []
        tail = Tail(path, self._start_at(path))
        self.close()
        self.path, self._tail = path, tail
        self.count += 1
        return self._read(most)

    @property
    def position(self) -> Position:
        """The place in that recording up to which it was read."""
        return self._tail.position if self._tail is not None else START

    def was_replaced(self) -> bool:
        """Whether another file now has the name of the one being followed."""
        return self._tail is not None and self._tail.was_replaced()

    def writer_state(self) -> WriterState | None:
        """Whether a process is still writing the recording being followed; None if there is none."""
        return self._tail.writer_state() if self._tail is not None else None

    def close(self) -> None:
        """Close the recording. Nothing is followed until the next one is found."""
        if self._tail is not None:
            self._tail.close()
        self.path, self.is_closed, self._tail = None, False, None

    def _read(self, most: int) -> list[Entry]:
        if self._tail is None:
            return []
        try:
            entries = self._tail.read_new(most)
        except RecordingFault:
            path = self._tail.path
            self._faults = [*self._faults[-1:], (path, _state(path))]
            self.close()
            raise
        self.is_closed = isinstance(entries[-1].fact, RecordingClosed) if entries else self.is_closed
        return entries

    def _is_hopeless(self, path: Path) -> bool:
        """Whether reading it again from its start has failed again, and it hasn't changed since."""
        fault = path, _state(path)
        return self._faults == [fault, fault]


def _state(path: Path) -> tuple[int, int, int]:
    try:
        status = path.stat()
    except OSError:
        return 0, 0, 0
    return status.st_ino, status.st_size, status.st_mtime_ns


def follow_from(first: Path) -> RecordingFollower:
    """Follow this recording and, whenever one is closed, the one that continues it."""
    recordings = RecordingFolder(first.parent)

    def find_next(follower: RecordingFollower) -> Path | None:
        if follower.path is None:
            return first
        # Until it is closed, a recording that names it belongs to another run in the same folder.
        following = recordings.next_after(follower.path.name) if follower.is_closed else None
        return following.path if following is not None else None

    return RecordingFollower(find_next)
