"""The process of the engineer's page: serves it on loopback, until SIGTERM or SIGINT.

serve_records(RecordsOrder(given=[folder], web=web_folder), ready=print)
"""

from __future__ import annotations

import errno
import secrets
import signal
import socket
import threading
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any, Final

import msgspec
from werkzeug.serving import WSGIRequestHandler, make_server

from exhibit.facts.errors import SetUpFault
from exhibit.records.study.gate import Gate
from exhibit.records.study.pages import make_app
from exhibit.records.study.shelf import Shelf

HOST: Final = "127.0.0.1"
SILENT_CLIENT_S: Final = 30
"""A connection on which no request comes for so long is closed."""


class RecordsOrder(msgspec.Struct, frozen=True, kw_only=True):
    """What to serve where."""

    given: list[Path]
    """Recordings, and folders of them."""
    web: Path
    """The folder of the pages' files (see web/README.md)."""
    port: int = 0
    """0 takes any free one."""
    cache_folder: Path | None = None
    """For keyframes; None means the default one."""


class _Handler(WSGIRequestHandler):
    """Says nothing: there is one reader, who sees the page."""

    timeout = SILENT_CLIENT_S
    protocol_version = "HTTP/1.1"

    def log(self, type: str, message: str, *args: Any) -> None:
        """See werkzeug."""

    def version_string(self) -> str:
        """The header Server."""
        return "exhibit"


def serve_records(order: RecordsOrder, ready: Callable[[str], None] = lambda _: None) -> None:
    """Serve the page. `ready` gets its address, token and all.

    Raises SetUpFault if it can't be served or there is nothing to show, RecordingFault for a file that is
    given and is no recording.
    """
    shelf = Shelf(order.given, order.cache_folder)
    token = secrets.token_urlsafe(24)
    app = Gate(make_app(shelf, order.web), token)
    with _listener(order.port) as listener:
        port = listener.getsockname()[1]
        server = make_server(HOST, port, app, threaded=True, request_handler=_Handler, fd=listener.fileno())

        def stop(_: int, __: FrameType | None) -> None:
            # It waits until serve_forever has noticed, which this thread can't do while it is here.
            threading.Thread(target=server.shutdown).start()

        before = {number: signal.signal(number, stop) for number in (signal.SIGTERM, signal.SIGINT)}
        try:
            shelf.indexing.start(shelf.places())
            ready(f"http://{HOST}:{port}/{token}/")
            server.serve_forever()
        finally:
            for number, handler in before.items():
                signal.signal(number, handler)
            server.server_close()
            shelf.close()


def _listener(port: int) -> socket.socket:
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((HOST, port))
    except (OSError, OverflowError) as error:
        listener.close()
        in_use = isinstance(error, OSError) and error.errno == errno.EADDRINUSE
        raise SetUpFault(
            f"The records page can't be served at port {port}: "
            + ("that port is in use." if in_use else f"{error}."),
            "So no browser could show it.",
            "Leave out --port, and any free one is taken.",
        ) from error
    listener.listen(64)
    return listener
