"""What the pages are shown at this moment, and the greenlets that wait for something newer.

A page asks for what comes after the last fact that it has. It gets one answer when there is
something newer, and otherwise after a second with the badge alone, so that a page knows from the
silence that the web process is gone. Nothing is kept for a page between two questions.

While nothing happens at the machine another picture, of a recording, can be shown instead. It says
that it is recorded, and what happens at the machine takes its place at once.
"""

from __future__ import annotations

import time
from collections.abc import Callable
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

    def __init__(
        self, mode: Literal["live", "replay"], steady_s: Callable[[], float] = time.monotonic
    ) -> None:
        self.mode = mode
        self._steady_s = steady_s
        self._instead: Picture | None = None
        self._shown_for: Picture | None = None
        self._happened_s = steady_s()
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

    def changed(self, happened: bool = True) -> None:
        """The view has seen further facts. `happened` is false for a mere sign of life."""
        self._made.clear()
        if happened:
            self._happened_s = self._steady_s()
            self._drop_instead()
        self._judge()
        self._wake()

    def show_instead(self, other: Picture) -> None:
        """Show a recording for as long as nothing happens at the machine; what happens there wins at once."""
        self._instead, other._shown_for = other, self
        self._news += 1
        self._wake()

    def shows_instead(self, other: Picture) -> bool:
        """Is this other picture still what pages are shown?"""
        return self._instead is other

    def quiet_s(self) -> float:
        """For how long the machine has been away or at rest with nothing happening; 0 while it is there."""
        if self._badge.name in STILL_SPEAKS or self._sight.catching_up:
            return 0.0
        return self._steady_s() - self._happened_s

    def _drop_instead(self) -> None:
        if self._instead is not None:
            self._instead = None
            self._news += 1

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
        shown = self._instead or self
        told: dict[str, Any] = {
            "stream": shown.stream,
            "mode": "meanwhile" if self._instead else self.mode,
            "news": self._news,
            "badge": _told(shown._badge),
        }
        if self._instead:
            told["machine"] = _told(self._badge)
        if self._controls is not None:
            told["controls"] = self._controls
        if not shown._sight.catching_up:
            after = ask.after if ask.stream == shown.stream and ask.after <= shown.view.seq else 0
            told["whole"] = after == 0
            told["picture"] = shown._batch(after)
        return told

    def has_newer(self, ask: Ask) -> bool:
        """Is there anything that the page doesn't have?"""
        if ask.news != self._news:
            return True
        shown = self._instead or self
        return not shown._sight.catching_up and (ask.stream != shown.stream or ask.after != shown.view.seq)

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
        if judged.name != self._badge.name:
            # The new state is said plainly first, whether the machine is there again or away otherwise.
            self._happened_s = self._steady_s()
            self._drop_instead()
        self._badge = judged
        return True

    def _wake(self) -> None:
        # A new event for those who wait next: whoever waits now is woken however late it gets its turn.
        newer, self._newer = self._newer, gevent.event.Event()
        newer.set()
        if self._shown_for is not None and self._shown_for.shows_instead(self):
            self._shown_for._wake()


def _told(judged: Badge) -> dict[str, Any]:
    return {
        "name": judged.name,
        "since": judged.since,
        "simulated": judged.simulated,
        "rate": judged.rate,
        "speaks": judged.name in STILL_SPEAKS,
    }
