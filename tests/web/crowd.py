"""A stranger who wants a web process for himself, in a process of his own.

    python -m tests.web.crowd HOW PORT

He comes from 127.0.0.2, prints "begun" once he has begun, and "all here" once each of his connections was
made or refused. He goes on until something is said to him, and then prints what became of them.
"""

from __future__ import annotations

import base64
import contextlib
import os
import resource
import select
import socket
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator

MANY = 2000
THINGS_SAID = 200_000
BEGUN, ALL_HERE = "begun", "all here"
MASK = b"\x00\x00\x00\x00"
QUESTION = b'421["ask",{"stream":"","after":0,"news":0,"console":true}]'
_PONG = b"\x8a\x80" + MASK
_REQUEST = b"GET /visitor/page.css HTTP/1.1\r\nHost: 127.0.0.1\r\n"


def frame(text: bytes) -> bytes:
    """A message as a page sends it."""
    return bytes((0x81, 0x80 | len(text))) + MASK + text


def connected(port: int) -> socket.socket:
    made = socket.create_connection(("127.0.0.1", port), 60, source_address=("127.0.0.2", 0))
    made.setblocking(False)
    return made


def joined(port: int) -> socket.socket:
    """A page's connection."""
    made = connected(port)
    made.setblocking(True)
    key = base64.b64encode(os.urandom(16)).decode()
    made.sendall(
        f"GET /socket.io/?EIO=4&transport=websocket HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n"
        f"Connection: Upgrade\r\nUpgrade: websocket\r\nSec-WebSocket-Version: 13\r\n"
        f"Sec-WebSocket-Key: {key}\r\n\r\n".encode()
    )
    made.recv(4096)
    made.sendall(frame(b"40"))
    made.setblocking(False)
    return made


def over() -> bool:
    """Whether he has to end."""
    return bool(select.select([sys.stdin], [], [], 0)[0])


def push(stranger: socket.socket, data: bytes) -> int:
    """Send what fits; 0 if nothing does, and -1 if the connection is gone."""
    try:
        return stranger.send(data)
    except BlockingIOError:
        return 0
    except OSError:
        return -1


def flood(port: int, said: bytes) -> Iterator[str]:
    """So many things in one connection, as fast as they are taken."""
    stranger = joined(port)
    print(ALL_HERE, flush=True)
    all_of_it = memoryview(said * THINGS_SAID)
    at = 0
    while at < len(all_of_it):
        sent = push(stranger, all_of_it[at : at + 65536])
        if sent < 0:
            break
        at += sent
        with contextlib.suppress(OSError):
            stranger.recv(65536)
        yield f"{at // len(said)} taken"
        select.select([], [stranger], [], 0.01)


def many(port: int, begin: Callable[[int], socket.socket], say: bytes, again: bytes = b"") -> Iterator[str]:
    """So many connections: each says something, and then perhaps more now and then, and reads nothing."""
    strangers: list[socket.socket] = []
    refused: Counter[str] = Counter()
    for _ in range(MANY):
        try:
            stranger = begin(port)
            push(stranger, say)
            strangers.append(stranger)
        except OSError as error:
            refused[type(error).__name__] += 1
        yield f"{len(strangers)} connected, {dict(refused)}"
    print(ALL_HERE, flush=True)
    while True:
        for stranger in strangers:
            if again:
                push(stranger, again)
        yield f"{len(strangers)} connected, {dict(refused)}"
        time.sleep(0.05)


HOWS: dict[str, Callable[[int], Iterator[str]]] = {
    "pongs": lambda port: flood(port, _PONG),
    "questions": lambda port: flood(port, frame(QUESTION)),
    "requests": lambda port: many(port, connected, (_REQUEST + b"\r\n") * 200, (_REQUEST + b"\r\n") * 20),
    "connections": lambda port: many(port, connected, b""),
    "half open": lambda port: many(port, connected, _REQUEST),
    "slow requests": lambda port: many(port, connected, _REQUEST, b"X: y\r\n"),
    "never reading": lambda port: many(port, joined, frame(QUESTION) * 5, frame(QUESTION)),
    "pages": lambda port: many(port, joined, frame(QUESTION), frame(QUESTION) + _PONG * 50),
}


def main() -> None:
    """Go on until told to end."""
    _, at_most = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (at_most, at_most))
    print(BEGUN, flush=True)
    going, became = HOWS[sys.argv[1]](int(sys.argv[2])), ""
    while not over() and (goes_on := next(going, "")):
        became = goes_on
    while not over():
        time.sleep(0.1)
    print(became, flush=True)


if __name__ == "__main__":
    main()
