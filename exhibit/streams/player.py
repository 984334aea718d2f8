"""Plays a recording: gives each entry when it is due, by the caller's clock (`now_us`)."""

from __future__ import annotations

from collections import deque
from fractions import Fraction
from math import ceil
from pathlib import Path

from exhibit.facts.kinds import Entry, RecordingOpened
from exhibit.streams.finding import find_seq, find_time
from exhibit.streams.line_chain import START, Damaged, Position
from exhibit.streams.pacing import checked_rate
from exhibit.streams.recording_reader import read_opened
from exhibit.streams.tail import Tail

AS_FAST_AS_POSSIBLE = float("inf")

_AHEAD = 500


class Player:
    """Plays one recording, from its start, paused until `resume`.

    `rate` is recording seconds per real second: RecordingOpened.rate replays a simulated machine at its
    original speed, and AS_FAST_AS_POSSIBLE doesn't wait. `now_us` is real microseconds on a clock that never
    goes back, the same one in all calls. Silences last as long as they did. Every method that may read more
    of the file raises RecordingFault as Tail.read_new does.
    """

    opened: RecordingOpened

    def __init__(self, path: Path, rate: float = 1.0) -> None:
        """Raises RecordingFault if the file isn't a readable recording, SetUpFault for a rate not above 0."""
        self._rate = checked_rate(rate)
        self._path = path
        self.opened = read_opened(path)
        self._tail = Tail(path)
        self._ahead: deque[Entry] = deque()
        # One moment on both clocks, from which all others are calculated. While paused, the second is None.
        self._base_at_us = 0
        self._base_now_us: int | None = None

    @property
    def rate(self) -> float:
        """Recording seconds per real second."""
        return self._rate

    @property
    def paused(self) -> bool:
        """Whether it is paused."""
        return self._base_now_us is None

    @property
    def ended(self) -> bool:
        """Whether all entries in the file so far have been given. The file may still grow."""
        return self._next() is None

    @property
    def damages(self) -> list[Damaged]:
        """The damage found so far, including some a little after the last entry that was given."""
        return self._tail.damages

    def at_us(self, now_us: int) -> int:
        """The current time on the recording's clock. It continues after the last entry."""
        if self._base_now_us is None or self._rate == AS_FAST_AS_POSSIBLE:
            return self._base_at_us
        return self._base_at_us + int(max(0, now_us - self._base_now_us) * Fraction(self._rate))

    def resume(self, now_us: int) -> None:
        """Continue from where it was paused."""
        if self._base_now_us is None:
            self._base_now_us = now_us

    def pause(self, now_us: int) -> None:
        """Pause."""
        self._base_at_us = self.at_us(now_us)
        self._base_now_us = None

    def set_rate(self, rate: float, now_us: int) -> None:
        """Change the rate from now on. Raises SetUpFault for a rate not above 0."""
        checked_rate(rate)
        self._set_time(self.at_us(now_us), now_us)
        self._rate = rate

    def due(self, now_us: int, most: int = 1000) -> list[Entry]:
        """The entries that are due, at most `most`. If there are that many, more may be due already."""
        found: list[Entry] = []
        if self.paused:
            return found
        at_once = self._rate == AS_FAST_AS_POSSIBLE
        current_us = self.at_us(now_us)
        while len(found) < most:
            entry = self._ahead[0] if self._ahead else self._next()
            if entry is None or (entry.at_us > current_us and not at_once):
                break
            found.append(self._ahead.popleft())
        if at_once and found:
            self._base_at_us = max(self._base_at_us, found[-1].at_us)
        return found

    def next_due_us(self, now_us: int) -> int | None:
        """When the next entry is due, on the caller's clock: at `now_us` or later.

        None if paused, or if there is no next entry yet.
        """
        entry = self._next()
        if entry is None or self._base_now_us is None:
            return None
        if self._rate == AS_FAST_AS_POSSIBLE:
            return now_us
        wait_us = ceil((entry.at_us - self._base_at_us) / Fraction(self._rate))
        return max(now_us, self._base_now_us + wait_us)

    def seek(self, now_us: int, *, seq: int | None = None, at_us: int | None = None) -> Position:
        """Go to just before entry `seq`, or to the time `at_us`. Returns the place in the file.

        Pass exactly one of the two. The next entry that is given will be the one with that number, or the
        first at that time or later. It stays paused if it was paused.
        """
        if (seq is None) == (at_us is None):
            raise TypeError("pass either seq or at_us")
        position = find_seq(self._path, seq) if seq is not None else find_time(self._path, at_us or 0)
        self.go_to(position, now_us, at_us)
        if at_us is None:
            # That entry is due at once, however long the silence before it was.
            entry = self._next()
            self._set_time(entry.at_us if entry is not None else position.at_us, now_us)
        return position

    def go_to(self, position: Position, now_us: int, at_us: int | None = None) -> None:
        """Go to a position, for example the one that Keyframes.seek returned with its view.

        The current time becomes `at_us` or, if that is None, the time of the last entry before the position.
        """
        damages = self._tail.damages
        tail = Tail(self._path, START if position.seq == 0 else position)
        self._tail.close()
        self._tail = tail
        self._tail.damages = damages
        self._ahead.clear()
        self._set_time(position.at_us if at_us is None else at_us, now_us)

    def close(self) -> None:
        """Close the file."""
        self._tail.close()

    def _next(self) -> Entry | None:
        while not self._ahead:
            self._ahead.extend(self._tail.read_new(_AHEAD))
            if not self._tail.is_searching:
                break
        return self._ahead[0] if self._ahead else None

    def _set_time(self, at_us: int, now_us: int) -> None:
        self._base_at_us = at_us
        if self._base_now_us is not None:
            self._base_now_us = now_us
