"""Requests for files take turns, address by address, so that all together cost at most a share of a core.

However many connections a stranger asks on, others wait for one of his requests, not for all of them.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable
from typing import Any

import gevent
import gevent.event

from exhibit.web.admission import shared_by
from exhibit.web.bounded_connections import PAGES_OWN

SHARE = 0.5
"""How much of a core requests may take while there are more of them than that."""

BEGINNING_S = 0.0005
"""What it takes to begin a page's own connection."""


class Turns:
    """A WSGI application that lets another one answer a request at a time."""

    def __init__(self, app: Callable[..., Any]) -> None:
        self._app = app
        self._free_s = 0.0
        self._waiting: dict[str, deque[gevent.event.Event]] = {}
        """For each address those of its requests that wait; the address that is next comes first."""
        self._giver: gevent.Greenlet[..., None] | None = None

    def __call__(self, environ: dict[str, Any], start_response: Callable[..., Any]) -> Any:
        """Answer a request once it is its turn. That of a page's own connection is over once it begins."""
        self._wait(shared_by(environ["REMOTE_ADDR"]))
        if environ["PATH_INFO"].startswith(PAGES_OWN):
            self._free_s = time.monotonic() + BEGINNING_S / SHARE
            return self._app(environ, start_response)
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
        self._waiting.setdefault(address, deque()).append(turn)
        if self._giver is None or self._giver.ready():
            self._giver = gevent.spawn(self._give)
        turn.wait()

    def _give(self) -> None:
        while self._waiting:
            gevent.sleep(max(0.0, self._free_s - time.monotonic()))
            address = next(iter(self._waiting))
            turns = self._waiting.pop(address)
            turns.popleft().set()
            if turns:
                self._waiting[address] = turns
            gevent.sleep(0)  # the request is answered now
