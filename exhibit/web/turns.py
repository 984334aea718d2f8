"""Requests for files, and pages, take turns, address by address.

However many connections a stranger has, others wait for one of his, not for all of them.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from typing import Any, Generic, TypeVar

import gevent
import gevent.event

from exhibit.web.admission import shared_by

SHARE = 0.5
"""How much of a core requests may take while there are more of them than that."""
AT_A_TIME_S = 0.005
"""How long pages are served before others, and what they say, are looked at."""

Thing = TypeVar("Thing")


class ByAddress(Generic[Thing]):
    """What waits: the first of one address, then the first of the next one."""

    def __init__(self) -> None:
        self._waiting: dict[str, deque[Thing]] = {}
        """The address that is next comes first."""

    def __bool__(self) -> bool:
        return bool(self._waiting)

    def put(self, address: str, thing: Thing) -> None:
        """It comes after all others of its address."""
        if (waiting := self._waiting.get(address)) is None:
            waiting = self._waiting[address] = deque()
        waiting.append(thing)

    def take(self) -> Thing | None:
        """The next one; None if nothing waits."""
        address = next(iter(self._waiting), None)
        if address is None:
            return None
        waiting = self._waiting.pop(address)
        thing = waiting.popleft()
        if waiting:
            self._waiting[address] = waiting
        return thing


class Rota:
    """Calls pages, each once it is its turn; in between, the hub gets its own.

    There are two rows of them, for the screens that show the console and for phones, and they alternate. So a
    screen doesn't wait until hundreds of phones are answered.
    """

    def __init__(self) -> None:
        self._rows: tuple[ByAddress[Callable[[], None]], ...] = (ByAddress(), ByAddress())
        self._next: Any = None

    def add(self, address: str, call: Callable[[], None], *, first: bool) -> None:
        """Have this called by the hub once it is its turn. `first`: it stands in the shorter row."""
        self._rows[not first].put(address, call)
        if self._next is None:
            self._go_on()

    def _go_on(self) -> None:
        # A callback would run before the hub looks again at what has come.
        self._next = gevent.get_hub().loop.timer(0.0)
        self._next.start(self._give)

    def _give(self) -> None:
        self._next.stop()
        self._next.close()
        until_s = time.monotonic() + AT_A_TIME_S
        screens, phones = self._rows
        try:
            while screens or phones:
                for row in (screens, phones):
                    if (call := row.take()) is not None:
                        call()
                if time.monotonic() >= until_s:
                    break
        finally:
            self._next = None
            if screens or phones:
                self._go_on()


class Turns:
    """A WSGI application that lets another one answer a request at a time, in a share of a core."""

    def __init__(self, app: Callable[..., Any]) -> None:
        self._app = app
        self._free_s = 0.0
        self._waiting: ByAddress[gevent.event.Event] = ByAddress()
        self._giver: gevent.Greenlet[..., None] | None = None

    def __call__(self, environ: dict[str, Any], start_response: Callable[..., Any]) -> Any:
        """Answer a request once it is its turn."""
        self._wait(shared_by(environ["REMOTE_ADDR"]))
        began_s = time.monotonic()
        try:
            return self._app(environ, start_response)
        finally:
            now_s = time.monotonic()
            self._free_s = now_s + (now_s - began_s) * (1 / SHARE - 1)

    def _wait(self, address: str) -> None:
        if not self._waiting and time.monotonic() >= self._free_s:
            return
        turn = gevent.event.Event()
        self._waiting.put(address, turn)
        if self._giver is None or self._giver.ready():
            self._giver = gevent.spawn(self._give)
        turn.wait()

    def _give(self) -> None:
        while self._waiting:
            gevent.sleep(max(0.0, self._free_s - time.monotonic()))
            if (turn := self._waiting.take()) is not None:
                turn.set()
            gevent.sleep(0)  # the request is answered now
