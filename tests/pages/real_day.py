"""Follows the sample recording as if it were written now, moment by moment, on several screens at once."""

from __future__ import annotations

import datetime
import itertools
from collections import deque
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from msgspec import structs
from playwright.sync_api import Browser, Page

from exhibit.facts import kinds
from exhibit.facts.kinds import Entry
from exhibit.streams.recording import RecordingWriter
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE

KIOSKS = {"landscape": (1920, 1080), "portrait": (1080, 1920)}
LANGUAGES = ("en", "de")
Views = dict[tuple[str, str], Page]


@dataclass
class Moment:
    """When something stands on the page."""

    seq: int
    listens: bool
    """Whether the caption says what to listen for."""


def moments(entries: Sequence[Entry]) -> list[Moment]:
    """Two for each caption, request and end of a script: as it comes, and just before the next one."""
    found: list[Moment] = []
    for entry in entries:
        fact = entry.fact
        if isinstance(fact, (kinds.CaptionShown, kinds.HandsOnAsked, kinds.ScriptEnded)):
            if found and found[-1].seq < entry.seq - 1:
                found.append(replace(found[-1], seq=entry.seq - 1))
            listens = isinstance(fact, kinds.CaptionShown) and fact.kind == "look or listen for"
            found.append(Moment(entry.seq, listens))
    return found


class Day:
    """A recording in `folder` to which the day's facts are added as far as is asked, at their times."""

    def __init__(self, folder: Path, entries: Sequence[Entry]) -> None:
        opened = entries[0].fact
        assert isinstance(opened, kinds.RecordingOpened)
        self._began = datetime.datetime.fromisoformat(opened.wall)
        self._writer = RecordingWriter(folder, opened, reserve_bytes=4096)
        self._numbers = {1: 1}
        self._rest = deque(entries[1:])
        self._at_us = 0

    def goes_to(self, seq: int) -> int:
        """Add the facts up to the one with this number, and a sign of life. Gives the sign's own number."""
        while self._rest and self._rest[0].seq <= seq:
            entry = self._rest.popleft()
            fact = entry.fact
            assert not isinstance(fact, kinds.UnknownFact)
            if isinstance(fact, kinds.CaptionShown):  # signs of life have moved the facts that it rests on
                fact = structs.replace(fact, because=[self._numbers[one] for one in fact.because])
            self._at_us = entry.at_us
            self._numbers[entry.seq] = self._writer.append(fact, self._at_us).seq
        return self._lives()

    def rests(self) -> int:
        """The session rests for five minutes."""
        self._writer.append(kinds.SessionResting(until_us=self._at_us + 300_000_000), self._at_us)
        return self._lives()

    def _lives(self) -> int:
        wall = self._began + datetime.timedelta(microseconds=self._at_us)
        alive = kinds.Heartbeat(wall=wall.isoformat(timespec="milliseconds"))
        return self._writer.append(alive, self._at_us).seq

    def close(self) -> None:
        """Write no more."""
        self._writer.abandon()


@contextmanager
def screens(browser: Browser, address: str) -> Iterator[Views]:
    """A page for each kiosk and language."""
    with ExitStack() as stack:
        views: Views = {}
        for screen, tag in itertools.product(KIOSKS, LANGUAGES):
            width, height = KIOSKS[screen]
            context = browser.new_context(
                viewport={"width": width, "height": height}, reduced_motion="reduce"
            )
            stack.callback(context.close)
            page = context.new_page()
            page.goto(f"{address}?screen={screen}&lang={tag}")
            wait_until(page, HAS_PICTURE)
            page.evaluate("document.fonts.ready")
            wait_until(page, f"document.documentElement.lang === {tag!r}")
            views[screen, tag] = page
        yield views
