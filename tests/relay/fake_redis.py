"""Redis as far as the relay and the workers use it, in memory, and able to lose everything."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import gevent
import gevent.event

FAULTS = (OSError,)


class FakeRedis:
    """One server."""

    def __init__(self) -> None:
        self.got: list[bytes] = []
        """Every value that it was ever given."""
        self.connections = 0
        self.down = False
        self._next = 0
        self._changed = gevent.event.Event()
        self.lose_all()

    def lose_all(self) -> None:
        """As after a restart without its file, or when somebody deletes everything."""
        self.keys: dict[str, bytes] = {}
        self.stream: list[tuple[str, bytes]] = []
        self.has_stream = False

    def begin_again_at(self, number: int) -> None:
        """From now on the entries' ids count from here."""
        self._next = number

    @contextmanager
    def connected(self) -> Iterator[FakeRedis]:
        """A connection."""
        self._check()
        self.connections += 1
        yield self

    def append(self, stream: str, value: bytes, most: int, *, make: bool) -> str | None:
        self._check()
        self.got.append(value)
        if not (self.has_stream or make):
            return None
        self.has_stream = True
        self._next += 1
        place = f"{self._next:09}"
        self.stream = [*self.stream, (place, value)][-most:]
        event, self._changed = self._changed, gevent.event.Event()
        event.set()
        return place

    def set(self, key: str, value: bytes) -> None:
        self._check()
        self.got.append(value)
        self.keys[key] = value

    def get(self, key: str) -> bytes | None:
        self._check()
        return self.keys.get(key)

    def read(self, stream: str, after: str, most: int, wait_ms: int) -> list[tuple[str, bytes]]:
        self._check()
        found = [one for one in self.stream if one[0] > after][:most]
        if not found and wait_ms:
            self._changed.wait(wait_ms / 1000)
            self._check()
            found = [one for one in self.stream if one[0] > after][:most]
        return found

    def _check(self) -> None:
        if self.down:
            raise ConnectionError("Redis is down")
