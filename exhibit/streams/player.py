"""Hands out a recording's entries when they are due. It has no clock: `now_us` is the caller's steady one."""

from __future__ import annotations

from pathlib import Path

from exhibit.facts.kinds import Entry, RecordingOpened
from exhibit.streams.recording_reader import Damaged, Position

AS_FAST_AS_POSSIBLE = float("inf")


class Player:
    """Plays one recording, from its start, paused until `resume`.

    `rate` is recording seconds per real second, so RecordingOpened.rate replays a simulated machine as it
    was live and AS_FAST_AS_POSSIBLE doesn't wait. `now_us` is real microseconds on any clock that never goes
    back, the same one in each call.
    """

    opened: RecordingOpened
    damages: list[Damaged]
    position: Position
    """Behind the last entry that was handed out."""
    ended: bool
    """Nothing more is in the file for now; it may grow."""

    def __init__(self, path: Path, rate: float = 1.0) -> None:
        """Raises RecordingFault if the file isn't a readable recording, SetUpFault for a rate not above 0."""
        raise NotImplementedError

    def at_us(self, now_us: int) -> int:
        """The time on the recording's clock that is being shown."""
        raise NotImplementedError

    def resume(self, now_us: int) -> None:
        """Play on from where it was paused."""
        raise NotImplementedError

    def pause(self, now_us: int) -> None:
        """Stand still."""
        raise NotImplementedError

    def set_rate(self, rate: float, now_us: int) -> None:
        """Change the rate from here on. Raises SetUpFault for a rate not above 0."""
        raise NotImplementedError

    def due(self, now_us: int, most: int = 1000) -> list[Entry]:
        """The next entries whose time has come, at most so many; ask again at once when `most` came."""
        raise NotImplementedError

    def next_due_us(self, now_us: int) -> int | None:
        """When, on the caller's clock, the next entry is due; None when paused or ended."""
        raise NotImplementedError

    def seek(self, now_us: int, *, seq: int | None = None, at_us: int | None = None) -> Position:
        """Go to just before entry `seq`, or the first entry at `at_us` or later. Gives the new position."""
        raise NotImplementedError

    def go_to(self, position: Position, now_us: int) -> None:
        """Go to a position, such as Keyframes.seek found together with the view of it."""
        raise NotImplementedError

    def close(self) -> None:
        """Close the file."""
        raise NotImplementedError
