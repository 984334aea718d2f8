"""One page's conversation over its websocket, in Engine.IO 4 and Socket.IO 5 as its library speaks them.

Flask-SocketIO receives the request and checks it; from there on, its own layers would cost several greenlets
for each page, and another for each question. Here a page has the one greenlet that its connection came with:
it sleeps until the page says something, until there is something newer to answer with, or until a limit is
reached. A page is never sent anything unasked, so no more than one answer is kept for it.
"""

from __future__ import annotations

import re
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import gevent
import msgspec
from gevent import socket

from exhibit.web import frames
from exhibit.web.admission import Bucket, Doors
from exhibit.web.frames import BadFrame, Frames, framed
from exhibit.web.phone import is_loopback
from exhibit.web.picture import Ask, Shown, limit_s
from exhibit.web.replaying import Control
from exhibit.web.waking import Waiting

PING_S: Final = 10
"""How long after a sign of life to ping a page, and how long to wait for its answer."""
JOIN_WITHIN_S: Final = 5.0
"""How long a connection may take until its page has joined."""
READ_WITHIN_S: Final = 10.0
"""How long a page may take to read what it is sent, beyond what fits into the buffers."""

AT_ONCE: Final = 20
ONE_MORE_S: Final = 0.2
"""A page says one thing for each that it is told. It may say so many besides at once, and one more after each
of these times; until then nothing that it says is taken apart, or even received."""

_EVENT = re.compile(rb"42(\d{0,15})(\[.*)", re.DOTALL)
_EVENTS = msgspec.json.Decoder(tuple[str, msgspec.Raw])
_ASKS = msgspec.json.Decoder(Ask)
_JOIN, _LEAVE, _PONG, _CLOSE = b"40", b"41", b"3", b"1"
_TOO_MANY = b'44{"message":"There are too many pages open just now."}'
_NOT_UNDERSTOOD = b'{"refused":"not understood"}'
_ONE_AT_A_TIME = b'{"refused":"one at a time"}'
_NOT_FROM_THERE = b'{"refused":"only on the computer itself"}'


@dataclass(frozen=True)
class Exhibit:
    """What all conversations are about."""

    picture: Shown
    doors: Doors
    control: Callable[[Control], None] | None
    """None if there is nothing to control."""
    besides: Callable[[], dict[str, Any]] = dict
    """What every answer says besides the picture."""


