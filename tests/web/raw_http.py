"""Requests byte by byte as they are written here, without a client library that would mend them."""

from __future__ import annotations

import contextlib
import socket
from dataclasses import dataclass

WITHIN_S = 30


@dataclass(frozen=True)
class Answer:
    """What came back: the status, each header in lower case with all its values, and what came after them."""

    status: int
    headers: dict[str, list[str]]
    body: bytes


def request_line(method: str, path: str, version: str = "HTTP/1.1") -> str:
    return f"{method} {path} {version}\r\n"


def written(method: str, path: str, *headers: str, version: str = "HTTP/1.1") -> bytes:
    """The request with these header lines."""
    return "".join([request_line(method, path, version), *(f"{h}\r\n" for h in headers), "\r\n"]).encode(
        "latin-1"
    )


def said(port: int, request: bytes) -> bytes:
    """All that comes back for these bytes until the other side closes the connection."""
    with socket.create_connection(("127.0.0.1", port), WITHIN_S) as connection:
        connection.sendall(request)
        with contextlib.suppress(OSError):  # it may have been closed for what came before
            connection.shutdown(socket.SHUT_WR)
        came = b""
        while piece := connection.recv(65536):
            came += piece
    return came


def answer(port: int, request: bytes) -> Answer:
    """The answer to this request, on a connection of its own."""
    head, _, body = said(port, request).partition(b"\r\n\r\n")
    first, *lines = head.decode("latin-1").split("\r\n")
    version, status, *_ = first.split(" ")
    assert version == "HTTP/1.1", first
    headers: dict[str, list[str]] = {}
    for line in lines:
        name, _, value = line.partition(": ")
        headers.setdefault(name.lower(), []).append(value)
    return Answer(int(status), headers, body)
