"""Wakes the greenlets of pages that wait for something newer: some at once, the many in small groups.

Hundreds of phones that were woken together would keep the screen beside the machine waiting until all of
them are answered. So the others go on between one group and the next.
"""

from __future__ import annotations

import gevent
import gevent.event

GROUPS = 32
GATHER_S = 0.03
"""So long the many are told nothing yet, since one piece of news seldom comes alone: a frame of readings, and
the caption that rests on it."""


class Waking:
    """Who waits, and the telling of news to them."""

    def __init__(self) -> None:
        self._at_once = gevent.event.Event()
        self._groups = [gevent.event.Event() for _ in range(GROUPS)]
        self._next = 0
        self._teller: gevent.Greenlet[..., None] | None = None
        self._again = False

    def wait(self, limit_s: float) -> None:
        """Wait until something new is told, or for `limit_s`."""
        self._at_once.wait(limit_s)

    def wait_in_a_group(self, limit_s: float) -> None:
        """The same for one of many."""
        self._next = (self._next + 1) % GROUPS
        self._groups[self._next].wait(limit_s)

    def tell(self) -> None:
        """Wake those who wait at once."""
        # A new event for those who wait next: whoever waits now is woken however late it gets its turn.
        told, self._at_once = self._at_once, gevent.event.Event()
        told.set()

    def tell_groups(self) -> None:
        """Wake all the others, group by group, beginning as soon as this greenlet waits."""
        self._again = True
        if self._teller is None or self._teller.ready():
            self._teller = gevent.spawn(self._tell_one_after_the_other)

    def _tell_one_after_the_other(self) -> None:
        while self._again:
            gevent.sleep(GATHER_S)
            self._again = False
            for place in range(GROUPS):
                told, self._groups[place] = self._groups[place], gevent.event.Event()
                told.set()
                gevent.sleep(0)
