"""A page as web/visitor/kept.js keeps it, and pictures to ask, for the relay's tests."""

from __future__ import annotations

import json
from typing import Any

from exhibit.decisions.page.badge import Sight
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.relay.hosted_picture import HostedPicture
from exhibit.web.picture import Ask, Picture

WRITING = Sight(mode="live", writer="writing", silent_s=0.1)


class Page:
    """What a page in a browser has after the answers so far."""

    def __init__(self) -> None:
        self.stream, self.seq, self.news = "", 0, 0
        self.badge: dict[str, Any] = {}
        self.mode = ""
        self.wholes = 0
        self._forget()

    def _forget(self) -> None:
        self.items: dict[str, Any] = {}
        self.readings: dict[str, Any] = {}
        self.rows: dict[str, Any] = {}
        self.console: dict[str, Any] = {}
        self.printed: dict[int, str] = {}

    @property
    def ask(self) -> Ask:
        return Ask(stream=self.stream, after=self.seq, news=self.news)

    def take(self, answer: dict[str, Any]) -> None:
        self.badge, self.mode, self.news = answer["badge"], answer["mode"], answer["news"]
        batch = answer.get("picture")
        if answer.get("whole") or answer["stream"] != self.stream or not batch:
            self._forget()
            self.wholes += 1
        self.stream = answer["stream"]
        self.seq = batch["seq"] if batch else 0
        if not batch:
            return
        self.items |= batch.get("items", {})
        for display, taken in batch.get("readings", {}).items():
            self.readings[display] = self.readings.get(display, {}) | taken
        console = dict(batch.get("console", {}))
        self.printed |= dict(console.pop("printed", []))
        self.rows |= {str(number): row for number, row in console.pop("rows", {}).items()}
        self.console |= console

    def asks(self, hosted: HostedPicture) -> None:
        """Ask once."""
        self.take(json.loads(hosted.encoded_answer(self.ask, {"phone": ""}, False)))

    @property
    def shown(self) -> dict[str, Any]:
        """All of it, as JSON values."""
        first = self.console.get("first_row", 0)
        rows = {number: row for number, row in self.rows.items() if int(number) >= first}
        shown = {"items": self.items, "readings": self.readings, "rows": rows, "console": self.console}
        return json.loads(json.dumps(shown))  # type: ignore[no-any-return]


def picture_of(entries: list[kinds.Entry], stream: str = "a stream") -> Picture:
    """The museum's picture after these facts."""
    picture = Picture("live")
    view = View()
    picture.show(view, stream)
    picture.see(WRITING)
    tell(picture, entries)
    return picture


def tell(picture: Picture, entries: list[kinds.Entry]) -> None:
    """More facts."""
    for entry in entries:
        picture.view.apply(entry)
    picture.changed()
