"""A small desk for the tests of the docent's page: it serves its files and answers what it asks.

It stands in for the process that serves /today. DeskView folds the facts that it is told, as a
recording's. What the page asks for is kept in `asked`.
"""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

import msgspec

from exhibit.decisions.desk.desk_view import DeskView
from exhibit.decisions.page.badge import MACHINE_IS_THERE, Sight, badge
from exhibit.facts import kinds
from exhibit.web.headers import HEADERS
from tests.pages.web_processes import ROOT

TOKEN = "the-first-token"
FOLDERS = ("desk", "shared", "words", "drawing", "charts", "built")
TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".woff2": "font/woff2",
}
S = 1_000_000
WAITS_S = 2.0
DOCENT = {"role": "docent", "name": "KM"}
ENGINEER = {"role": "engineer", "name": "Robin"}


class FakeDesk:
    """What a page at /today gets, and what it has asked for."""

    def __init__(self) -> None:
        self.view = DeskView()
        self.at_us = 0
        self.signed_in: dict[str, str] | None = DOCENT
        self.bridge = True
        self.sight = Sight(mode="live", writer="writing")
        self.refuses = 0
        """The status with which it refuses to answer; 0: it answers."""
        self.laid: dict[str, Any] = {}
        """Items that stand in place of the view's."""
        self.asked: list[dict[str, Any]] = []
        """What was posted: {"address", "token", and what was in it}."""
        self.answers: dict[str, str] = {}
        """By request: why it is refused."""
        self.on_request: Callable[[dict[str, Any]], None] = lambda _: None
        self._news = 1
        self._changed = threading.Condition()
        self._server: ThreadingHTTPServer | None = None

    @property
    def address(self) -> str:
        """The page's address."""
        assert self._server is not None
        return f"http://127.0.0.1:{self._server.server_address[1]}/today"

    def tell(self, *facts: kinds.AnyFact, after_s: float = 1.0) -> FakeDesk:
        """These facts happened, one after another."""
        with self._changed:
            for fact in facts:
                self.view.apply(kinds.Entry(self.view.seq + 1, self.at_us, fact))
                self.at_us += round(after_s * S)
            self._changed.notify_all()
        return self

    def change(self, **changed: Any) -> FakeDesk:
        """What isn't in the recording is so from now on."""
        with self._changed:
            for name, value in changed.items():
                setattr(self, name, value)
            self._news += 1
            self._changed.notify_all()
        return self

    def requests(self) -> list[str]:
        """The requests that were made of the bridge, in order, without the signs of presence."""
        made = [one["request"] for one in self.asked if one["address"] == "/today/request"]
        return [one for one in made if one != "here"]

    @contextmanager
    def serving(self) -> Iterator[FakeDesk]:
        """Serve the page meanwhile."""
        desk = self

        class Handler(_Handler):
            own = desk

        self._server = server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        server.daemon_threads = True
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
        thread.start()
        try:
            yield self
        finally:
            self.go_away()
            thread.join()

    def go_away(self) -> None:
        """Nothing answers any more."""
        if self._server is not None:
            server, self._server = self._server, None
            server.shutdown()
            server.server_close()

    def answer(self, has: dict[str, Any]) -> dict[str, Any]:
        """What is newer than what the page has, awaited for a while."""
        until_s = time.monotonic() + WAITS_S
        with self._changed:
            same = has["stream"] == "made day"
            while same and has["after"] >= self.view.seq and has["news"] == self._news:
                left_s = until_s - time.monotonic()
                if left_s <= 0:
                    break
                self._changed.wait(left_s)
            whole = not same or has["news"] != self._news
            picture = self.view.batch(0 if whole else has["after"])
            picture["items"] = {**picture.get("items", {}), **self.laid}
            judged = badge(self.view.recorded_state(), self.sight)
            shown = {**msgspec.to_builtins(judged), "speaks": judged.name in MACHINE_IS_THERE}
            return {
                "stream": "made day",
                "mode": "live",
                "news": self._news,
                "whole": whole,
                "badge": shown,
                "picture": picture,
                "bridge": self.bridge,
                "signed_in": self.signed_in,
            }


class _Handler(BaseHTTPRequestHandler):
    own: FakeDesk
    disable_nagle_algorithm = True

    def log_message(self, *_: Any) -> None:
        """Nothing is printed."""

    def do_GET(self) -> None:  # noqa: N802
        if self.path == "/today":
            html = (ROOT / "web/desk/index.html").read_text("utf-8")
            self._send(
                200, html.replace('name="token" content=""', f'name="token" content="{TOKEN}"'), ".html"
            )
            return
        place = self.path.removeprefix("/today/files/").split("/")
        if self.path == "/today/files/words/languages.js":
            self._send(200, 'export const LANGUAGES = ["de", "en", "he"];', ".js")
        elif len(place) == 2 and place[0] in FOLDERS and (ROOT / "web" / place[0] / place[1]).is_file():
            path = ROOT / "web" / place[0] / place[1]
            self._send(200, path.read_bytes(), path.suffix)
        else:
            self._send(404, "nothing", ".js")

    def do_POST(self) -> None:  # noqa: N802
        content = self.rfile.read(int(self.headers["Content-Length"] or 0))
        is_json = self.headers["Content-Type"] == "application/json"
        given = json.loads(content) if is_json else {"photograph": len(content)}
        if self.path == "/today/ask":
            if self.own.refuses:
                self._send(self.own.refuses, "{}", ".js")
            else:
                self._send(200, json.dumps(self.own.answer(given)), ".js")
            return
        self.own.asked.append({"address": self.path, "token": self.headers["X-Exhibit-Token"], **given})
        why = self.own.answers.get(str(given.get("request", self.path)), "")
        if not why:
            self.own.on_request({"address": self.path, **given})
        self._send(200, json.dumps({"accepted": not why, "why": why}), ".js")

    def _send(self, status: int, content: str | bytes, kind: str) -> None:
        body = content.encode() if isinstance(content, str) else content
        self.send_response(status)
        for name, value in HEADERS.items():
            self.send_header(name, value)
        self.send_header("Content-Type", TYPES[kind])
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        with suppress(BrokenPipeError):
            self.wfile.write(body)
