"""Reads the public stream from Redis into a picture, and begins again wherever its place in it is lost.

What already stands in the stream when it begins is no sign that the museum is there: only what comes while it
waits.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Final, Protocol

import gevent
import msgspec

from exhibit.relay.connecting import Connecting
from exhibit.relay.hosted_picture import LOOK_EVERY_S, HostedPicture
from exhibit.relay.messages import DRAWN, LAST_WHOLE, SIGN_OF_LIFE_S, STREAM, Sent

AT_ONCE: Final = 50
WAIT_MS: Final = 1000
ANEW_AFTER_S: Final = 3 * SIGN_OF_LIFE_S
"""After so much silence the stream may be another one, whose entries have lower ids."""


class Readable(Protocol):
    """What a worker needs of Redis."""

    def get(self, key: str) -> bytes | None:
        """The key's value."""
        ...

    def read(self, stream: str, after: str, most: int, wait_ms: int) -> list[tuple[str, bytes]]:
        """The stream's entries after this id."""
        ...


class Receiver:
    """Follows the stream."""

    def __init__(
        self,
        picture: HostedPicture,
        connect: Callable[[], AbstractContextManager[Readable]],
        faults: tuple[type[Exception], ...],
        complain: Callable[[Exception], None] = lambda _: None,
    ) -> None:
        """`faults`: what a connection raises. `complain` gets the first of each outage."""
        self._picture = picture
        # What comes may be of another version, or not the relay's at all.
        not_ours = (msgspec.MsgspecError, KeyError, TypeError, ValueError, AttributeError)
        self._connecting = Connecting(connect, (*faults, *not_ours), complain)
        self._drawn = ""

    def run(self) -> None:
        """Follow until the greenlet is killed."""
        self._connecting.use(self._follow)

    def look(self) -> None:
        """Have the picture notice that nothing comes, until the greenlet is killed."""
        while True:
            self._picture.look()
            gevent.sleep(LOOK_EVERY_S)

    def _follow(self, redis: Readable) -> None:
        """Begin with the whole answer, and go on from its place until something is missing."""
        encoded = redis.get(LAST_WHOLE)
        if encoded is None:
            return
        whole = msgspec.json.decode(encoded, type=Sent)
        self._take(redis, whole)
        place, waits, silent_reads = whole.place, False, 0
        while silent_reads * WAIT_MS < ANEW_AFTER_S * 1000:
            entries = redis.read(STREAM, place, AT_ONCE, WAIT_MS if waits else 0)
            silent_reads = 0 if entries or not waits else silent_reads + 1
            for place, encoded in entries:  # noqa: B007 - it is where the next reading begins
                if not self._take(redis, msgspec.json.decode(encoded, type=Sent)):
                    return
            if entries and waits:
                self._connecting.works()
                self._picture.hear()
            waits = waits or not entries

    def _take(self, redis: Readable, sent: Sent) -> bool:
        if sent.drawn != self._drawn and not self._picture.has(sent):
            drawn = redis.get(DRAWN) if sent.drawn else None
            self._picture.drawn = msgspec.json.decode(drawn, type=dict[str, str]) if drawn else {}
            self._drawn = sent.drawn
        return self._picture.take(sent)
