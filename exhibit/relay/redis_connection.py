"""One TLS connection to Redis, under gevent. The only module that imports redis.

It sends commands with redis-py's own connection, which encodes them, reads the replies and signs in, but gets
gevent's socket and TLS in place of Python's. So a greenlet waits and the page goes on, in one thread and with
nothing patched; only a host's name is looked up in a thread of gevent's own. Its client and pool aren't used:
their locks are those of native threads, and a greenlet that waits for such a lock would stop all others
for good. So one greenlet alone uses a connection.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Final

from gevent import socket, ssl
from redis.connection import Connection
from redis.exceptions import RedisError

from exhibit.relay.access import Access

ANSWERS_WITHIN_S: Final = 5.0
FAULTS: Final = (OSError, RedisError)
"""All that a connection raises."""


class _OverTls(Connection):
    """redis-py's connection with gevent's TLS socket."""

    def __init__(self, access: Access) -> None:
        self._access = access
        super().__init__(
            host=access.host,
            port=access.port,
            username=access.name,
            password=access.password,
            socket_timeout=ANSWERS_WITHIN_S,
            protocol=2,
            # It would tell Redis about itself with a command that neither of the two users may send.
            driver_info=None,
        )

    def _connect(self) -> Any:
        # Python's create_default_context would make Python's own sockets, which stop all greenlets.
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
        context.minimum_version = ssl.TLSVersion.TLSv1_2
        if self._access.ca is None:
            context.load_default_certs()
        else:
            context.load_verify_locations(self._access.ca)
        bare = socket.create_connection((self._access.host, self._access.port), timeout=ANSWERS_WITHIN_S)
        try:
            return context.wrap_socket(bare, server_hostname=self._access.host)
        except BaseException:
            bare.close()
            raise


class Redis:
    """The few commands that are needed."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def append(self, stream: str, value: bytes, most: int, *, make: bool) -> str | None:
        """Append to a stream of about `most` entries. Returns the entry's id.

        Unless `make`, returns None if there is no such stream: Redis has lost it, or somebody deleted it.
        """
        may_make = () if make else ("NOMKSTREAM",)
        reply = self._do("XADD", stream, *may_make, "MAXLEN", "~", most, "*", "answer", value)
        return None if reply is None else str(reply, "ascii")

    def set(self, key: str, value: bytes) -> None:
        """Give a key this value."""
        self._do("SET", key, value)

    def get(self, key: str) -> bytes | None:
        """The key's value."""
        reply: bytes | None = self._do("GET", key)
        return reply

    def read(self, stream: str, after: str, most: int, wait_ms: int) -> list[tuple[str, bytes]]:
        """The stream's entries after this id, at most `most`; waits for one if `wait_ms` isn't 0."""
        block = ("BLOCK", wait_ms) if wait_ms else ()
        reply = self._do("XREAD", "COUNT", most, *block, "STREAMS", stream, after)
        return [(str(place, "ascii"), fields[1]) for place, fields in reply[0][1]] if reply else []

    def _do(self, *command: str | int | bytes) -> Any:
        self._connection.send_command(*command)
        return self._connection.read_response()


@contextmanager
def connected(access: Access) -> Iterator[Redis]:
    """A connection, signed in. Raises one of FAULTS."""
    connection = _OverTls(access)
    try:
        connection.connect()
        yield Redis(connection)
    finally:
        connection.disconnect()
