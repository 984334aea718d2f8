"""Whatever a page sends on its websocket, no exception reaches the log, and the next page is answered."""

from __future__ import annotations

from typing import Final

from tests.fuzz.choices import Choices
from tests.fuzz.served import connect, frame, served, upgrade

OPCODES: Final = (1, 1, 1, 1, 2, 0, 8, 9, 10, 3, 11, 15)
FIRSTS: Final = (0x80, 0x80, 0x80, 0x80, 0x00, 0xC0, 0xF0, 0x10)
PACKETS: Final = (
    b"40", b"41", b"42", b"43", b"44", b"45", b"46", b"0", b"1", b"2", b"3", b"4", b"5", b"6", b"9",
    b"40/x,", b'40{"a":1}', b"41/x,", b"451-", b'451-["ask",{"_placeholder":true,"num":0}]', b"460-", b"b4",
    b"bAAAA", b"", b'42["ask"]', b"42[]", b"42{}", b"42null", b'42[5]', b'42["connect"]',
    b'42["disconnect"]', b'42["message",1]', b'42999999999999999999["ask",{}]',
    b'421["ask",{"after":1e999}]', b'42/x,1["ask",{}]', b"42" + b"[" * 900,
    b'421["control",{"do":"go to time","value":1}]', b'421["control",{"do":"rate","value":1e5}]', b"3probe",
    b"2probe",
)  # fmt: skip
EVENTS: Final = (
    b"ask",
    b"control",
    b"connect",
    b"disconnect",
    b"*",
    b"",
    b"\\u0000",
    b"__proto__",
    b"ask\\ud800",
)
KEYS: Final = (
    b"stream", b"after", b"news", b"console", b"do", b"value", b"", b"__class__", b"_placeholder", b"num",
    b"\\ud800",
)  # fmt: skip
VALUES: Final = (
    b"0", b"1", b"-1", b"1e308", b"1e999", b"-0.0", b"9007199254740991", b"9" * 40, b"9" * 1500, b"null",
    b"true", b"NaN", b"Infinity", b'""', b'"play"', b'"pause"', b'"rate"', b'"go to time"', b'"go to fact"',
    b"[]", b"{}", b'"\\ud800"', b'"' + b"a" * 300 + b'"', b"[" * 300, b"0.0000001", b"100000",
    b'{"_placeholder":true,"num":0}', b"5e15", b"\xff",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Inputs to begin with."""
    joined = b"\0\0\0"
    packets = [
        bytes((port,)) + joined + bytes((0, 0, 0, kind)) for kind in range(len(PACKETS)) for port in (0, 1)
    ]
    events = [
        bytes((1,)) + joined + bytes((0, 0, 1, event, 1, key, value, 2, key, value))
        for event in (0, 1)
        for key in range(6)
        for value in range(0, len(VALUES), 2)
    ]
    return [*packets, *events]


def one(data: bytes) -> None:
    """Opens a websocket and sends frames, or bytes that may be none."""
    given = Choices(data)
    site = served()
    port = given.one_of(site.ports)
    connection = connect(port)
    try:
        connection.sendall(upgrade(port))
        if given.below(8) < 7:
            connection.recv(65536)  # a page that waits for the answer before it goes on
        if given.below(8) == 0:
            connection.sendall(frame(b"40"))
        if given.below(8) == 7:
            connection.sendall(given.rest())
        while given.remaining:
            connection.sendall(_frame(given))
    except OSError:
        pass  # it may be closed at any time
    finally:
        site.check(port)
        connection.close()


def _frame(given: Choices) -> bytes:
    opcode, first = given.one_of(OPCODES), given.one_of(FIRSTS)
    payload = _payload(given)
    made = frame(payload, opcode, first=first, mask=bytes((0, 0, 0, given.below(2))))
    match given.below(16):
        case 15:
            return made[: len(made) // 2]
        case 14:
            return bytes((made[0], made[1] & 0x7F)) + made[2:]  # as if it weren't masked
        case 13:
            return bytes((made[0], 0xFF)) + given.take(8).rjust(8, b"\xff") + payload  # far too long, it says
    return made


def _payload(given: Choices) -> bytes:
    match given.below(4):
        case 0:
            return given.one_of(PACKETS) + given.take(given.below(12))
        case 1:
            pairs = [_pair(given) for _ in range(given.below(5))]
            number = given.one_of((b"1", b"", b"0", b"-1", b"99"))
            return b"42%b[%b,{%b}]" % (number, b'"' + given.one_of(EVENTS) + b'"', b",".join(pairs))
        case 2:
            return given.take(given.below(64))
        case _:
            return given.one_of((b"4", b"42", b"x")) * (1 + given.below(256)) * (1 + given.below(12))


def _pair(given: Choices) -> bytes:
    return b'"%b":%b' % (given.one_of(KEYS), given.one_of(VALUES))
