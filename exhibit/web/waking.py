"""Wakes the pages that wait for something newer: screens at once, phones a moment later."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import gevent

GATHER_S = 0.03
"""Delay that gathers changes for phones, since they seldom come alone: a frame of readings, for example,
brings a caption."""

Waiting = dict[Callable[[], None], None]
"""Those that are woken together, in the order in which they came."""


class Waking:
    """Whom to wake. Each is woken once; whoever wants to wait again says so again."""

    def __init__(self) -> None:
        self._screens: Waiting = {}
        self._phones: Waiting = {}
        self._gathering: Any = None

    def add(self, woken: Callable[[], None], phone: bool = False) -> Waiting:
        """Have `woken` called once something is new. It must not wait.

        Returns where it waits, so that it can be taken out of there.
        """
        waiting = self._phones if phone else self._screens
        waiting[woken] = None
        return waiting

    def wake_screens(self) -> None:
        """Wake the screens, which show the console."""
        # Whoever waits from now on waits for the next time.
        waiting, self._screens = self._screens, {}
        for woken in waiting:
            woken()

    def wake_phones(self) -> None:
        """Wake the phones in a moment."""
        if self._gathering is None:
            self._gathering = gevent.get_hub().loop.timer(GATHER_S)
            self._gathering.start(self._wake_phones_now)

    def _wake_phones_now(self) -> None:
        """Called by the hub."""
        self._gathering.close()
        self._gathering = None
        waiting, self._phones = self._phones, {}
        for woken in waiting:
            woken()
