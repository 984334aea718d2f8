"""The real website, live and replayed, served in this process, and honest pages that look at it.

`troubles` are the exceptions that reached its log or its event loop.
"""

from __future__ import annotations

import json
import logging
import struct
import tempfile
import traceback
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, Final

import gevent
from gevent import socket
from gevent.event import AsyncResult

from exhibit.web.bounded_log import library_logger
from exhibit.web.website import serve_live, serve_replay
from tests.pages import made_facts

STARTS_WITHIN_S: Final = 60
ANSWERS_WITHIN_S: Final = 20
"""An honest page waits a second at most, or else for other work on a busy computer."""
TEXT: Final = 0x1
SOCKET: Final = "/socket.io/?EIO=4&transport=websocket"


class Served:
    """`ports`: of the live page and of the replay."""

    def __init__(self) -> None:
        self.troubles: list[str] = []
        folder = Path(tempfile.mkdtemp(prefix="fuzz-"))
        path = made_facts.write(folder / "recordings", made_facts.a_day())
        library_logger().addHandler(_Listener(self.troubles))
        self.ports = (
            _port(lambda ready: serve_live(path.parent, port=0, ready=ready)),
            _port(lambda ready: serve_replay(path, port=0, ready=ready, cache_folder=folder / "cache")),
        )
        gevent.get_hub().print_exception = self._unhandled  # each website has put its own log there

    def _unhandled(self, context: Any, kind: Any, value: Any, tb: Any) -> None:
        self.troubles.append("".join(traceback.format_exception(kind, value, tb)))

    def check(self, port: int) -> None:
        """An honest page is answered, and nothing has gone wrong."""
        with gevent.Timeout(ANSWERS_WITHIN_S):
            head = exchange(port, b"GET / HTTP/1.1\r\nHost: 127.0.0.1:%d\r\nConnection: close\r\n\r\n" % port)
            assert head.startswith(b"HTTP/1.1 200 "), f"an honest page got {head[:60]!r}"
            with Page(port) as page:
                answer = page.asks({"stream": "", "after": 0, "news": 0})
                assert answer["whole"], answer
        troubles, self.troubles[:] = list(self.troubles), []
        assert not troubles, "\n".join(troubles)


@cache
def served() -> Served:
    """The website of this process."""
    return Served()


def _port(serve: Callable[[Callable[[str], None]], None]) -> int:
    ready: AsyncResult = AsyncResult()
    gevent.spawn(serve, ready.set)
    address = str(ready.get(timeout=STARTS_WITHIN_S))
    return int(address.rstrip("/").rpartition(":")[2])


class _Listener(logging.Handler):
    """Keeps what was logged with a traceback."""

    def __init__(self, troubles: list[str]) -> None:
        super().__init__()
        self._troubles = troubles

    def emit(self, record: logging.LogRecord) -> None:
        words = self.format(record)
        if record.exc_info or "Traceback" in words:
            self._troubles.append(words)


def connect(port: int) -> socket.socket:
    """A connection to the website."""
    return socket.create_connection(("127.0.0.1", port), timeout=ANSWERS_WITHIN_S)


def exchange(port: int, sent: bytes, wait_s: float = ANSWERS_WITHIN_S) -> bytes:
    """Sends this, ends the sending, and returns what comes back until the other side closes."""
    came = b""
    connection = connect(port)
    try:
        connection.settimeout(wait_s)
        connection.sendall(sent)
        connection.shutdown(socket.SHUT_WR)
        while more := connection.recv(65536):
            came += more
    except OSError:
        pass  # it was closed early, or nothing came in time
    finally:
        connection.close()
    return came


def upgrade(port: int) -> bytes:
    """The request with which a page opens its websocket (RFC 6455 s.1.3)."""
    return (
        f"GET {SOCKET} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n"
        "Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\n"
        "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\n\r\n"
    ).encode()


def frame(payload: bytes, opcode: int = TEXT, *, first: int = 0x80, mask: bytes = bytes(4)) -> bytes:
    """One masked frame (RFC 6455 s.5.2); `first` has the bit of the last frame and the reserved ones."""
    size = len(payload)
    if size < 126:
        head = struct.pack("!BB", first | opcode, 0x80 | size)
    else:
        head = struct.pack("!BBH", first | opcode, 0x80 | 126, size)
    masked = bytes(byte ^ mask[place % 4] for place, byte in enumerate(payload)) if any(mask) else payload
    return head + mask + masked


class Page:
    """An honest page's connection."""

    def __init__(self, port: int) -> None:
        self._connection = connect(port)
        self._connection.sendall(upgrade(port))
        self._came = b""
        self._until(b"\r\n\r\n")
        self._say("40")
        self._next("40")

    def __enter__(self) -> Page:
        return self

    def __exit__(self, *_: object) -> None:
        self._connection.close()

    def asks(self, question: dict[str, Any]) -> dict[str, Any]:
        """Asks, and returns the answer."""
        self._say(f"421{json.dumps(['ask', question])}")
        answer = json.loads(self._next("431")[3:])[0]
        assert isinstance(answer, dict)
        return answer

    def _say(self, packet: str) -> None:
        self._connection.sendall(frame(packet.encode()))

    def _next(self, begins: str) -> str:
        while True:
            head = self._take(2)
            size = head[1]
            if size == 126:
                size = int.from_bytes(self._take(2), "big")
            elif size == 127:
                size = int.from_bytes(self._take(8), "big")
            packet = self._take(size).decode()
            if packet.startswith(begins):
                return packet

    def _until(self, end: bytes) -> bytes:
        while end not in self._came:
            self._more()
        head, _, self._came = self._came.partition(end)
        assert b" 101 " in head, f"an honest page was refused: {head[:60]!r}"
        return head

    def _take(self, count: int) -> bytes:
        while len(self._came) < count:
            self._more()
        taken, self._came = self._came[:count], self._came[count:]
        return taken

    def _more(self) -> None:
        more = self._connection.recv(65536)
        assert more, "an honest page's connection was closed"
        self._came += more
