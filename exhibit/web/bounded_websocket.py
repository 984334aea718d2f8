"""Begins a page's websocket, once Flask-SocketIO has found the request in order.

engineio would go on with layers of its own, which cost three greenlets and two descriptors for each page, and
set no bound that counts before a message has arrived whole. From here a page has a Conversation instead.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from http import HTTPStatus
from typing import Any

from exhibit.web.bounded_connections import CONNECTION, BoundedHandler
from exhibit.web.conversation import Conversation, Exhibit
from exhibit.web.frames import accepted
from exhibit.web.headers import answer_head


class PageSockets:
    """Takes requests for a websocket over from engineio."""

    def __init__(self, about: Exhibit, server: Any) -> None:
        """`server` is Socket.IO's."""
        self._about = about

    def __call__(
        self,
        environ: dict[str, Any],
        start_response: Callable[..., Any],
        transport: str = "websocket",
        jsonp_index: int | None = None,
    ) -> list[bytes]:
        """Begin to talk with the page of this request."""
        handler: BoundedHandler = environ[CONNECTION]
        key = accepted(environ.get("HTTP_SEC_WEBSOCKET_KEY", ""))
        if key is None or environ.get("HTTP_SEC_WEBSOCKET_VERSION") != "13":
            start_response(
                "400 Bad Request", [("Content-Type", "text/plain"), ("Sec-WebSocket-Version", "13")]
            )
            return [b"Only version 13 of the websocket protocol is spoken here.\n"]
        upgraded = [
            ("Upgrade", "websocket"),
            ("Connection", "Upgrade"),
            ("Sec-WebSocket-Accept", key),
        ]
        handler.close_connection = True
        with suppress(OSError):  # the page may be gone
            handler.socket.sendall(answer_head(HTTPStatus.SWITCHING_PROTOCOLS, upgraded))
            Conversation(handler.hand_over(), environ["REMOTE_ADDR"], self._about, handler.place).begin()
        return []
