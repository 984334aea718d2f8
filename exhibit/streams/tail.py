"""Follows a recording while it grows."""

from __future__ import annotations

import os
from pathlib import Path

from exhibit.facts import codec
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Entry
from exhibit.streams.line_chain import START, Damaged, Position
from exhibit.streams.recording_fault import fault
from exhibit.streams.recording_lock import WriterState, state_of
from exhibit.streams.recording_reader import chain_from, look_for_line, open_recording, read_at, size_of

# How much to read at once for each entry wanted: a little more than most lines take.
_BYTES_FOR_EACH = 200
_LEAST_BLOCK_BYTES = 16 * 1024
_MOST_BLOCK_BYTES = 256 * 1024
_MOST_DAMAGED_AT_ONCE = 2_000
"""Lines."""
_MOST_AT_ONCE_BYTES = codec.MAX_LINE_BYTES
"""Reading so much takes some ten milliseconds, and the page server must not be kept busy for long."""


class Tail:
    """Reads what was appended since the last call, without ever waiting for more.

    It keeps the file open, so the file can be moved or deleted meanwhile.
    """

    damages: list[Damaged]
    """The damage found so far."""
    is_searching = False
    """Whether there is so much damage here that the next call may find more, although this one didn't."""

    def __init__(self, path: Path, start: Position = START) -> None:
        """Follow from `start`. Raises RecordingFault if the file can't be opened."""
        self.path = path
        self.damages = []
        self._file = open_recording(path)
        try:
            self._chain = chain_from(self._file, path, start)
        except RecordingFault:
            self._file.close()
            raise

    @property
    def position(self) -> Position:
        """The place after the last undamaged line that was read."""
        return self._chain.position

    def read_new(self, most: int = 10_000) -> list[Entry]:
        """Up to `most` new entries. A line that is incomplete so far is left for a later call.

        There can be fewer although there is more to read, because no call reads more than a few megabytes.
        Raises RecordingFault if the file isn't a recording or has become shorter than what was read.
        """
        found: list[Entry] = []
        if self._chain.has_given_up:
            self.is_searching = self._search()
            if self._chain.has_given_up:  # no line so far, or none up to the end
                return found
        start_bytes = self._chain.offset_bytes
        taken, is_at_end = 0, False
        while (
            len(found) < most
            and taken < most + _MOST_DAMAGED_AT_ONCE
            and self._chain.offset_bytes - start_bytes < _MOST_AT_ONCE_BYTES
            and not self._chain.has_given_up
        ):
            lines = self._complete_lines(most - len(found))
            if not lines:
                is_at_end = True
                break
            for line in lines[: most - len(found)]:
                taken += 1
                if self._chain.has_given_up:
                    break
                entry = self._chain.take(line)
                if entry is not None:
                    found.append(entry)
        self.is_searching = not (found or is_at_end or self._chain.is_over)
        self.damages += self._chain.take_damages()
        return found

    def writer_state(self) -> WriterState:
        """Whether a process is still writing this recording."""
        return state_of(self._file.fileno())

    def was_replaced(self) -> bool:
        """Whether another file now has this one's name; False if this one was only moved or deleted."""
        try:
            named = os.stat(self.path)
        except OSError:
            return False
        return not os.path.samestat(named, os.fstat(self._file.fileno()))

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    def _search(self) -> bool:
        """Look for the next line after much damage, a few megabytes at a time. Returns whether to go on."""
        if self._chain.is_over:
            return False
        try:
            is_line = look_for_line(self._file, self._chain, _MOST_AT_ONCE_BYTES)
            return not is_line and self._chain.offset_bytes < size_of(self._file)
        except OSError as error:
            raise fault(self.path, "be read", error) from error

    def _complete_lines(self, wanted: int) -> list[bytes]:
        """Some of the next complete lines.

        Half a line isn't kept until the next call but read again, because a writer whose disc is full cuts it
        off and writes another line instead.
        """
        size_bytes = max(_LEAST_BLOCK_BYTES, min(_MOST_BLOCK_BYTES, wanted * _BYTES_FOR_EACH))
        block = self._block(size_bytes)
        if b"\n" not in block and len(block) == size_bytes:
            block = self._block(codec.MAX_LINE_BYTES)
        lines = block.split(b"\n")
        incomplete = lines.pop()
        complete = [line + b"\n" for line in lines]
        return complete or ([incomplete] if len(incomplete) == codec.MAX_LINE_BYTES else [])

    def _block(self, size_bytes: int) -> bytes:
        offset_bytes = self._chain.offset_bytes
        try:
            block = read_at(self._file, size_bytes, offset_bytes)
            shorter = not block and size_of(self._file) < offset_bytes
        except OSError as error:
            raise fault(self.path, "be read", error) from error
        if shorter:
            raise RecordingFault(
                f"The recording {self.path} has become shorter while it was being read.",
                "Something other than its writer has changed it, so it can't be trusted.",
                "Find out what shortened it, and open it again to see what remains.",
            )
        return block
