"""Sends the public stream to Redis. It asks for what is new as a page does, and so never has a queue.

If Redis can't be reached, nothing is kept for it: the next answer that it gets is a whole one.
"""

from __future__ import annotations

import hashlib
import secrets
import time
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any, Final, Protocol

import gevent
import gevent.event
import msgspec

from exhibit.relay.connecting import Connecting
from exhibit.relay.messages import (
    DRAWN,
    LAST_WHOLE,
    MOST_DRAWN_BYTES,
    MOST_ENTRIES,
    SIGN_OF_LIFE_S,
    STREAM,
    WHOLE_EVERY_S,
    Sent,
)
from exhibit.relay.public import public
from exhibit.web.picture import Ask, Picture

EVERY_S: Final = 0.04
"""The shortest time between two answers: as long as the bridge gathers bytes for a piece."""


class Written(Protocol):
    """What the relay needs of Redis."""

    def append(self, stream: str, value: bytes, most: int, *, make: bool) -> str | None:
        """Append to a stream; None if there is no such stream, unless `make`."""
        ...

    def set(self, key: str, value: bytes) -> None:
        """Give a key this value."""
        ...


class Relay:
    """Sends what a picture shows."""

    def __init__(
        self,
        picture: Picture,
        connect: Callable[[], AbstractContextManager[Written]],
        faults: tuple[type[Exception], ...],
        complain: Callable[[Exception], None] = lambda _: None,
        arrived: Callable[[], None] = lambda: None,
    ) -> None:
        """`faults`: what a connection raises. `complain` gets the first of each outage; `arrived` is called
        once Redis takes answers, again after each outage.
        """
        self._picture = picture
        self._connecting = Connecting(connect, faults, complain)
        self._arrived = arrived
        self._run = secrets.token_hex(8)
        self._number = 0
        self._drawn = ""

    def run(self) -> None:
        """Send until the greenlet is killed."""
        self._connecting.use(self._send_until_lost)

    def _send_until_lost(self, redis: Written) -> None:
        """Begin with a whole answer, and go on with what is new until Redis no longer has the stream."""
        asked, whole_s, self._drawn = Ask(), float("-inf"), ""
        while True:
            began_s = time.monotonic()
            answer = self._picture.answer(asked)
            # Taken in the same moment, or it would be of another number.
            whole = self._picture.answer(Ask()) if began_s - whole_s >= WHOLE_EVERY_S else None
            if whole is None and answer.get("whole", True):
                whole = answer
            self._send_drawings(redis)
            self._number += 1
            place = redis.append(STREAM, self._sent(answer), MOST_ENTRIES, make=not asked.news)
            if place is None:
                return
            if whole is not None:
                redis.set(LAST_WHOLE, self._sent(whole, place))
                whole_s = began_s
            if not asked.news:
                self._connecting.works()
                self._arrived()
            seq = answer["picture"]["seq"] if "picture" in answer else 0
            asked = Ask(stream=answer["stream"], after=seq, news=answer["news"])
            gevent.sleep(max(0.0, EVERY_S - (time.monotonic() - began_s)))
            self._wait_for_newer(asked)

    def _wait_for_newer(self, asked: Ask) -> None:
        """Wait until there is something newer, but no longer than until the next sign of life is due."""
        came = gevent.event.Event()
        woken = came.set
        until_s = time.monotonic() + SIGN_OF_LIFE_S
        while not self._picture.has_newer(asked) and (remaining_s := until_s - time.monotonic()) > 0:
            came.clear()
            waiting = self._picture.waking.add(woken)
            came.wait(remaining_s)
            waiting.pop(woken, None)

    def _sent(self, answer: dict[str, Any], place: str = "") -> bytes:
        return msgspec.json.encode(
            Sent(run=self._run, number=self._number, answer=public(answer), drawn=self._drawn, place=place)
        )

    def _send_drawings(self, redis: Written) -> None:
        """Send the pictures of parts if there are others now. Their names follow from their contents."""
        shown: dict[str, str] = {}
        size_bytes = 0
        for name, content in ((n, c) for one in self._picture.drawn_now() for n, c in one.items()):
            size_bytes += len(content) if name not in shown else 0
            if size_bytes > MOST_DRAWN_BYTES:
                break
            shown[name] = content
        drawn = hashlib.sha256(" ".join(sorted(shown)).encode()).hexdigest()[:12] if shown else ""
        if drawn != self._drawn:
            redis.set(DRAWN, msgspec.json.encode(shown))
            self._drawn = drawn
