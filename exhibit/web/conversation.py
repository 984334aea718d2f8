"""One page's conversation over its websocket, in Engine.IO 4 and Socket.IO 5 as its library speaks them.

Flask-SocketIO receives the request and checks it; from there on, its own layers would cost several greenlets
for each page, and another for each question. Here a page has no greenlet at all. It gets a turn when it has
said something, when there is something newer to answer with, and when a limit is reached; nothing in a turn
waits. A page is never sent anything unasked, so no more than one answer is kept for it.
"""

from __future__ import annotations

import re
import secrets
import socket
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any, Final

import gevent
import msgspec

from exhibit.web import frames
from exhibit.web.admission import Bucket, Doors, Place, shared_by
from exhibit.web.bounded_log import library_logger
from exhibit.web.frames import BadFrame, Frames, framed
from exhibit.web.phone import is_loopback
from exhibit.web.picture import Ask, Shown, limit_s
from exhibit.web.replaying import Control
from exhibit.web.turns import Rota
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

READABLE, WRITABLE = 1, 2  # EV_READ and EV_WRITE (libev)

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
    rota: Rota = field(default_factory=Rota)
    """Whose turn it is."""


class Conversation:
    """A page's connection, from the websocket's beginning to its end."""

    def __init__(self, connection: socket.socket, address: str, about: Exhibit, place: Place) -> None:
        """`connection` doesn't block. The conversation closes it in the end, and gives its `place` back."""
        self._connection = connection
        self._address = address
        self._by = shared_by(address)
        self._about = about
        self._place = place
        self._name = secrets.token_urlsafe(12)
        self._here = is_loopback(address)
        self._frames = Frames()
        self._bucket = Bucket(AT_ONCE, ONE_MORE_S)
        self._held_up = False
        """Whether it has said too much to be listened to just now."""
        self._joined = self._over = self._ended = False
        self._ask: tuple[bytes, Ask] | None = None
        """The number of the question that is open, and the question."""
        self._console = False
        """Whether its last question was for the console too."""
        self._not_before_s = self._answer_by_s = 0.0
        now_s = time.monotonic()
        self._join_by_s = now_s + JOIN_WITHIN_S
        self._ping_s = now_s + PING_S
        self._pinged = False
        self._unsent = b""
        self._read_by_s = 0.0
        self._waiting: Waiting = {}
        self._loop = gevent.get_hub().loop
        self._came = self._called = False
        self._incoming = self._loop.io(connection.fileno(), READABLE)
        self._outgoing = self._loop.io(connection.fileno(), WRITABLE)
        self._alarm = self._loop.timer(0.0)

    def begin(self) -> None:
        """Talk with the page, in turns, until it is gone or has to go."""
        self._connection.setblocking(False)
        self._incoming.start(self._has_come)
        self._keep(b"0" + self._opening())
        self._call()

    def _call(self) -> None:
        """Ask for a turn."""
        if not self._called:
            self._called = True
            self._about.rota.add(self._by, self._serve, first=self._console)

    def _serve(self) -> None:
        """Its turn has come."""
        self._called = False
        if self._ended:
            return
        try:
            self._send_on()
            if not self._unsent:
                self._read()
                self._answer()
            if self._over and not self._unsent:
                self._end()
            else:
                self._wait()
        except BadFrame as bad:
            self._end(frames.closing(bad.code))
        except OSError:
            self._end()  # the page is gone
        except Exception:
            library_logger().exception("A page's connection broke off.")
            self._end()

    def _end(self, last: bytes = b"") -> None:
        self._ended = True
        self._wait_no_more()
        for watcher in (self._incoming, self._outgoing, self._alarm):
            watcher.stop()
            watcher.close()
        with suppress(OSError):
            if last and not self._unsent:
                self._connection.send(last)
            self._connection.recv(frames.AT_ONCE_BYTES)  # if it were unread, what was sent would be lost
        self._connection.close()
        if self._joined:
            self._about.doors.let_out(self)
        self._place.give_back()

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
        received = self._connection.recv(frames.AT_ONCE_BYTES)
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
        if self._about.doors.let_in(self, self._address):
            self._joined = True
            self._place.join()
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
        self._console = ask.console
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
                self._waiting = picture.waking.add(self._has_newer, phone=not ask.console)
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
        self._keep(message, kind)
        self._send_on()

    def _keep(self, message: bytes, kind: int = frames.TEXT) -> None:
        if not self._unsent:
            self._read_by_s = time.monotonic() + READ_WITHIN_S
        self._unsent += framed(message, kind)

    def _send_on(self) -> None:
        if self._unsent:
            with suppress(BlockingIOError):
                self._unsent = self._unsent[self._connection.send(self._unsent) :]

    # -- until its next turn ----------------------------------------------------------------------

    def _wait(self) -> None:
        now_s = time.monotonic()
        if not self._joined and now_s >= self._join_by_s:
            raise BadFrame(frames.WENT_AWAY)
        if now_s >= self._ping_s and not self._unsent:
            if self._pinged:
                raise BadFrame(frames.WENT_AWAY)
            self._pinged = True
            self._bucket.give()
            self._ping_s = now_s + PING_S
            self._say(b"2")
        if self._unsent:
            if now_s >= self._read_by_s:
                raise BadFrame(frames.WENT_AWAY)
            self._outgoing.start(self._can_send)
            self._call_at(self._read_by_s, now_s)
            return
        until_s = self._ping_s if self._joined else min(self._ping_s, self._join_by_s)
        if self._ask is not None:
            due_s = self._not_before_s if now_s < self._not_before_s else self._answer_by_s
            until_s = min(until_s, due_s)
        if self._held_up:
            until_s = min(until_s, now_s + self._bucket.full_in_s())
        self._call_at(until_s, now_s)

    def _call_at(self, until_s: float, now_s: float) -> None:
        self._alarm.stop()
        self._alarm.close()
        self._alarm = self._loop.timer(max(0.0, until_s - now_s))
        self._alarm.start(self._call)

    def _has_come(self) -> None:
        """Called by the hub when the page has said something, or is gone."""
        self._incoming.stop()
        self._came = True
        self._call()

    def _can_send(self) -> None:
        """Called by the hub when the page has read something."""
        self._outgoing.stop()
        self._call()

    def _has_newer(self) -> None:
        """Called when there may be something newer."""
        self._waiting = {}
        self._call()

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
