"""The guard before every page and every question: which requests are answered at all, and with which headers.

    app.wsgi_app = Guard(app.wsgi_app, served_names(host, name))

Somebody else's page, open in a visitor's browser, could ask here, even by a name that its owner has led to
this computer (DNS rebinding). So a request must name this computer by a number, as localhost or by the name
that it is served under, and must come from a page of its own. By default it can only read: GET and HEAD. One
that changes something has to say which page it comes from. GuardedHandler does the same for what pywsgi
answers by itself.
"""

from __future__ import annotations

import contextlib
import ipaddress
import re
from collections.abc import Callable, Iterable, Mapping
from http import HTTPStatus
from typing import Any, Final

from exhibit.web.bounded_connections import PAGES_OWN, BoundedHandler, say_and_read_on
from exhibit.web.headers import HEADERS, Headers, answer_head, guarded

_AUTHORITY: Final = re.compile(r"(?:\[([0-9A-Fa-f:.]{2,45})\]|([A-Za-z0-9._-]{1,253}))(?::[0-9]{1,5})?")
"""A Host header (RFC 9110, 7.2): an IPv6 address in brackets, or a name or IPv4 address; perhaps a port."""
_ORIGIN: Final = re.compile(r"https?://(.*)", re.DOTALL)
READING: Final = ("GET", "HEAD")

StartResponse = Callable[..., Callable[[bytes], object]]
WebApp = Callable[[dict[str, Any], StartResponse], Iterable[bytes]]

_WHY: Final = {
    HTTPStatus.BAD_REQUEST: "That is not a request that a browser makes, so it isn't answered.",
    HTTPStatus.FORBIDDEN: "Only this page's own pages may ask here.",
    HTTPStatus.METHOD_NOT_ALLOWED: "This page can only be read.",
    HTTPStatus.REQUEST_URI_TOO_LONG: "That address is too long, so it isn't answered.",
    HTTPStatus.MISDIRECTED_REQUEST: (
        "The page isn't served under this name. Open it by this computer's number, such as "
        "http://192.0.2.7:8000/\nIf the museum wants it to have a name, start it with --name and that name."
    ),
}


def served_names(host: str, name: str = "") -> frozenset[str]:
    """The names, besides numbers, by which a browser may call this computer."""
    return frozenset({"localhost", *(given.lower() for given in (host, name) if given)})


class Guard:
    """Refuses what no visitor's browser asks, and sees that every answer carries the headers.

    `note` gets a line for the log about each refusal. `methods` are those that are let through, and `ours`
    the headers of every answer.
    """

    def __init__(
        self,
        app: WebApp,
        names: frozenset[str],
        note: Callable[[str], None] = lambda _: None,
        *,
        methods: tuple[str, ...] = READING,
        ours: Mapping[str, str] = HEADERS,
    ) -> None:
        self._app = app
        self._names = names
        self._note = note
        self._methods = methods
        self._ours = ours

    def __call__(self, environ: dict[str, Any], start_response: StartResponse) -> Iterable[bytes]:
        """Answers one request."""

        def respond(status: str, headers: Headers, exc_info: Any = None) -> Callable[[bytes], object]:
            return start_response(status, guarded(headers, self._ours), exc_info)

        refused = self._refusal(environ)
        if refused is None:
            return self._app(environ, respond)
        status, more = refused
        self._note(f"a request was refused: {status.value} {status.phrase}")
        headers, body = refusal(status)
        respond(f"{status.value} {status.phrase}", [*headers, *more])
        return [b"" if environ["REQUEST_METHOD"] == "HEAD" else body]

    def _refusal(self, environ: dict[str, Any]) -> tuple[HTTPStatus, Headers] | None:
        allowed = ("GET",) if environ["PATH_INFO"].startswith(PAGES_OWN) else self._methods
        if environ["REQUEST_METHOD"] not in allowed:
            return HTTPStatus.METHOD_NOT_ALLOWED, [("Allow", ", ".join(allowed))]
        host = environ.get("HTTP_HOST", "")
        parts = _AUTHORITY.fullmatch(host)
        if parts is None or not environ["PATH_INFO"].startswith("/"):
            return HTTPStatus.BAD_REQUEST, []
        if not (_is_number(parts[1] or parts[2]) or parts[2] and self._is_ours(parts[2])):
            return HTTPStatus.MISDIRECTED_REQUEST, []
        if "HTTP_ORIGIN" in environ or environ["REQUEST_METHOD"] not in READING:
            origin = _ORIGIN.fullmatch(environ.get("HTTP_ORIGIN", ""))
            if origin is None or origin[1].lower() != host.lower():
                return HTTPStatus.FORBIDDEN, []
        return None

    def _is_ours(self, name: str) -> bool:
        return name.lower().removesuffix(".") in self._names


class GuardedHandler(BoundedHandler):
    """pywsgi's handler, but its own error answers carry the headers too, and it logs nothing of a request."""

    methods: tuple[str, ...] = READING
    ours: Mapping[str, str] = HEADERS

    def handle_one_request(self) -> Any:
        """See pywsgi. A pair is an answer that it makes without the application."""
        self.command = ""
        answered = super().handle_one_request()
        if not isinstance(answered, tuple):
            return answered
        with contextlib.suppress(OSError):
            say_and_read_on(self.socket, self._own_answer(HTTPStatus(int(answered[0]))))
        return None

    def start_response(self, status: str, headers: Headers, exc_info: Any = None) -> Any:
        """See pywsgi, which calls it for its own errors as well."""
        return super().start_response(status, guarded(headers, self.ours), exc_info)

    def log_error(self, msg: str, *args: object) -> None:
        """See pywsgi. What it would say quotes the request."""
        self.server.error_log.write("a request was refused\n")

    def _own_answer(self, status: HTTPStatus) -> bytes:
        more: Headers = [("Connection", "close")]
        command = str(self.command)
        if status is HTTPStatus.BAD_REQUEST and command.isalpha() and command not in self.methods:
            status = HTTPStatus.METHOD_NOT_ALLOWED
            more.append(("Allow", ", ".join(self.methods)))
        headers, body = refusal(status)
        head = answer_head(status, [*headers, *more], self.ours)
        return head if command == "HEAD" else head + body


def refusal(status: HTTPStatus) -> tuple[Headers, bytes]:
    """The headers and the body of an answer that refuses a request. Nothing in it comes from the request."""
    body = f"{_WHY.get(status, status.phrase)}\n".encode("ascii")
    return [("Content-Type", "text/plain; charset=utf-8"), ("Content-Length", f"{len(body)}")], body


def _is_number(host: str) -> bool:
    try:
        ipaddress.ip_address(host)
    except ValueError:
        return False
    return True
