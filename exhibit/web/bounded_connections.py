"""Connections with bounds: how many there are, how long a request takes, how large it is, and how many come.

A phone that leaves the museum's network seldom closes its connection, and a stranger can open connections and
send nothing. gevent would wait for both as long as this process lives, until no visitor could connect. A
connection that there is no room for is told so at once, instead of waiting in a queue until its time is over.
"""

from __future__ import annotations

import contextlib
import errno
import ipaddress
import resource
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http import HTTPStatus
from socket import socket as PlainSocket  # noqa: N812 (gevent's has the same name)
from typing import Any

import gevent
from gevent import pywsgi, socket, ssl
from gevent.pool import Pool

from exhibit.web.admission import Bucket, Place, Room
from exhibit.web.headers import answer_head

REQUEST_WITHIN_S = 5.0
"""For a whole request. When an idle connection was closed, browsers open a new one."""
ANSWER_WITHIN_S = 30.0
HEADERS_BYTES = 16 * 1024
"""The most that a request's headers can have: what pywsgi itself allows is 6.5 MB."""
READ_AHEAD_BYTES = 2048
AT_ONCE = 100
ONE_MORE_S = 0.1
"""How many requests a connection can make at once, and how long until it can make another: a page has a
hundred files, and a browser fetches them on six connections."""
OTHER_FILES = 200
"""The most files that this process has open besides its connections: recordings, libraries and so on."""
WHERE_UNBOUNDED = 10_000
"""How many files to open at most where the system sets no limit."""
ACCEPTED_AT_ONCE = 20
REFUSED_AT_ONCE = 50
"""How many connections are held for a moment until they have read that there is no room for them."""
REFUSED_WITHIN_S = 1.0
UNREAD_BYTES = 256 * 1024
"""How much of a request that is refused is read and thrown away, so that the refusal arrives."""

PAGES_OWN = "/socket.io/"
CONNECTION = "exhibit.connection"
"""Where a request says which connection it came on."""


_NO_ROOM = (
    b"There is no room for another visitor just now: too many pages are open, or too many come from your\n"
    b"address. Please try again in a minute.\n"
)
_REFUSAL = (
    answer_head(
        HTTPStatus.SERVICE_UNAVAILABLE,
        [
            ("Content-Type", "text/plain; charset=utf-8"),
            ("Content-Length", f"{len(_NO_ROOM)}"),
            ("Retry-After", "60"),
            ("Connection", "close"),
        ],
    )
    + _NO_ROOM
)


class BoundedHandler(pywsgi.WSGIHandler):
    """Closes connections that are too slow. Refuses requests with a body, which no visitor's page sends."""

    server: BoundedServer
    longest_body_bytes = 0
    """A page that people send something from has a handler of its own."""
    # What gevent's sockets say when the other side doesn't read; pywsgi would log each of these in full.
    ignored_socket_errors: Any = (*pywsgi.WSGIHandler.ignored_socket_errors, "timed out")

    def __init__(self, connection: Any, address: Any, server: BoundedServer, place: Place) -> None:
        connection.settimeout(ANSWER_WITHIN_S)
        # Headers and what follows them go out apart, and the second would wait until the first is confirmed:
        # 40 ms with each answer of a connection that is kept, half a second with a page of 80 files.
        with contextlib.suppress(OSError):  # it may be gone
            connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        reading = {"rfile": connection.makefile("rb", READ_AHEAD_BYTES)}
        super().__init__(connection, address, server, **reading)
        self._bucket = Bucket(AT_ONCE, ONE_MORE_S)
        self.place = place
        self.handed_over = False

    def hand_over(self) -> PlainSocket:
        """The connection for whoever takes it over, and its place with it. The handler says nothing more."""
        self.handed_over = True
        return PlainSocket(fileno=self.socket.detach())

    def read_requestline(self) -> Any:
        """See pywsgi."""
        while not self._bucket.take():
            gevent.sleep(self._bucket.full_in_s())
        with _within(REQUEST_WITHIN_S):
            return super().read_requestline()

    def read_request(self, raw_requestline: str) -> Any:
        """See pywsgi. Raises ValueError for a request that it refuses."""
        try:
            with _within(REQUEST_WITHIN_S):
                understood = super().read_request(raw_requestline)
        except ValueError:
            raise
        except Exception as error:  # pywsgi would log each of these in full, without limit
            raise ValueError(f"{error}") from error
        if (self.content_length or 0) > self.longest_body_bytes or self.headers.get("transfer-encoding"):
            raise ValueError("a request with too long a body")
        return understood

    def MessageClass(self, stream: Any, *more: Any) -> Any:  # noqa: N802 (pywsgi's name)
        """See pywsgi."""
        bounded: Any = _AtMost(stream, HEADERS_BYTES)
        return super().MessageClass(bounded, *more)

    def get_environ(self) -> Any:
        """See pywsgi. Visitors that come through the proxy have the address that it says they have."""
        environ = super().get_environ()
        if self.client_address[0] == self.server.proxy:
            environ["REMOTE_ADDR"] = _last_address(environ.get("HTTP_X_FORWARDED_FOR", ""))
        environ[CONNECTION] = self
        return environ

    def handle_one_response(self) -> None:
        """See pywsgi."""
        with _within(ANSWER_WITHIN_S):
            super().handle_one_response()


