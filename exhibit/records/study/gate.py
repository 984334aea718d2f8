"""Which requests the engineer's page answers: those of its own pages, by the token in its address.

The page is served on loopback alone, and other users of this computer, and other pages in the same browser,
can reach that too. None of them knows the token. A request must also name this computer by a number or as
localhost, so that nobody else's name can lead here (DNS rebinding).
"""

from __future__ import annotations

import hmac
import re
from collections.abc import Callable, Iterable
from typing import Any, Final

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
    "Cache-Control": "no-store",
}
NOT_THIS_RUN: Final = (
    "This address isn't the one of the records page that runs now.\n"
    "Each time it is started it has a new address, so that only you can read what it shows.\n"
    "Start `exhibit records` again, or copy the address that it printed; "
    "what stands behind the # of a link can be added to that.\n"
)
_HOST: Final = re.compile(r"(?:127\.0\.0\.1|localhost|\[::1\])(?::[0-9]{1,5})?")

StartResponse = Callable[..., Callable[[bytes], object]]
WebApp = Callable[[dict[str, Any], StartResponse], Iterable[bytes]]


class Gate:
    """Lets through what begins with the token, and sees that every answer carries the headers."""

    def __init__(self, app: WebApp, token: str) -> None:
        self._app = app
        self._token = token

    def __call__(self, environ: dict[str, Any], start_response: StartResponse) -> Iterable[bytes]:
        """Answers one request."""

        def respond(status: str, headers: list[tuple[str, str]], exc_info: Any = None) -> Any:
            names = {name.lower() for name in HEADERS}
            kept = [(name, value) for name, value in headers if name.lower() not in names]
            return start_response(status, [*kept, *HEADERS.items()], exc_info)

        refused = self._refusal(environ)
        if refused is None:
            return self._app(environ, respond)
        status, words = refused
        body = words.encode("ascii")
        respond(status, [("Content-Type", "text/plain; charset=utf-8"), ("Content-Length", f"{len(body)}")])
        return [b"" if environ["REQUEST_METHOD"] == "HEAD" else body]

    def _refusal(self, environ: dict[str, Any]) -> tuple[str, str] | None:
        """The status and the words for a request that isn't let through. Takes the token off the address."""
        if environ["REQUEST_METHOD"] not in ("GET", "HEAD"):
            return "405 METHOD NOT ALLOWED", "This page can only be read.\n"
        if _HOST.fullmatch(environ.get("HTTP_HOST", "")) is None:
            return "421 MISDIRECTED REQUEST", "The page is only served as 127.0.0.1 or localhost.\n"
        if environ.get("HTTP_SEC_FETCH_SITE", "none") not in ("same-origin", "none"):
            return "403 FORBIDDEN", "Only this page's own pages may ask here.\n"
        given, _, rest = environ.get("PATH_INFO", "").removeprefix("/").partition("/")
        if not hmac.compare_digest(given.encode("utf-8", "replace"), self._token.encode()):
            return "403 FORBIDDEN", NOT_THIS_RUN
        environ["SCRIPT_NAME"] = f"/{self._token}"
        environ["PATH_INFO"] = f"/{rest}"
        return None
