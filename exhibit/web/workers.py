"""Several processes that serve one page at one port. A page that loses one goes on at another.

The kernel gives each new connection to one of them (SO_REUSEPORT), so each has about the same share. Each
counts connections for itself: with three workers up to three times as many are let in, from one address too.
"""

from __future__ import annotations

import signal
import socket
import threading
import time
from collections.abc import Callable
from contextlib import ExitStack
from functools import partial
from typing import Final, Protocol

from exhibit.output.service_manager import ServiceManager
from exhibit.web.website import listen

ENDS_WITHIN_S: Final = 5.0
LOOK_EVERY_S: Final = 0.2
AGAIN_AFTER_S: Final = 0.5
AGAIN_AFTER_AT_MOST_S: Final = 60.0
LASTED_S: Final = 5.0
"""A worker that ended sooner is started ever more seldom."""


class Started(Protocol):
    """A process that was started."""

    def first_line(self, meanwhile: Callable[[], None]) -> str:
        """The line that it prints when it serves; empty if it ends first. `meanwhile` is called all along."""
        ...

    def status(self) -> int | None:
        """Its exit status; None while it runs."""
        ...

    def status_when_ended(self) -> int | None:
        """The same after waiting a little for its end."""
        ...

    def ask_to_end(self) -> None:
        """Ask it to end in good order."""
        ...

    def end(self, within_s: float) -> None:
        """The same, and make sure that it has ended."""
        ...


class _Worker:
    """One of the processes, which is started again whenever it has ended."""

    def __init__(self, start: Callable[[], Started]) -> None:
        self._new = start
        self._again_after_s = AGAIN_AFTER_S
        self._start()

    def _start(self) -> None:
        self.child = self._new()
        self._began_s = time.monotonic()
        self._ended_s: float | None = None

    def look(self) -> None:
        """Call this again and again."""
        if self.child.status() is None:
            return
        now_s = time.monotonic()
        if self._ended_s is None:
            self._ended_s = now_s
            lasted = now_s - self._began_s >= LASTED_S
            longer_s = min(2 * self._again_after_s, AGAIN_AFTER_AT_MOST_S)
            self._again_after_s = AGAIN_AFTER_S if lasted else longer_s
        if now_s - self._ended_s >= self._again_after_s:
            self._start()


def serve_by_workers(
    count: int, start: Callable[[int], Started], host: str, port: int, ready: Callable[[str], None]
) -> int:
    """Serve the page with so many processes until SIGTERM or SIGINT. Returns the exit status.

    `start` starts a process that serves it at this port with `shares_port`. `ready` gets the line that the
    last of them prints when it serves. Raises SetUpFault if the port isn't free.
    """
    stop = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stop.set())
    with ExitStack() as held:
        port = _hold(host, port, held)
        workers = [_Worker(partial(start, port)) for _ in range(count)]
        try:
            line = ""
            for child in [worker.child for worker in workers]:
                line = child.first_line(partial(_end_if, stop, child))
                if not line:
                    return 0 if stop.is_set() else child.status_when_ended() or 1
            service_manager = ServiceManager()
            service_manager.ready()
            ready(line)
            while not stop.wait(LOOK_EVERY_S):
                service_manager.beat()
                for worker in workers:
                    worker.look()
        finally:
            for worker in workers:
                worker.child.ask_to_end()
            for worker in workers:
                worker.child.end(ENDS_WITHIN_S)
    return 0


def _end_if(stop: threading.Event, child: Started) -> None:
    if stop.is_set():
        child.ask_to_end()


def _hold(host: str, port: int, held: ExitStack) -> int:
    """Hold this port, or any free one if it is 0, for processes that share it, and for no other program."""
    # Where another program has it, this says so; a socket that shares it would not.
    alone = listen(host, port)
    place = alone.getsockname()
    alone.close()
    holder = held.enter_context(socket.socket(alone.family, socket.SOCK_STREAM))
    holder.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    holder.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
    holder.bind(place)
    return int(place[1])
