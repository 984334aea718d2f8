"""Guessing gets ever slower: after some wrong tries an address has to wait, each time twice as long.

An address is the one that the connection has, whatever a request says about others. What is remembered is
bounded: once there are too many addresses, all new ones share one delay, so a crowd can't wash its own away.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Final

from exhibit.web.admission import shared_by

AT_ONCE: Final = 3
"""How many wrong tries cost nothing: people mistype."""
LONGEST_S: Final = 300.0
FORGOTTEN_AFTER_S: Final = 3600.0
MOST_ADDRESSES: Final = 1000
_THE_OTHERS: Final = "others"


class Delays:
    """How long each address has to wait until it may try again."""

    def __init__(self, steady_s: Callable[[], float] = time.monotonic) -> None:
        self._steady_s = steady_s
        self._tries: dict[str, tuple[int, float]] = {}
        """For each address how many tries in a row weren't right, and when the last was."""

    def wait_s(self, address: str) -> float:
        """How long this address has to wait; 0 if it may try now."""
        tries, last_s = self._tries.get(self._kept_as(address), (0, 0.0))
        if tries < AT_ONCE:
            return 0.0
        delay_s = min(LONGEST_S, 2.0 ** min(tries - AT_ONCE, 30))
        return max(0.0, last_s + delay_s - self._steady_s())

    def tries(self, address: str) -> None:
        """It tries now. That counts as wrong until it was right, so many tries at once gain nothing."""
        kept = self._kept_as(address)
        tries, _ = self._tries.get(kept, (0, 0.0))
        self._tries[kept] = tries + 1, self._steady_s()

    def was_right(self, address: str) -> None:
        """It has succeeded. What many share is only forgotten with time."""
        kept = self._kept_as(address)
        if kept != _THE_OTHERS:
            self._tries.pop(kept, None)

    def _kept_as(self, address: str) -> str:
        by = shared_by(address)
        if by in self._tries or len(self._tries) < MOST_ADDRESSES:
            return by
        since_s = self._steady_s() - FORGOTTEN_AFTER_S
        self._tries = {kept: tried for kept, tried in self._tries.items() if tried[1] > since_s}
        return by if len(self._tries) < MOST_ADDRESSES else _THE_OTHERS
