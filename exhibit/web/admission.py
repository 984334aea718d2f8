"""How many pages can connect, and how often they can ask: limits that stop a flood but no visitor."""

from __future__ import annotations

import time
from collections import Counter

MOST_PAGES = 1000
MOST_PAGES_FROM_ONE_ADDRESS = 700
"""On a museum's own wireless network, all visitors' phones may appear under one address."""
PAUSE_FOR_EACH_PAGE_S = 0.001
"""However much the machine prints, all pages that show its console together ask at most about a thousand
times a second. So the screen beside the machine doesn't have to wait for the phones."""
PAUSE_FOR_EACH_PHONE_S = 0.0004
"""The same for pages that don't show the console, whose answers are small and mostly shared."""


class Doors:
    """Counts the pages that are open, and knows which of them are waiting for an answer."""

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
        """Admit this page, unless there are too many. Returns whether it was admitted."""
        if len(self._addresses) >= self._most or self._from[address] >= self._most_from_one_address:
            return False
        self._addresses[sid] = address
        self._from[address] += 1
        return True

    def let_out(self, sid: str) -> None:
        """Forget a page that has disconnected."""
        address = self._addresses.pop(sid, None)
        if address is not None:
            self._from[address] -= 1
            if not self._from[address]:
                del self._from[address]
        self._asking.discard(sid)
        self._answered_s.pop(sid, None)
        self._with_console.discard(sid)

    def begin(self, sid: str, console: bool = True) -> bool:
        """Begin a question of this page. Returns False if it isn't connected or its last question is open.

        `console` says whether it asks for the console as well.
        """
        if sid not in self._addresses or sid in self._asking:
            return False
        self._asking.add(sid)
        (self._with_console.add if console else self._with_console.discard)(sid)
        return True

    def end(self, sid: str) -> None:
        """End the page's question, which has been answered."""
        self._asking.discard(sid)
        if sid in self._addresses:
            self._answered_s[sid] = time.monotonic()

    def pause_s(self, sid: str) -> float:
        """How long to delay this page's question, so that all pages together don't ask too often."""
        since_s = time.monotonic() - self._answered_s.get(sid, float("-inf"))
        consoles = len(self._with_console)
        if sid in self._with_console:
            return max(0.0, PAUSE_FOR_EACH_PAGE_S * consoles - since_s)
        return max(0.0, PAUSE_FOR_EACH_PHONE_S * (len(self._addresses) - consoles) - since_s)

    def __len__(self) -> int:
        return len(self._addresses)