class Conversation:
    """A page's connection, from the websocket's beginning to its end."""

    def __init__(
        self, connection: socket.socket, address: str, about: Exhibit, joins: Callable[[], None]
    ) -> None:
        """`joins` is called when the page joins, which it has to do soon."""
        self.address = address
        self._socket = connection
        self._about = about
        self._joins = joins
        self._name = secrets.token_urlsafe(12)
        self._here = is_loopback(address)
        self._frames = Frames()
        self._bucket = Bucket(AT_ONCE, ONE_MORE_S)
        self._held_up = False
        """Whether it has said too much to be listened to just now."""
        self._joined = self._over = False
        self._ask: tuple[bytes, Ask] | None = None
        """The number of the question that is open, and the question."""
        self._not_before_s = self._answer_by_s = 0.0
        now_s = time.monotonic()
        self._join_by_s = now_s + JOIN_WITHIN_S
        self._ping_s = now_s + PING_S
        self._pinged = False
        self._waiting: Waiting = {}
        self._hub = gevent.get_hub()
        self._greenlet = gevent.getcurrent()
        self._asleep = False
        self._came = False
        self._incoming = self._hub.loop.io(connection.fileno(), 1)

    def hold(self) -> None:
        """Talk with the page until it is gone, or has to go."""
        self._socket.settimeout(READ_WITHIN_S)
        self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._incoming.start(self._has_come)
        try:
            self._say(b"0" + self._opening())
            while not self._over:
                self._read()
                self._answer()
                if not self._over:
                    self._sleep()
        except BadFrame as bad:
            self._socket.sendall(frames.closing(bad.code))
        finally:
            self._incoming.stop()
            self._incoming.close()
            self._wait_no_more()
            if self._joined:
                self._about.doors.let_out(self)

    def _opening(self) -> bytes:
        return msgspec.json.encode(
            {
                "sid": self._name,
                "upgrades": [],
                "pingInterval": PING_S * 1000,
                "pingTimeout": PING_S * 1000,
                "maxPayload": frames.LONGEST_MESSAGE_BYTES,
            }
        )

    # -- what the page says -----------------------------------------------------------------------

    def _read(self) -> None:
        if self._held_up and not self._take_frames():
            return
        if not self._came:
            return
        self._came = False
        received = self._socket.recv(frames.AT_ONCE_BYTES)
        if not received:
            self._over = True
            return
        self._frames.feed(received)
        self._incoming.start(self._has_come)
        self._take_frames()

    def _take_frames(self) -> bool:
        """Take what it may say just now; False if that is less than was received."""
        while not self._over:
            if self._frames.is_empty:
                return True
            self._held_up = not self._bucket.take()
            if self._held_up:
                return False
            frame = self._frames.take()
            if frame is None:  # it came in pieces, each of which cost something
                return True
            self._take_frame(*frame)
        return False

    def _take_frame(self, kind: int, payload: bytes) -> None:
        if kind == frames.TEXT:
            self._take(payload)
        elif kind == frames.PING:
            self._say(payload, frames.PONG)
        elif kind == frames.CLOSE:
            self._say(payload[:2], frames.CLOSE)
            self._over = True

    def _take(self, said: bytes) -> None:
        kind = said[:2]
        if kind == b"42" and self._joined:
            self._take_event(said)
        elif said == _PONG:
            if self._pinged:
                self._pinged = False
                self._ping_s = time.monotonic() + PING_S
        elif kind == _JOIN and not self._joined and not said.startswith(b"40/"):
            self._join()
        elif said == _CLOSE or kind == _LEAVE:
            self._over = True
        else:
            raise BadFrame(frames.NOT_UNDERSTOOD)

    def _join(self) -> None:
        if self._about.doors.let_in(self, self.address):
            self._joined = True
            self._joins()
            self._say(b'40{"sid":"%s"}' % self._name.encode())
        else:
            self._say(_TOO_MANY)
            raise BadFrame(frames.TRY_LATER)

    def _take_event(self, said: bytes) -> None:
        event = _EVENT.fullmatch(said)
        try:
            if event is None:
                raise BadFrame(frames.NOT_UNDERSTOOD)
            name, content = _EVENTS.decode(event[2])
        except (msgspec.DecodeError, RecursionError) as error:
            raise BadFrame(frames.NOT_UNDERSTOOD) from error
        if name == "ask":
            self._take_question(event[1], content)
        elif name == "control" and self._about.control is not None:
            self._reply(
                event[1], _controlled(self._about.control, content) if self._here else _NOT_FROM_THERE
            )

    def _take_question(self, number: bytes, content: msgspec.Raw) -> None:
        try:
            ask = _ASKS.decode(content)
        except (msgspec.DecodeError, RecursionError):
            self._reply(number, _NOT_UNDERSTOOD)
            return
        if self._ask is not None:
            self._reply(number, _ONE_AT_A_TIME)
            return
        self._ask = number, ask
        self._not_before_s = time.monotonic() + self._about.doors.pause_s(self, ask.console)
        self._answer_by_s = self._not_before_s + limit_s(ask)

    # -- what it is told --------------------------------------------------------------------------

    def _answer(self) -> None:
        if self._ask is None or self._over:
            return
        number, ask = self._ask
        now_s = time.monotonic()
        if now_s < self._not_before_s:
            return
        picture = self._about.picture
        if now_s < self._answer_by_s and not picture.has_newer(ask):
            if not self._waiting:
                self._waiting = picture.waking.add(self._has_newer, in_a_group=not ask.console)
            return
        began_s = time.thread_time()
        self._wait_no_more()
        self._ask = None
        self._reply(number, picture.encoded_answer(ask, self._about.besides(), controls=self._here))
        self._bucket.give()
        self._about.doors.answered(self, ask.console, time.thread_time() - began_s)

    def _reply(self, number: bytes, content: bytes) -> None:
        if number:
            self._say(b"43%b[%b]" % (number, content))

    def _say(self, message: bytes, kind: int = frames.TEXT) -> None:
        frame = framed(message, kind)
        sent = self._socket.send(frame)
        if sent < len(frame):
            self._socket.sendall(frame[sent:])

    # -- sleeping and waking ----------------------------------------------------------------------

    def _sleep(self) -> None:
        now_s = time.monotonic()
        if not self._joined and now_s >= self._join_by_s:
            raise BadFrame(frames.WENT_AWAY)
        if now_s >= self._ping_s:
            if self._pinged:
                raise BadFrame(frames.WENT_AWAY)
            self._pinged = True
            self._bucket.give()
            self._ping_s = now_s + PING_S
            self._say(b"2")
        if self._came and not self._held_up:
            return
        until_s = self._ping_s if self._joined else min(self._ping_s, self._join_by_s)
        if self._ask is not None:
            due_s = self._not_before_s if now_s < self._not_before_s else self._answer_by_s
            until_s = min(until_s, due_s)
        if self._held_up:
            until_s = min(until_s, now_s + self._bucket.full_in_s())
        timer = self._hub.loop.timer(max(0.0, until_s - now_s))
        timer.start(self._wake)
        self._asleep = True
        try:
            self._hub.switch()
        finally:
            self._asleep = False
            timer.stop()
            timer.close()

    def _wake(self) -> None:
        """Called by the hub."""
        if self._asleep:
            self._asleep = False
            self._greenlet.switch()

    def _has_come(self) -> None:
        """Called by the hub when the page has said something, or is gone."""
        self._incoming.stop()
        self._came = True
        self._wake()

    def _has_newer(self) -> None:
        """Called by the hub when there may be something newer."""
        self._waiting = {}
        self._wake()

    def _wait_no_more(self) -> None:
        self._waiting.pop(self._has_newer, None)
        self._waiting = {}


def _controlled(control: Callable[[Control], None], content: msgspec.Raw) -> bytes:
    try:
        request = msgspec.json.decode(content, type=Control)
    except (msgspec.DecodeError, RecursionError):
        return _NOT_UNDERSTOOD
    control(request)
    return b'{"done":true}'
