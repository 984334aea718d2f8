"""The headers that every answer carries, whether the application makes it, pywsgi, or somebody by hand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from http import HTTPStatus
from typing import Final

HEADERS: Final = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self'; "
        "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cache-Control": "no-cache",
}

Headers = list[tuple[str, str]]


def guarded(headers: Iterable[tuple[str, str]], ours: Mapping[str, str] = HEADERS) -> Headers:
    """These headers, with `ours` in place of any of the same names."""
    names = {name.lower() for name in ours}
    return [*((name, value) for name, value in headers if name.lower() not in names), *ours.items()]


def answer_head(
    status: HTTPStatus, headers: Iterable[tuple[str, str]], ours: Mapping[str, str] = HEADERS
) -> bytes:
    """The head of an answer that is written as bytes, with the headers `ours`, up to its empty line."""
    lines = [f"HTTP/1.1 {status.value} {status.phrase}"]
    lines += [f"{name}: {value}" for name, value in guarded(headers, ours)]
    return "\r\n".join([*lines, "", ""]).encode("ascii")
