"""How many pages can connect, and how often they can ask: limits that stop a flood but no visitor."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Hashable

MOST_PAGES = 1000
MOST_PAGES_FROM_ONE_ADDRESS = 700
"""On a museum's own wireless network, all visitors' phones may appear under one address."""
PAUSE_FOR_EACH_PAGE_S = 0.001
"""However much the machine prints, all pages that show its console together ask at most about a thousand
times a second. So the screen beside the machine doesn't have to wait for the phones."""
PAUSE_FOR_EACH_PHONE_S = 0.0004
"""The same for pages that don't show the console, whose answers are small and mostly shared."""


class Doors:
    """Counts the pages that are open, and says how long each has to wait for its turn."""

    def __init__(
        self, most: int = MOST_PAGES, most_from_one_address: int = MOST_PAGES_FROM_ONE_ADDRESS
    ) -> None:
        self._most = most
        self._most_from_one_address = most_from_one_address
        self._addresses: dict[Hashable, str] = {}
        self._from: Counter[str] = Counter()
        self._answered_s: dict[Hashable, float] = {}
        self._with_console: set[Hashable] = set()

    def let_in(self, page: Hashable, address: str) -> bool:
        """Admit this page, unless there are too many. Returns whether it was admitted."""
        if len(self._addresses) >= self._most or self._from[address] >= self._most_from_one_address:
            return False
        self._addresses[page] = address
        self._from[address] += 1
        return True

    def let_out(self, page: Hashable) -> None:
        """Forget a page that has disconnected."""
        address = self._addresses.pop(page, None)
        if address is not None:
            self._from[address] -= 1
            if not self._from[address]:
                del self._from[address]
        self._answered_s.pop(page, None)
        self._with_console.discard(page)

    def answered(self, page: Hashable) -> None:
        """The page's question has been answered."""
        self._answered_s[page] = time.monotonic()

    def pause_s(self, page: Hashable, console: bool) -> float:
        """How long to delay this page's question, so that all pages together don't ask too often.

        `console` says whether it asks for the console as well.
        """
        (self._with_console.add if console else self._with_console.discard)(page)
        since_s = time.monotonic() - self._answered_s.get(page, float("-inf"))
        consoles = len(self._with_console)
        if console:
            return max(0.0, PAUSE_FOR_EACH_PAGE_S * consoles - since_s)
        return max(0.0, PAUSE_FOR_EACH_PHONE_S * (len(self._addresses) - consoles) - since_s)

    def __len__(self) -> int:
        return len(self._addresses)
