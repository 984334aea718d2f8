"""Connections that have to ask, and to take the answer, in time; and room for as many of them as are let in.

A phone that leaves the museum's network seldom says goodbye, and a stranger may open connections and say
nothing. gevent waits for both as long as this process lives, until no visitor is let in any more.
"""

from __future__ import annotations

import errno
import resource
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import gevent
from gevent import pywsgi

WITHIN_S = 30.0
"""For a whole request, and for the answer. Browsers open a new connection where an idle one was closed."""
PAGES_OWN = "/socket.io/"
OTHER_FILES = 200
"""Recordings, libraries, and what else this process has open at most."""


class BoundedHandler(pywsgi.WSGIHandler):
    """Closes what is too slow; takes no body, which nothing here asks for."""

    def read_requestline(self) -> Any:
        """See pywsgi."""
        with _in_time():
            return super().read_requestline()

    def read_request(self, raw_requestline: str) -> Any:
        """See pywsgi. Raises ValueError for what it may refuse."""
        try:
            with _in_time():
                understood = super().read_request(raw_requestline)
        except ValueError:
            raise
        except Exception as error:  # which pywsgi would write down at full length, without end
            raise ValueError(f"{error}") from error
        if self.content_length or self.headers.get("transfer-encoding"):
            raise ValueError("a request with a body")
        return understood

    def handle_one_response(self) -> None:
        """See pywsgi."""
        if str(self.path).startswith(PAGES_OWN):  # engineio has limits of its own
            super().handle_one_response()
            return
        with _in_time():
            super().handle_one_response()


def allow_open_files(connections: int) -> None:
    """Let this process have so many connections open, as far as may be: many allow but 1,024 at first."""
    wanted = connections + OTHER_FILES
    allowed, at_most = resource.getrlimit(resource.RLIMIT_NOFILE)
    if at_most != resource.RLIM_INFINITY:
        wanted = min(wanted, at_most)
    if allowed != resource.RLIM_INFINITY and allowed < wanted:
        resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, at_most))


@contextmanager
def _in_time() -> Iterator[None]:
    # To gevent the same as if the far side had gone: nothing is said of it in the log.
    with gevent.Timeout(WITHIN_S, OSError(errno.EPIPE, "the far side was too slow")):
        yield
