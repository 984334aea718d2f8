"""The frames of a websocket (RFC 6455), taken apart and put together; nothing here reads or writes a socket.

    frames = Frames()
    frames.feed(received)
    while (frame := frames.take()) is not None: ...

Only what a page sends is understood: masked frames, without extensions, and messages within a bound. Of a
frame that isn't whole yet no more is kept than the longest one has, however long it says that it is.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
from typing import Final, NamedTuple

LONGEST_MESSAGE_BYTES: Final = 2048
"""The longest message that a page may send; a question is a tenth of it."""
AT_ONCE_BYTES: Final = 4096
"""How much to read from a page at a time."""

CONTINUED, TEXT, CLOSE, PING, PONG = 0x0, 0x1, 0x8, 0x9, 0xA
_KNOWN = frozenset((CONTINUED, TEXT, CLOSE, PING, PONG))
_LAST, _MASKED, _CONTROL = 0x80, 0x80, 0x8
_LONGEST_CONTROL_BYTES = 125
_ACCEPTED_AS = b"258EAFA5-E914-47DA-95CA-C5AB0DC85B11"

WENT_AWAY, NOT_UNDERSTOOD, TOO_LONG, TRY_LATER = 1001, 1002, 1009, 1013
"""Why a connection is closed (RFC 6455 section 7.4.1)."""


class BadFrame(Exception):
    """Something that no page sends; the connection is closed for the reason `code`."""

    def __init__(self, code: int) -> None:
        super().__init__(f"closed with {code}")
        self.code = code


class Frame(NamedTuple):
    """What kind of frame it is, and what it says; a message in several frames becomes one."""

    kind: int
    payload: bytes


class Frames:
    """Takes what a page sends apart."""

    def __init__(self) -> None:
        self._received = b""
        self._parts: bytes | None = None

    @property
    def is_empty(self) -> bool:
        """Whether everything received has been taken."""
        return not self._received

    def feed(self, received: bytes) -> None:
        """Take in what has been received."""
        self._received = self._received + received if self._received else received

    def take(self) -> Frame | None:
        """The next frame; None if it isn't whole yet. Raises BadFrame for what no page sends."""
        received = self._received
        if len(received) < 2:
            return None
        kind, length, begin = received[0] & 0x0F, received[1] & 0x7F, 2
        last = bool(received[0] & _LAST)
        if received[0] & 0x70 or kind not in _KNOWN or not received[1] & _MASKED:
            raise BadFrame(NOT_UNDERSTOOD)
        if kind & _CONTROL and (length > _LONGEST_CONTROL_BYTES or not last):
            raise BadFrame(NOT_UNDERSTOOD)
        if length > 125:
            begin = 4 if length == 126 else 10
            if len(received) < begin:
                return None
            length = int.from_bytes(received[2:begin])
        if length + len(self._parts or b"") > LONGEST_MESSAGE_BYTES:
            raise BadFrame(TOO_LONG)
        end = begin + 4 + length
        if len(received) < end:
            return None
        payload = _unmasked(received[begin : begin + 4], received[begin + 4 : end])
        self._received = received[end:]
        if kind & _CONTROL or (last and kind == TEXT and self._parts is None):
            return Frame(kind, payload)
        return self._gathered(kind, payload, last)

    def _gathered(self, kind: int, payload: bytes, last: bool) -> Frame | None:
        if (kind == TEXT) == (self._parts is not None):
            raise BadFrame(NOT_UNDERSTOOD)
        parts = (self._parts or b"") + payload
        self._parts = None if last else parts
        return Frame(TEXT, parts) if last else Frame(CONTINUED, b"")


def framed(message: bytes, kind: int = TEXT) -> bytes:
    """A frame for a page."""
    length = len(message)
    if length < 126:
        return bytes((_LAST | kind, length)) + message
    if length < 1 << 16:
        return bytes((_LAST | kind, 126, length >> 8, length & 0xFF)) + message
    return bytes((_LAST | kind, 127)) + length.to_bytes(8) + message


def closing(code: int) -> bytes:
    """The frame that closes a connection."""
    return framed(code.to_bytes(2), CLOSE)


def accepted(key: str) -> str | None:
    """The answer to a page's `Sec-WebSocket-Key`; None if that is no such key."""
    try:
        if len(base64.b64decode(key, validate=True)) != 16:
            return None
    except (binascii.Error, ValueError):
        return None
    return base64.b64encode(hashlib.sha1(key.encode("ascii") + _ACCEPTED_AS).digest()).decode()


def _unmasked(mask: bytes, payload: bytes) -> bytes:
    length = len(payload)
    repeated = (mask * (length // 4 + 1))[:length]
    return (int.from_bytes(payload, "little") ^ int.from_bytes(repeated, "little")).to_bytes(length, "little")
