"""Has engineio's and Socket.IO's own layers answer the pages, for comparison: see bench_followers.

Both ways have the same request, the same picture and the same pauses.
"""

from __future__ import annotations

import json
import time
from typing import Any

import gevent
import gevent.event
import msgspec
from engineio.server import Server

from exhibit.web.conversation import Exhibit
from exhibit.web.picture import Ask, limit_s


class Encoded(str):
    """The text of a JSON value."""

    __slots__ = ()


class EncodedOnce:
    """Encodes JSON, but leaves what is already encoded as it is."""

    loads = staticmethod(json.loads)

    @staticmethod
    def dumps(value: Any, **options: Any) -> str:
        """See json."""
        done = type(value) is list and len(value) == 1 and type(value[0]) is Encoded
        return f"[{value[0]}]" if done else json.dumps(value, **options)


class LibrarySockets:
    """In the place of PageSockets: adds what the website answers to the library's own handlers."""

    def __init__(self, about: Exhibit, server: Any) -> None:
        self._begin = Server._handle_connect.__get__(server.eio)
        self._about = about
        server.packet_class.json = EncodedOnce
        server.on("connect", self._connect)
        server.on("disconnect", lambda sid, reason=None: about.doors.let_out(sid))
        server.on("ask", self._ask)

    def __call__(self, environ: dict[str, Any], *more: Any) -> Any:
        return self._begin(environ, *more)

    def _connect(self, sid: str, environ: dict[str, Any], auth: object = None) -> bool:
        return self._about.doors.let_in(sid, str(environ["REMOTE_ADDR"]))

    def _ask(self, sid: str, message: object = None) -> Any:
        about, question = self._about, msgspec.convert(message, Ask)
        if (pause_s := about.doors.pause_s(sid, question.console)) > 0:
            gevent.sleep(pause_s)
        with gevent.Timeout(limit_s(question), False):
            while not about.picture.has_newer(question):
                woken = gevent.event.Event()
                about.picture.waking.add(woken.set, phone=not question.console)
                woken.wait()
        began_s = time.thread_time()
        try:
            return Encoded(about.picture.encoded_answer(question, about.besides(), False).decode())
        finally:
            about.doors.answered(sid, question.console, time.thread_time() - began_s)
