"""What the pages are shown at this moment, and the greenlets that wait for something newer.

A page asks for what comes after the last fact that it has. It gets one answer when there is
something newer, and otherwise after a second with the badge alone, so that a page knows from the
silence that the web process is gone. Nothing is kept for a page between two questions.
"""

from __future__ import annotations

import time
from typing import Any, Literal

import gevent.event
import msgspec

from exhibit.decisions.badge import STILL_SPEAKS, Badge, Sight, badge
from exhibit.decisions.views import View

ANSWER_WITHIN_S = 1.0
LONGEST_STREAM_NAME = 200
TOO_MANY = 2**53
"""Numbers from here on aren't exact in a browser."""


class Ask(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a page asks: which stream it shows, the last fact it has of it, the last news it was told."""

    stream: str = ""
    after: int = 0
    news: int = 0

    def __post_init__(self) -> None:
        if (
            len(self.stream) > LONGEST_STREAM_NAME
            or not 0 <= self.after < TOO_MANY
            or not 0 <= self.news < TOO_MANY
        ):
            raise ValueError("beyond the bounds of an ask")


class Picture:
    """A view, whose stream it is, and what its badge says."""

    def __init__(self, mode: Literal["live", "replay"]) -> None:
        self.mode = mode
        self.view = View()
        self.stream = ""
        self._controls: dict[str, Any] | None = None
        self._sight = Sight(mode=mode, catching_up=mode == "live")
        self._badge: Badge = badge(self.view.standing(), self._sight)
        self._news = 1
        self._newer = gevent.event.Event()
        self._made: dict[int, dict[str, Any]] = {}

    def show(self, view: View, stream: str) -> None:
        """Show another view, as another stream: every page then gets all of it."""
        self.view, self.stream = view, stream
        self.changed()

    def changed(self) -> None:
        """The view has seen further facts."""
        self._made.clear()
        self._judge()
        self._wake()

    def see(self, sight: Sight) -> None:
        """Something was seen from outside that may change the badge."""
        self._sight = sight
        if self._judge():
            self._wake()

    def control(self, controls: dict[str, Any]) -> None:
        """The replay controls stand like this now."""
        if controls != self._controls:
            self._controls = controls
            self._news += 1
            self._wake()

    @property
    def catching_up(self) -> bool:
        """Hasn't the end of what is written been reached yet? Pages are then shown nothing but the badge."""
        return self._sight.catching_up

    @property
    def badge(self) -> Badge:
        """The badge as it was last judged."""
        return self._badge

    def answer(self, ask: Ask) -> dict[str, Any]:
        """What is new to a page that has what `ask` says. Plain JSON values."""
        told: dict[str, Any] = {
            "stream": self.stream,
            "mode": self.mode,
            "news": self._news,
            "badge": {
                "name": self._badge.name,
                "since": self._badge.since,
                "simulated": self._badge.simulated,
                "rate": self._badge.rate,
                "speaks": self._badge.name in STILL_SPEAKS,
            },
        }
        if self._controls is not None:
            told["controls"] = self._controls
        if not self._sight.catching_up:
            after = ask.after if ask.stream == self.stream and ask.after <= self.view.seq else 0
            told["whole"] = after == 0
            told["picture"] = self._batch(after)
        return told

    def has_newer(self, ask: Ask) -> bool:
        """Is there anything that the page doesn't have?"""
        if ask.news != self._news:
            return True
        return not self._sight.catching_up and (ask.stream != self.stream or ask.after != self.view.seq)

    def answer_when_newer(self, ask: Ask, limit_s: float = ANSWER_WITHIN_S) -> dict[str, Any]:
        """The answer as soon as there is something newer, and otherwise after `limit_s`."""
        until_s = time.monotonic() + limit_s
        while not self.has_newer(ask) and (left_s := until_s - time.monotonic()) > 0:
            self._newer.wait(left_s)
        return self.answer(ask)

    def _batch(self, after: int) -> dict[str, Any]:
        batch = self._made.get(after)
        if batch is None:
            batch = self.view.batch(after)
            if self.mode == "replay":
                # A cold machine's lamps tell nothing: nobody is told to look or listen at a recording.
                batch.get("items", {}).pop("caption", None)
            self._made[after] = batch
        return batch

    def _judge(self) -> bool:
        judged = badge(self.view.standing(), self._sight)
        if judged == self._badge:
            return False
        self._news += 1
        self._badge = judged
        return True

    def _wake(self) -> None:
        # A new event for those who wait next: whoever waits now is woken however late it gets its turn.
        newer, self._newer = self._newer, gevent.event.Event()
        newer.set()
