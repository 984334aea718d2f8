"""Notices that this computer was asleep, or this program stopped, while the machine went on.

While a computer sleeps, its steady clock stands still, but the one that counts from its start runs on
(clock_gettime(2), CLOCK_MONOTONIC and CLOCK_BOOTTIME). A program that is stopped sees both run on.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Final

ASLEEP_S: Final = 1.0
"""A serial port that sleeps receives nothing, so even a short sleep may have lost characters."""
STOPPED_S: Final = 30.0
"""What arrives while this program is stopped waits in the system, at 9600 baud for longer than this."""


def since_start_s() -> float:
    """Seconds since this computer was started, its sleep included; where unknown, like the steady clock."""
    clock = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if clock is None else time.clock_gettime(clock)


class Awake:
    """Call `look` again and again: it says whether there was a gap since the call before."""

    def __init__(
        self,
        steady_s: Callable[[], float] = time.monotonic,
        since_start_s: Callable[[], float] = since_start_s,
    ) -> None:
        self._steady_s = steady_s
        self._since_start_s = since_start_s
        self._before = steady_s(), since_start_s()

    def look(self) -> str:
        """Why nothing was heard for a while, as the end of a sentence; empty if there was no gap."""
        why = self.gap()
        self._before = self._steady_s(), self._since_start_s()
        return why

    def gap(self) -> str:
        """The same, without counting as a look."""
        # In this order, and in the other one in `_before`: a pause between the two calls is no sleep.
        whole_s = self._since_start_s() - self._before[1]
        steady_s = self._steady_s() - self._before[0]
        if whole_s - steady_s >= ASLEEP_S:
            return f"this computer was asleep for {_in_words(whole_s)}"
        return f"this program was stopped for {_in_words(whole_s)}" if whole_s >= STOPPED_S else ""


def _in_words(seconds: float) -> str:
    if seconds < 120:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < 120 else f"{minutes // 60} h {minutes % 60} min"