class BoundedServer(pywsgi.WSGIServer):
    """Accepts as many connections as there is room for, and tells the others."""

    max_accept = ACCEPTED_AT_ONCE

    def __init__(
        self,
        listener: socket.socket,
        app: Callable[..., Any],
        log: Any,
        room: Room,
        handler: type[BoundedHandler],
        proxy: str = "",
        tls: ssl.SSLContext | None = None,
    ) -> None:
        """`proxy` is the address of the one that says which addresses its visitors have; "" if none does."""
        more: dict[str, Any] = {"handler_class": handler} | ({} if tls is None else {"ssl_context": tls})
        self._handler = handler
        self.room = room
        self.proxy = proxy
        self._refused = 0
        super().__init__(listener, app, log=None, error_log=log, spawn=Pool(None), **more)

    def do_handle(self, connection: socket.socket, address: tuple[str, int]) -> None:
        """See gevent; called by the hub."""
        if self.room.take(address[0], for_many=address[0] == self.proxy):
            super().do_handle(connection, address)
        elif self._refused < REFUSED_AT_ONCE:
            self._refused += 1
            gevent.spawn_raw(self._refuse, connection)
        else:
            connection.close()

    def handle(self, connection: Any, address: Any) -> None:
        """See pywsgi."""
        place = Place(self.room, address[0])
        handler = self._handler(connection, address, self, place)
        try:
            handler.handle()
        finally:
            handler.environ = None  # which names the handler, so that both would stay for a while
            if not handler.handed_over:
                place.give_back()

    def wrap_socket_and_handle(self, connection: socket.socket, address: Any) -> None:
        """See gevent: where there is TLS, it comes before `handle`, and has to be agreed on soon."""
        server: Any = self
        wrapped = None
        try:
            with contextlib.suppress(OSError), _within(REQUEST_WITHIN_S):  # ssl's errors are such, too
                wrapped = server.wrap_socket(connection, **server.ssl_args)
        finally:
            if wrapped is None:
                self.room.give_back(address[0], joined=False)
        if wrapped is not None:
            try:
                self.handle(wrapped, address)
            finally:
                wrapped.close()

    def _refuse(self, connection: socket.socket) -> None:
        try:
            with contextlib.suppress(OSError):
                say_and_read_on(connection, _REFUSAL)
        finally:
            self._refused -= 1
            connection.close()


def say_and_read_on(connection: Any, answer: bytes) -> None:
    """Say this last thing, and wait a moment until it was read. Raises OSError.

    If the connection were closed before the whole request was read, the answer would be lost (RFC 9112, 9.6).
    """
    with _within(REFUSED_WITHIN_S):
        connection.sendall(answer)
        connection.shutdown(socket.SHUT_WR)
        left_bytes = UNREAD_BYTES
        while left_bytes > 0 and (came := connection.recv(4096)):
            left_bytes -= len(came)


class _AtMost:
    """So many bytes of a stream, line by line."""

    def __init__(self, stream: Any, most_bytes: int) -> None:
        self._stream = stream
        self._left_bytes = most_bytes

    def readline(self, limit: int) -> bytes:
        line: bytes = self._stream.readline(min(limit, self._left_bytes + 1))
        self._left_bytes -= len(line)
        if self._left_bytes < 0:
            raise ValueError("a request with too many headers")
        return line


def most_connections() -> int:
    """How many connections this process can have. Raises its limit of open files as far as it may."""
    allowed, at_most = resource.getrlimit(resource.RLIMIT_NOFILE)
    if at_most == resource.RLIM_INFINITY:
        at_most = max(allowed, WHERE_UNBOUNDED)
    resource.setrlimit(resource.RLIMIT_NOFILE, (at_most, at_most))
    return max(1, at_most - OTHER_FILES)


def _last_address(forwarded: str) -> str:
    """The address that the proxy itself saw; what comes before it, the visitor may have written."""
    last = forwarded.rpartition(",")[2].strip()
    try:
        return str(ipaddress.ip_address(last))
    except ValueError:
        return ""


@contextmanager
def _within(limit_s: float) -> Iterator[None]:
    # gevent treats this as if the other side had gone, and logs nothing.
    with gevent.Timeout(limit_s, OSError(errno.EPIPE, "the other side was too slow")):
        yield
