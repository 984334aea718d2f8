"""Who may come in, and how often each may ask: what stops a flood stops no visitor.

The bounds follow from what this computer has: from the files that the process may open, and from what an
answer turns out to cost.
"""

from __future__ import annotations

import ipaddress
import time
from collections import Counter
from collections.abc import Hashable
from functools import lru_cache

from exhibit.web.phone import is_loopback

OWN_PLACES = 20
"""Places that only this computer's own screen and its docents can take."""
MOST_NOT_JOINED = 1000
"""How many connections there can be at a time that aren't a page's: files being fetched, and strangers."""

CONSOLES_SHARE, PHONES_SHARE = 0.6, 0.4
"""How much of a core the answers to pages with and without the console may take. They are counted apart, so
that the screen beside the machine doesn't have to wait for the phones."""
PATIENCE_S = 2.0
"""No more pages are admitted than can have an answer each within this time: see web/visitor/page.js."""
FIRST_GUESS_S = 0.0002
"""What an answer costs before any has been given."""
WEIGHT = 0.01
"""How much a new answer counts in the mean of what they cost."""
DEAREST_S = 0.002
"""One that took longer also did something else, such as beginning a page."""


class _Places:
    """So many places; one address can take half of them, and the last few are only for this computer."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._taken = 0
        self._by: Counter[str] = Counter()

    def has_one_for(self, address: str, for_many: bool) -> bool:
        most = self._most if is_loopback(address) else self._most - min(OWN_PLACES, self._most // 2)
        return self._taken < most and (for_many or self._by[shared_by(address)] < (most + 1) // 2)

    def take(self, address: str) -> None:
        self._taken += 1
        self._by[shared_by(address)] += 1

    def give_back(self, address: str) -> None:
        by = shared_by(address)
        self._taken -= 1
        self._by[by] -= 1
        if not self._by[by]:
            del self._by[by]


class Room:
    """Counts connections from the moment they are accepted, and apart those that no page has joined on."""

    def __init__(self, most: int) -> None:
        """`most` is how many there can be at a time: each takes one descriptor."""
        self._all = _Places(most)
        self._not_joined = _Places(min(MOST_NOT_JOINED, most))

    def take(self, address: str, for_many: bool = False) -> bool:
        """Take a place if there is one. `for_many`: the address is a proxy's, through which many come."""
        kinds = (self._all, self._not_joined)
        if not all(places.has_one_for(address, for_many) for places in kinds):
            return False
        for places in kinds:
            places.take(address)
        return True

    def join(self, address: str) -> None:
        """A page has joined on one of them."""
        self._not_joined.give_back(address)

    def give_back(self, address: str, joined: bool) -> None:
        """It is closed."""
        self._all.give_back(address)
        if not joined:
            self._not_joined.give_back(address)


class Place:
    """The place of one connection."""

    def __init__(self, room: Room, address: str) -> None:
        """It has been taken already."""
        self._room = room
        self._address = address
        self._joined = False

    def join(self) -> None:
        """A page has joined on this connection."""
        self._joined = True
        self._room.join(self._address)

    def give_back(self) -> None:
        """The connection is closed."""
        self._room.give_back(self._address, self._joined)


class Doors:
    """Admits pages, and says how long each has to wait for its turn."""

    def __init__(self, most: int) -> None:
        """`most` is how many pages there can be, however little an answer costs."""
        self._places = _Places(most)
        self._pages: dict[Hashable, str] = {}
        self._answered_s: dict[Hashable, float] = {}
        self._with_console: set[Hashable] = set()
        self._by: dict[bool, Counter[str]] = {True: Counter(), False: Counter()}
        """How many pages with and without the console each address has."""
        self._cost_s = {True: FIRST_GUESS_S, False: FIRST_GUESS_S}

    def let_in(self, page: Hashable, address: str) -> bool:
        """Admit this page, unless there are too many. Returns whether it was admitted."""
        busy = self._lap_s(True) > PATIENCE_S or self._lap_s(False) > PATIENCE_S
        if (busy and not is_loopback(address)) or not self._places.has_one_for(address, for_many=False):
            return False
        self._places.take(address)
        self._pages[page] = address
        self._by[False][shared_by(address)] += 1
        return True

    def let_out(self, page: Hashable) -> None:
        """Forget a page that has disconnected."""
        address = self._pages.pop(page, None)
        if address is not None:
            self._places.give_back(address)
            self._one_less(page in self._with_console, shared_by(address))
        self._answered_s.pop(page, None)
        self._with_console.discard(page)

    def answered(self, page: Hashable, console: bool, took_s: float) -> None:
        """The page's question has been answered, which took so much of the processor's time."""
        self._answered_s[page] = time.monotonic()
        self._cost_s[console] += WEIGHT * (min(took_s, DEAREST_S) - self._cost_s[console])

    def pause_s(self, page: Hashable, console: bool) -> float:
        """How long to delay this page's question, so that all pages together don't ask too often.

        `console` says whether it asks for the console as well. Whoever has many pages waits until all pages
        had their turn; others only until each address had one, so that one crowd doesn't hold them up.
        """
        by = shared_by(self._pages[page]) if page in self._pages else ""
        if by and console != (page in self._with_console):
            self._one_less(not console, by)
            self._by[console][by] += 1
            (self._with_console.add if console else self._with_console.discard)(page)
        fair_s = self._lap_s(console, self._by[console][by] * len(self._by[console]))
        since_s = time.monotonic() - self._answered_s.get(page, float("-inf"))
        return max(0.0, min(self._lap_s(console), fair_s) - since_s)

    def _one_less(self, console: bool, by: str) -> None:
        self._by[console][by] -= 1
        if not self._by[console][by]:
            del self._by[console][by]

    def _lap_s(self, console: bool, pages: int | None = None) -> float:
        """How long it takes to answer so many pages of this kind, or all, in their share of a core."""
        if pages is None:
            consoles = len(self._with_console)
            pages = consoles if console else len(self._pages) - consoles
        return pages * self._cost_s[console] / (CONSOLES_SHARE if console else PHONES_SHARE)


class Bucket:
    """How much one connection may say: some things at once, then one for each answer, and one now and then.

    So a page is never stopped, since it says one thing for each that it is told.
    """

    def __init__(self, most: int, each_s: float) -> None:
        """It begins with `most`, and gets another one after each `each_s`."""
        self._most = most
        self._each_s = each_s
        self._left = float(most)
        self._filled_s = time.monotonic()

    def take(self) -> bool:
        """Take one, if there is one."""
        if self._left < 1:
            now_s = time.monotonic()
            self._left = min(self._most, self._left + (now_s - self._filled_s) / self._each_s)
            self._filled_s = now_s
            if self._left < 1:
                return False
        self._left -= 1
        return True

    def give(self) -> None:
        """Allow one more: the connection was answered."""
        self._left = min(self._most, self._left + 1)

    def full_in_s(self) -> float:
        """How long until there is one again, or a little less."""
        return max(0.0, (1 - self._left) * self._each_s)


@lru_cache(maxsize=4096)
def shared_by(address: str) -> str:
    """Whose places these are: an IPv6 address is one of at least 2**64 that its owner has (RFC 6177)."""
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(found, ipaddress.IPv6Address) and not found.ipv4_mapped:
        return str(ipaddress.ip_network((found, 64), strict=False))
    return str(getattr(found, "ipv4_mapped", None) or found)
