"""Whatever bytes come as a request, no exception reaches the log, and the next page is answered."""

from __future__ import annotations

from typing import Final

from tests.fuzz.choices import Choices
from tests.fuzz.served import SOCKET, exchange, served

WAIT_S: Final = 0.3
METHODS: Final = (
    b"GET",
    b"HEAD",
    b"POST",
    b"PUT",
    b"OPTIONS",
    b"TRACE",
    b"CONNECT",
    b"PRI",
    b"get",
    b"",
    b"G\0T",
)
PATHS: Final = (
    b"/", b"/visitor/page.js", b"/phone.svg", b"/drawn/x", b"/words/languages.js", SOCKET.encode(), b"*",
    b"", b"/socket.io/?EIO=3&transport=polling", b"/socket.io/?EIO=4&transport=polling&sid=x", b"/%00",
    b"/%ff%fe", b"/..%2f..%2fetc", b"http://a/", b"/socket.io/?EIO=4&transport=websocket&sid=AAAA",
    b"/socket.io", b"//", b"/socket.io/?EIO=4&transport=websocket&j=0", b"/" + b"a" * 3000,
    b"/socket.io/?" + b"a=b&" * 400, b"/?\xff",
)  # fmt: skip
HEADERS: Final = (
    b"Host: 127.0.0.1", b"Host: a\r\nHost: b", b"Host: \xff", b"Connection: Upgrade", b"Upgrade: websocket",
    b"Sec-WebSocket-Version: 13", b"Sec-WebSocket-Version: x",
    b"Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==", b"Sec-WebSocket-Key: !",
    b"Sec-WebSocket-Extensions: permessage-deflate", b"Sec-WebSocket-Protocol: a, b", b"Origin: null",
    b"Origin: http://127.0.0.1", b"Content-Length: -1", b"Content-Length: 5", b"Expect: 100-continue",
    b"Content-Length: 99999999999999999999", b"Transfer-Encoding: chunked", b"Transfer-Encoding: \xff",
    b"If-None-Match: \"x\", *", b"If-Modified-Since: \xff", b"Range: bytes=0-", b"Range: bytes=9-1,-",
    b"Cookie: \xff=\0", b": x", b"X", b"X : y", b" folded", b"X-Forwarded-For: 1, 2", b"Forwarded: for=x",
    b"Accept-Encoding: \xe2\x82", b"Connection: keep-alive", b"Connection: close",
    b"Keep-Alive: timeout=99999999999", b"A: " + b"b" * 9000,
)  # fmt: skip
VERSIONS: Final = (b"HTTP/1.1", b"HTTP/1.0", b"HTTP/0.9", b"HTTP/2.0", b"HTTP/x", b"", b"HTTP/1.1 x", b"\xff")


def seeds() -> list[bytes]:
    """Inputs to begin with."""
    raw = [
        b"\0\0GET / HTTP/1.1\r\nHost: x\r\n\r\n",
        b"\0\1\x16\x03\x01\x02\x00",
        b"\0\0GET /\r\n",
        b"\0\1\r\n" * 3,
    ]
    made = [bytes((1, port, 1, 0, path, 0, 2, 0, path % 30)) for path in range(len(PATHS)) for port in (0, 1)]
    upgrades = [bytes((1, 0, 1, 0, 5, 0, 6, 0, 3, 4, 5, 7, header)) for header in range(len(HEADERS))]
    return [*raw, *made, *upgrades]


def one(data: bytes) -> None:
    """Sends bytes, or requests that are put together from parts, to one of the two websites."""
    given = Choices(data)
    raw = given.below(2) == 0
    site = served()
    port = given.one_of(site.ports)
    exchange(
        port, given.rest() if raw else b"".join(_request(given) for _ in range(1 + given.below(3))), WAIT_S
    )
    site.check(port)


def _request(given: Choices) -> bytes:
    line = b" ".join((given.one_of(METHODS), given.one_of(PATHS), given.one_of(VERSIONS)))
    headers = [_header(given) for _ in range(given.below(9))]
    return b"\r\n".join([line, *headers, b"", given.take(given.below(30))])


def _header(given: Choices) -> bytes:
    number = given.below(len(HEADERS) + 4)
    if number < len(HEADERS):
        return HEADERS[number]
    name, _, value = HEADERS[given.below(len(HEADERS))].partition(b":")
    chosen = given.take(given.below(20))
    return name + b":" + chosen if number % 2 else chosen + b":" + value
