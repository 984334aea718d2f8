"""Connections with time limits for the request and the answer, and room for as many of them as are allowed.

A phone that leaves the museum's network seldom closes its connection, and a stranger can open connections and
send nothing. gevent would wait for both as long as this process lives, until no visitor could connect.
"""

from __future__ import annotations

import errno
import resource
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import gevent
from gevent import pywsgi

from exhibit.web.bounded_websocket import HANDLER

WITHIN_S = 30.0
"""For a whole request, and for its answer. When an idle connection was closed, browsers open a new one."""
PAGES_OWN = "/socket.io/"
OTHER_FILES = 200
"""The most files that this process has open besides: recordings, libraries and so on."""


class BoundedHandler(pywsgi.WSGIHandler):
    """Closes connections that are too slow. Accepts no request with a body, since no page sends one."""

    def read_requestline(self) -> Any:
        """See pywsgi."""
        with _in_time():
            return super().read_requestline()

    def read_request(self, raw_requestline: str) -> Any:
        """See pywsgi. Raises ValueError for a request that it refuses."""
        try:
            with _in_time():
                understood = super().read_request(raw_requestline)
        except ValueError:
            raise
        except Exception as error:  # pywsgi would log each of these in full, without limit
            raise ValueError(f"{error}") from error
        if self.content_length or self.headers.get("transfer-encoding"):
            raise ValueError("a request with a body")
        return understood

    def get_environ(self) -> Any:
        """See pywsgi."""
        return {**super().get_environ(), HANDLER: self}

    def handle_one_response(self) -> None:
        """See pywsgi."""
        if str(self.path).startswith(PAGES_OWN):  # engineio has its own limits
            super().handle_one_response()
            return
        with _in_time():
            super().handle_one_response()


def allow_open_files(connections: int) -> None:
    """Raise the limit of open files for this many connections, as far as allowed: it is often only 1,024."""
    wanted = connections + OTHER_FILES
    allowed, at_most = resource.getrlimit(resource.RLIMIT_NOFILE)
    if at_most != resource.RLIM_INFINITY:
        wanted = min(wanted, at_most)
    if allowed != resource.RLIM_INFINITY and allowed < wanted:
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, at_most))


@contextmanager
def _in_time() -> Iterator[None]:
    # gevent treats this as if the other side had gone, and logs nothing.
    with gevent.Timeout(WITHIN_S, OSError(errno.EPIPE, "the other side was too slow")):
        yield
