"""Follows a recording while it grows, and on into the next one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Entry, RecordingClosed
from exhibit.streams.recording_files import RecordingFolder
from exhibit.streams.recording_lock import WriterState
from exhibit.streams.tail import Tail


class RecordingFollower:
    """Reads what is new, in one recording and then in the next.

    `find_next` is given the follower, and gives the recording to go on to, or None as long as there is none.
    It is asked whenever nothing new is left to read, so that each recording is read to its end.
    """

    path: Path | None = None
    """The recording that is followed; None before there is one, and after a fault in it."""
    count = 0
    """How many recordings have been begun. One that was replaced, or had a fault, is begun again."""
    is_closed = False
    """Whether that recording has been read to its RecordingClosed."""

    def __init__(self, find_next: Callable[[RecordingFollower], Path | None]) -> None:
        self._find_next = find_next
        self._tail: Tail | None = None

    def read_new(self, most: int = 10_000) -> list[Entry]:
        """Up to `most` entries that are new, all of one recording: `path` says which.

        Raises RecordingFault if the next recording can't be found or opened, and still follows the one before
        it. Raises it too if that one can't be read any more, and follows none until the next is found.
        """
        entries = self._read(most)
        if entries:
            return entries
        path = self._find_next(self)
        if path is None:
            return []
        tail = Tail(path)
        self.close()
        self.path, self._tail = path, tail
        self.count += 1
        return self._read(most)

    def was_replaced(self) -> bool:
        """Does another file now have the name of the one that is followed?"""
        return self._tail is not None and self._tail.was_replaced()

    def writer_state(self) -> WriterState | None:
        """Is a process still writing the recording that is followed? None if none is followed."""
        return self._tail.writer_state() if self._tail is not None else None

    def close(self) -> None:
        """Close the recording. None is followed until the next one is found."""
        if self._tail is not None:
            self._tail.close()
        self.path, self.is_closed, self._tail = None, False, None

    def _read(self, most: int) -> list[Entry]:
        if self._tail is None:
            return []
        try:
            entries = self._tail.read_new(most)
        except RecordingFault:
            self.close()
            raise
        self.is_closed = isinstance(entries[-1].fact, RecordingClosed) if entries else self.is_closed
        return entries


def follow_from(first: Path) -> RecordingFollower:
    """Follow this recording, and each time on into the one that goes on where it was closed."""
    recordings = RecordingFolder(first.parent)

    def find_next(follower: RecordingFollower) -> Path | None:
        if follower.path is None:
            return first
        # As long as it isn't closed, one that names it is that of another run in the same folder.
        after = recordings.next_after(follower.path.name) if follower.is_closed else None
        return after.path if after is not None else None

    return RecordingFollower(find_next)
