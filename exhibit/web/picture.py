"""What the pages are shown at this moment, and the greenlets that wait for something newer.

A page asks for what comes after the last fact that it has. It gets one answer when there is
something newer, and otherwise after a second or two with the badge alone, so that a page knows from the
silence that the web process is gone. Nothing is kept for a page between two questions.

While nothing happens at the machine another picture, of a recording, can be shown instead. It says
that it is recorded, and what happens at the machine takes its place at once.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any, Literal

import msgspec

from exhibit.decisions.page.badge import NOBODY_SEES, STILL_SPEAKS, Badge, Sight, badge
from exhibit.decisions.page.views import View
from exhibit.decisions.story.telling import LIVE_ONLY
from exhibit.web.encoded_json import Written
from exhibit.web.waking import Waking

ANSWER_WITHIN_S = 1.0
ANSWER_A_PHONE_WITHIN_S = 2.0
"""Of many phones each asks half as often while nothing happens. A page that hears nothing for 3.5 s says that
it is cut off (web/visitor/page.js)."""
MOST_KEPT_ANSWERS = 64
"""Most pages that are open at the same time have the same facts. But each page chooses the number that it
asks after, so a visitor could choose them all."""
LONGEST_STREAM_NAME = 200
TOO_MANY = 2**53
"""Numbers from here on aren't exact in a browser."""


class Ask(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a page asks: which stream it shows, the last fact it has of it, the last news it was told.

    A page that doesn't show the console, such as a phone's, asks without its rows.
    """

    stream: str = ""
    after: int = 0
    news: int = 0
    console: bool = True

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
        self._waking = Waking()
        self._told_groups = (0, "", 0)
        self._written: dict[tuple[int, bool], bytes] = {}

    def show(self, view: View, stream: str) -> None:
        """Show another view, as another stream: every page then gets all of it."""
        self.view, self.stream = view, stream
        self.changed()

    def changed(self, happened: bool = True) -> None:
        """The view has seen further facts. `happened` is false for a mere sign of life."""
        self._written.clear()
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
        told = self._head(shown)
        if not shown._sight.catching_up:
            after = shown._after(ask)
            told["whole"] = after == 0
            told["picture"] = shown._batch(after, ask.console)
        return told

    def written_answer(self, ask: Ask, also: dict[str, Any], controls: bool) -> Written:
        """The same as JSON, with what stands in `also`, and without the controls unless they are wanted.

        What is new is written once for all pages that have the same.
        """
        shown = self._instead or self
        told = self._head(shown) | also
        if not controls:
            told.pop("controls", None)
        if shown._sight.catching_up:
            return Written(msgspec.json.encode(told).decode())
        after = shown._after(ask)
        told["whole"] = after == 0
        told["picture"] = msgspec.Raw(shown._written_batch(after, ask.console))
        return Written(msgspec.json.encode(told).decode())

    def _head(self, shown: Picture) -> dict[str, Any]:
        told: dict[str, Any] = {
            "stream": shown.stream,
            "mode": "meanwhile" if self._instead else self.mode,
            "news": self._news,
            "badge": _told(shown._badge),
        }
        if self._instead:
            told["machine"] = _told(self._badge)
            if self._badge.name in NOBODY_SEES:
                # What a docent is to do stays on the page for as long as nobody has looked.
                told["machine"]["trouble"] = self.view.trouble
        if self._controls is not None:
            told["controls"] = self._controls
        return told

    def _after(self, ask: Ask) -> int:
        return ask.after if ask.stream == self.stream and ask.after <= self.view.seq else 0

    def has_newer(self, ask: Ask) -> bool:
        """Is there anything that the page doesn't have?"""
        if ask.news != self._news:
            return True
        shown = self._instead or self
        if shown._sight.catching_up:
            return False
        if ask.stream != shown.stream or ask.after > shown.view.seq:
            return True
        return ask.after < (shown.view.seq if ask.console else shown.view.items_seq)

    def wait_for_newer(self, ask: Ask, limit_s: float | None = None) -> None:
        """Wait until there is something newer, or for `limit_s`."""
        if limit_s is None:
            limit_s = ANSWER_WITHIN_S if ask.console else ANSWER_A_PHONE_WITHIN_S
        wait = self._waking.wait if ask.console else self._waking.wait_in_a_group
        until_s = time.monotonic() + limit_s
        while not self.has_newer(ask) and (left_s := until_s - time.monotonic()) > 0:
            wait(left_s)

    def _written_batch(self, after: int, console: bool) -> bytes:
        written = self._written.get((after, console))
        if written is None:
            if len(self._written) >= MOST_KEPT_ANSWERS:
                del self._written[next(iter(self._written))]  # the oldest
            written = self._written[after, console] = msgspec.json.encode(self._batch(after, console))
        return written

    def _batch(self, after: int, console: bool) -> dict[str, Any]:
        batch = self.view.batch(after, console)
        if self.mode == "replay":
            # A cold machine's lamps tell nothing: nobody is told to look or listen at a recording.
            for name in ("caption", *LIVE_ONLY):
                batch.get("items", {}).pop(name, None)
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

    def _wake_all(self) -> None:
        self._told_groups = (0, "", 0)
        self._wake()

    def _wake(self) -> None:
        self._waking.tell()
        news = (self._news, self.stream, self.view.items_seq)
        if news != self._told_groups:
            self._told_groups = news
            self._waking.tell_groups()
        if self._shown_for is not None and self._shown_for.shows_instead(self):
            self._shown_for._wake_all()


def _told(judged: Badge) -> dict[str, Any]:
    may_run = {"may_run": msgspec.to_builtins(judged.may_run)} if judged.may_run else {}
    return {
        **may_run,
        "name": judged.name,
        "since": judged.since,
        "simulated": judged.simulated,
        "rate": judged.rate,
        "speaks": judged.name in STILL_SPEAKS,
        "closed": judged.closed,
    }
