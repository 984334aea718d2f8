"""A websocket's frames: taken apart the same however they arrive, and refused when no page sends them."""

from __future__ import annotations

import os

import pytest
from wsproto.connection import Connection, ConnectionType
from wsproto.events import Ping, TextMessage

from exhibit.web.frames import (
    CLOSE,
    LONGEST_MESSAGE_BYTES,
    NOT_UNDERSTOOD,
    PING,
    TEXT,
    TOO_LONG,
    BadFrame,
    Frame,
    Frames,
    accepted,
    closing,
    framed,
)


def said(*events: TextMessage | Ping) -> bytes:
    """As another library's client sends it."""
    client = Connection(ConnectionType.CLIENT)
    return b"".join(client.send(event) for event in events)


def taken(*pieces: bytes) -> list[Frame]:
    frames, found = Frames(), []
    for piece in pieces:
        frames.feed(piece)
        while (frame := frames.take()) is not None:
            found.append(frame)
    return found


def every_byte(data: bytes) -> list[bytes]:
    return [data[at : at + 1] for at in range(len(data))]


@pytest.mark.parametrize("length", [0, 1, 125, 126, 127, 1000, LONGEST_MESSAGE_BYTES])
def test_a_message_is_the_same_whole_byte_by_byte_and_with_more_after_it(length: int) -> None:
    text = os.urandom(length).hex()[:length]
    message = Frame(TEXT, text.encode())
    sent = said(TextMessage(text))
    assert taken(sent) == [message]
    assert taken(*every_byte(sent)) == [message]
    assert taken(sent + sent[:3], sent[3:]) == [message, message]


def test_a_message_in_parts_becomes_one_and_a_ping_may_come_between() -> None:
    parts = [
        TextMessage("what is ", message_finished=False),
        TextMessage("newer", message_finished=False),
        TextMessage("?"),
    ]
    sent = said(parts[0], Ping(b"here"), *parts[1:])
    for found in (taken(sent), taken(*every_byte(sent))):
        assert [frame for frame in found if frame.kind in (TEXT, PING)] == [
            Frame(PING, b"here"),
            Frame(TEXT, b"what is newer?"),
        ]


LONGEST = b"\xfe" + LONGEST_MESSAGE_BYTES.to_bytes(2) + bytes(4 + LONGEST_MESSAGE_BYTES)


@pytest.mark.parametrize(
    ("sent", "code"),
    [
        (b"\x81\x01x", NOT_UNDERSTOOD),  # unmasked
        (b"\xc1\x80", NOT_UNDERSTOOD),  # an extension's
        (b"\x82\x80", NOT_UNDERSTOOD),  # binary
        (b"\x83\x80", NOT_UNDERSTOOD),  # no kind there is
        (b"\x09\x80", NOT_UNDERSTOOD),  # a ping in parts
        (b"\x89\xfe\x00\x7e", NOT_UNDERSTOOD),  # a ping too long
        (b"\x80\x80" + b"mask", NOT_UNDERSTOOD),  # goes on where nothing began
        (b"\x01\x80mask\x81\x80mask", NOT_UNDERSTOOD),  # begins where something goes on
        (b"\x81\xfe" + (LONGEST_MESSAGE_BYTES + 1).to_bytes(2), TOO_LONG),
        (b"\x81\xff" + (2**63 - 1).to_bytes(8), TOO_LONG),
        (b"\x01" + LONGEST + b"\x80\x81", TOO_LONG),
    ],
)
def test_what_no_page_sends_is_refused_as_soon_as_it_is_clear(sent: bytes, code: int) -> None:
    for pieces in ([sent], every_byte(sent)):
        with pytest.raises(BadFrame) as refused:
            taken(*pieces)
        assert refused.value.code == code


@pytest.mark.parametrize("length", [0, 125, 126, 65535, 65536, 100_000])
def test_another_library_understands_what_a_page_is_told(length: int) -> None:
    client = Connection(ConnectionType.CLIENT)
    client.receive_data(framed(b"x" * length) + closing(1013))
    *told, closed = list(client.events())
    assert "".join(event.data for event in told) == "x" * length
    assert closed.code == 1013
    assert framed(b"", CLOSE)[0] == 0x88


def test_the_handshake_is_that_of_the_standard() -> None:
    assert accepted("dGhlIHNhbXBsZSBub25jZQ==") == "s3pPLMBiTxaQ9kYGzzhZRbK+xOo="  # RFC 6455 s.1.3
    for key in ("", "x", "dGhlIHNhbXBsZQ==", "dGhlIHNhbXBsZSBub25jZQ==\u00e9", "=" * 5000):
        assert accepted(key) is None
