"""A websocket whose messages have a bound, and that is closed when it is over.

engineio gives simple-websocket no bound for a message, which lets a stranger fill the memory, and
leaves the connection half open after a refused one; its own bound only counts messages that have
come whole.
"""

from __future__ import annotations

import contextlib
import socket
from collections.abc import Callable
from typing import Any

from engineio.async_drivers import gevent as gevent_parts

LONGEST_MESSAGE_BYTES = 2048
"""Of what a page may send: an ask is a tenth of it."""


class BoundedWebSocket(gevent_parts.WebSocketWSGI):  # type: ignore[misc]
    """What engineio makes for each page."""

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
    """gevent's parts for engineio, with this websocket among them."""
    return {**gevent_parts._async, "websocket": BoundedWebSocket}
