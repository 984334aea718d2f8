"""A cable between a page and its web process that can be pulled: then nothing comes through."""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Callable, Iterator


class Cable:
    """Carries bytes between a port of its own and `port`."""

    def __init__(self, port: int) -> None:
        self.far_port = port
        self._there = threading.Event()
        self._there.set()
        self._over = False
        self._ends: list[socket.socket] = []
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listener.getsockname()[1])
        self._threads: list[threading.Thread] = []
        self._start(self._accept)

    @property
    def address(self) -> str:
        """Where the page is to be opened."""
        return f"http://127.0.0.1:{self.port}/"

    def pull(self) -> None:
        """From now on nothing comes through, either way."""
        self._there.clear()

    def plug_in(self) -> None:
        """The network is there again; what hung in the old connections is lost with them."""
        for end in self._ends:
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
        self._ends.clear()
        self._there.set()

    def end(self) -> None:
        """No more of it."""
        self._over = True
        self.plug_in()
        with contextlib.suppress(OSError):
            self._listener.shutdown(socket.SHUT_RDWR)
        for thread in self._threads:
            thread.join(10)
        self._listener.close()

    def _start(self, work: Callable[..., None], *what: socket.socket) -> threading.Thread:
        thread = threading.Thread(target=work, args=what, daemon=True)
        self._threads.append(thread)
        thread.start()
        return thread

    def _accept(self) -> None:
        while not self._over:
            try:
                near, _ = self._listener.accept()
            except OSError:
                return
            self._start(self._join, near)

    def _join(self, near: socket.socket) -> None:
        self._there.wait()
        with near, contextlib.suppress(OSError):
            far = socket.create_connection(("127.0.0.1", self.far_port))
            with far:
                self._ends += [near, far]
                back = self._start(self._carry, far, near)
                self._carry(near, far)
                back.join()

    def _carry(self, source: socket.socket, target: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while data := source.recv(65536):
                self._there.wait()
                target.sendall(data)
        for end in (source, target):
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)


@contextlib.contextmanager
def cable(port: int) -> Iterator[Cable]:
    """A cable to the web process at `port`."""
    made = Cable(port)
    try:
        yield made
    finally:
        made.end()
