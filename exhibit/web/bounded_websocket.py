"""A websocket with a limit for the size of messages, and whose connection is closed when it ends.

engineio sets no such limit in simple-websocket, which would let a stranger fill the memory, and leaves the
connection half open after refusing a message. Its own limit counts only messages that have arrived whole.
"""

from __future__ import annotations

import contextlib
import socket
from collections.abc import Callable
from typing import Any

from engineio.async_drivers import gevent as gevent_parts

LONGEST_MESSAGE_BYTES = 2048
"""The longest message that a page may send; a question is a tenth of it."""


class BoundedWebSocket(gevent_parts.WebSocketWSGI):  # type: ignore[misc]
    """The websocket that engineio makes for each page."""

    def __init__(self, handler: Callable[..., Any], server: Any) -> None:
        super().__init__(handler, server)
        self.server_args["max_message_size"] = LONGEST_MESSAGE_BYTES

    def __call__(self, environ: dict[str, Any], start_response: Callable[..., Any]) -> Any:
        """Serve one page until it is gone."""
        try:
            return super().__call__(environ, start_response)
        finally:
            with contextlib.suppress(AttributeError, OSError):
                self.ws.sock.shutdown(socket.SHUT_RDWR)


def parts() -> dict[str, Any]:
    """The parts of gevent that engineio uses, with this websocket as one of them."""
    return {**gevent_parts._async, "websocket": BoundedWebSocket}
