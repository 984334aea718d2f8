"""Wakes the greenlets of pages that wait for something newer: some at once, the phones in small groups.

If hundreds of phones were woken together, the screen beside the machine would have to wait until all of them
are answered. Between two groups, the other greenlets get their turn.
"""

from __future__ import annotations

import gevent
import gevent.event

GROUPS = 32
GATHER_S = 0.03
"""Delay that gathers changes for phones, since they seldom come alone: a frame of readings, for example,
brings a caption."""


class Waking:
    """The greenlets that wait, and how to wake them."""

    def __init__(self) -> None:
        self._at_once = gevent.event.Event()
        self._groups = [gevent.event.Event() for _ in range(GROUPS)]
        self._next = 0
        self._waker: gevent.Greenlet[..., None] | None = None
        self._again = False

    def wait(self, limit_s: float) -> None:
        """Wait until something is new, or at most for `limit_s`."""
        self._at_once.wait(limit_s)

    def wait_in_a_group(self, limit_s: float) -> None:
        """The same for a phone, in one of the groups."""
        self._next = (self._next + 1) % GROUPS
        self._groups[self._next].wait(limit_s)

    def wake(self) -> None:
        """Wake all greenlets that are in no group."""
        # Greenlets that wait from now on get a new event, so setting the old one wakes every earlier one.
        event, self._at_once = self._at_once, gevent.event.Event()
        event.set()

    def wake_groups(self) -> None:
        """Wake the greenlets in groups, one group after another, as soon as this greenlet waits."""
        self._again = True
        if self._waker is None or self._waker.ready():
            self._waker = gevent.spawn(self._wake_one_after_another)

    def _wake_one_after_another(self) -> None:
        while self._again:
            gevent.sleep(GATHER_S)
            self._again = False
            for place in range(GROUPS):
                event, self._groups[place] = self._groups[place], gevent.event.Event()
                event.set()
                gevent.sleep(0)
