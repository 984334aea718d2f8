"""Who may come in, and how often a page may ask: bounds that no visitor meets and no flood gets past."""

from __future__ import annotations

import time
from collections import Counter

MOST_PAGES = 1000
MOST_PAGES_FROM_ONE_ADDRESS = 700
"""A museum's own wireless network may show all its visitors' phones under one address."""
PAUSE_FOR_EACH_PAGE_S = 0.001
"""However much the machine prints, all pages that show its console together ask about a thousand times a
second at most; the screen beside the machine doesn't wait for the phones."""
PAUSE_FOR_EACH_PHONE_S = 0.0004
"""The same for those that don't show it, whose answers are small and mostly shared."""


class Doors:
    """Counts the pages that are open and what each of them waits for."""

    def __init__(
        self, most: int = MOST_PAGES, most_from_one_address: int = MOST_PAGES_FROM_ONE_ADDRESS
    ) -> None:
        self._most = most
        self._most_from_one_address = most_from_one_address
        self._addresses: dict[str, str] = {}
        self._from: Counter[str] = Counter()
        self._asking: set[str] = set()
        self._answered_s: dict[str, float] = {}
        self._with_console: set[str] = set()

    def let_in(self, sid: str, address: str) -> bool:
        """May this page come in?"""
        if len(self._addresses) >= self._most or self._from[address] >= self._most_from_one_address:
            return False
        self._addresses[sid] = address
        self._from[address] += 1
        return True

    def let_out(self, sid: str) -> None:
        """The page has gone."""
        address = self._addresses.pop(sid, None)
        if address is not None:
            self._from[address] -= 1
            if not self._from[address]:
                del self._from[address]
        self._asking.discard(sid)
        self._answered_s.pop(sid, None)
        self._with_console.discard(sid)

    def begin(self, sid: str, console: bool = True) -> bool:
        """May this page ask now? It may when it is in and its last question was answered.

        `console` says whether it asks for the console too.
        """
        if sid not in self._addresses or sid in self._asking:
            return False
        self._asking.add(sid)
        (self._with_console.add if console else self._with_console.discard)(sid)
        return True

    def end(self, sid: str) -> None:
        """The page's question is answered."""
        self._asking.discard(sid)
        if sid in self._addresses:
            self._answered_s[sid] = time.monotonic()

    def pause_s(self, sid: str) -> float:
        """How long this page's question must wait, so that all pages together don't ask too often."""
        since_s = time.monotonic() - self._answered_s.get(sid, float("-inf"))
        consoles = len(self._with_console)
        if sid in self._with_console:
            return max(0.0, PAUSE_FOR_EACH_PAGE_S * consoles - since_s)
        return max(0.0, PAUSE_FOR_EACH_PHONE_S * (len(self._addresses) - consoles) - since_s)

    def __len__(self) -> int:
        return len(self._addresses)
