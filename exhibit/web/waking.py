"""Wakes the pages that wait for something newer: some at once, the phones in small groups.

If hundreds of phones were woken together, the screen beside the machine would have to wait until all of them
are answered. Between two groups, the other greenlets get their turn.
"""

from __future__ import annotations

from collections.abc import Callable

import gevent

GROUPS = 32
GATHER_S = 0.03
"""Delay that gathers changes for phones, since they seldom come alone: a frame of readings, for example,
brings a caption."""

Waiting = dict[Callable[[], None], None]
"""Those that are woken together, in the order in which they came."""


class Waking:
    """Whom to wake. Each is woken once; whoever wants to wait again says so again."""

    def __init__(self) -> None:
        self._at_once: Waiting = {}
        self._groups: list[Waiting] = [{} for _ in range(GROUPS)]
        self._next = 0
        self._waker: gevent.Greenlet[..., None] | None = None
        self._again = False

    def add(self, woken: Callable[[], None], in_a_group: bool = False) -> Waiting:
        """Have `woken` called by the hub once something is new; phones are woken in groups.

        Returns where it waits, so that it can be taken out of there.
        """
        if in_a_group:
            self._next = (self._next + 1) % GROUPS
            waiting = self._groups[self._next]
        else:
            waiting = self._at_once
        waiting[woken] = None
        return waiting

    def wake(self) -> None:
        """Wake all that are in no group."""
        # Whoever waits from now on waits for the next time.
        waiting, self._at_once = self._at_once, {}
        _call(waiting)

    def wake_groups(self) -> None:
        """Wake the groups, one after another, as soon as this greenlet waits."""
        self._again = True
        if self._waker is None or self._waker.ready():
            self._waker = gevent.spawn(self._wake_one_after_another)

    def _wake_one_after_another(self) -> None:
        while self._again:
            gevent.sleep(GATHER_S)
            self._again = False
            for place in range(GROUPS):
                waiting, self._groups[place] = self._groups[place], {}
                _call(waiting)
                gevent.sleep(0)


def _call(waiting: Waiting) -> None:
    call_soon = gevent.get_hub().loop.run_callback
    for woken in waiting:
        call_soon(woken)
