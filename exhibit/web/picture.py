"""What the pages show at this moment, and whom to wake when there is something newer.

A page asks for what comes after the last fact that it has. It gets an answer when there is something newer,
or after a second or two with the badge only; so a page that hears nothing knows that the web process is
gone. Nothing is kept for a page between two questions.

While nothing happens at the machine, another picture, of a recording, can be shown instead. It says that it
is recorded, and whatever happens at the machine replaces it at once.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from typing import Any, Literal, Protocol

import msgspec

from exhibit.decisions.page.badge import MACHINE_IS_THERE, NOBODY_WATCHES, Badge, Sight, badge
from exhibit.decisions.page.views import View
from exhibit.decisions.story.hints import LIVE_ONLY
from exhibit.web.waking import Waking

ANSWER_WITHIN_S = 1.0
ANSWER_A_PHONE_WITHIN_S = 2.0
"""Phones are many, so each of them asks half as often while nothing happens. A page that hears nothing for
3.5 s says that it isn't connected (web/visitor/page.js)."""
MOST_KEPT_ANSWERS = 64
"""Most pages that are open at the same time have the same facts, those of one of the last few answers."""
MOST_GIVEN = 1024
"""How many of the numbers are known that pages were given and can ask after. What comes after another number
is put together for the page that asks, and kept for none: otherwise a visitor could ask after them all."""
LONGEST_STREAM_NAME = 200
TOO_MANY = 2**53
"""From here on, numbers aren't exact in a browser."""


class Ask(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A page's question: which stream it shows, the last fact of it that it has, and the last news number.

    A page that doesn't show the console, as on a phone, asks without its rows.
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
            raise ValueError("a question beyond its bounds")


class Shown(Protocol):
    """What pages are shown: all that a conversation with a page needs to know of it.

    `waking` is told whom to wake when `has_newer` may have become true; `encoded_answer` is called once it
    has, or when `limit_s` is over.
    """

    waking: Waking

    def has_newer(self, ask: Ask) -> bool:
        """Whether there is anything that the page doesn't have."""

    def encoded_answer(self, ask: Ask, besides: dict[str, Any], controls: bool) -> bytes:
        """What is new to a page that has what `ask` says, as JSON, with what every answer says `besides`.

        It has the controls only if they are wanted.
        """

    def drawn_now(self) -> list[Mapping[str, str]]:
        """The pictures of parts that are shown just now, by their names."""


def limit_s(ask: Ask) -> float:
    """How long a page waits for something newer before it gets an answer without."""
    return ANSWER_WITHIN_S if ask.console else ANSWER_A_PHONE_WITHIN_S


class Picture:
    """A view, the name of its stream, and its badge."""

    def __init__(
        self, mode: Literal["live", "replay"], steady_s: Callable[[], float] = time.monotonic
    ) -> None:
        self.mode = mode
        self._steady_s = steady_s
        self._instead: Picture | None = None
        self._shown_for: Picture | None = None
        self._happened_s = steady_s()
        self.view = View()
        self.drawn: Mapping[str, str] = {}
        """The pictures of parts, if the view may come from a keyframe, which is kept without them."""
        self.stream = ""
        self._controls: dict[str, Any] | None = None
        self._sight = Sight(mode=mode, catching_up=mode == "live")
        self._badge: Badge = badge(self.view.recorded_state(), self._sight)
        self._news = 1
        self.waking = Waking()
        self._woken_phones_for = (0, "", 0)
        self._given: dict[int, None] = {0: None}
        self._encoded: dict[tuple[int, bool], bytes] = {}

    def show(self, view: View, stream: str) -> None:
        """Show another view under another stream name: every page then gets all of it."""
        self.view, self.stream = view, stream
        self._given = {0: None}
        self.changed()

    def changed(self, happened: bool = True) -> None:
        """The view has taken in more facts. `happened` is False if they were only signs of life."""
        self._encoded.clear()
        if happened:
            self._happened_s = self._steady_s()
            self._drop_instead()
        self._judge()
        self._wake()

    def show_instead(self, other: Picture) -> None:
        """Show a recording until something happens at the machine, which then replaces it at once."""
        self._instead, other._shown_for = other, self
        self._news += 1
        self._wake()

    def shows_instead(self, other: Picture) -> bool:
        """Whether pages are still shown this other picture."""
        return self._instead is other

    def drawn_now(self) -> list[Mapping[str, str]]:
        """The pictures of parts in this recording, and in the one that is shown instead of it."""
        shown = [self] if self._instead is None else [self, self._instead]
        return [one.drawn or (one.view.opened.pictures if one.view.opened else {}) for one in shown]

    def quiet_s(self) -> float:
        """How long the machine has been away or resting with nothing happening; 0 while it is there."""
        if self._badge.name in MACHINE_IS_THERE or self._sight.catching_up:
            return 0.0
        return self._steady_s() - self._happened_s

    def _drop_instead(self) -> None:
        if self._instead is not None:
            self._instead = None
            self._news += 1

    def see(self, sight: Sight) -> None:
        """Take in what was seen from outside the recording, which may change the badge."""
        self._sight = sight
        if self._judge():
            self._wake()

    def control(self, controls: dict[str, Any]) -> None:
        """Take in the new state of the replay controls."""
        if controls != self._controls:
            self._controls = controls
            self._news += 1
            self._wake()

    @property
    def catching_up(self) -> bool:
        """Whether the end of the recording hasn't been reached yet. Pages then show only the badge."""
        return self._sight.catching_up

    @property
    def badge(self) -> Badge:
        """The current badge."""
        return self._badge

    def answer(self, ask: Ask) -> dict[str, Any]:
        """What is new to a page that has what `ask` says, as plain JSON values."""
        shown = self._instead or self
        answer = self._head(shown)
        if not shown._sight.catching_up:
            after = shown._after(ask)
            answer["whole"] = after == 0
            answer["picture"] = shown._batch(after, ask.console)
        return answer

    def encoded_answer(self, ask: Ask, besides: dict[str, Any], controls: bool) -> bytes:
        """The same as JSON: see Shown.

        The new facts are encoded only once for all pages that have the same.
        """
        shown = self._instead or self
        answer = self._head(shown) | besides
        if not controls:
            answer.pop("controls", None)
        if not shown._sight.catching_up:
            after = shown._after(ask)
            answer["whole"] = after == 0
            answer["picture"] = msgspec.Raw(shown._encoded_batch(after, ask.console))
        return msgspec.json.encode(answer)

    def _head(self, shown: Picture) -> dict[str, Any]:
        head: dict[str, Any] = {
            "stream": shown.stream,
            "mode": "meanwhile" if self._instead else self.mode,
            "news": self._news,
            "badge": _as_json(shown._badge),
        }
        if self._instead:
            head["machine"] = _as_json(self._badge)
            if self._badge.practice:  # whatever is shown in its place, it is a practice's page
                head["badge"]["practice"] = True
            if self._badge.name in NOBODY_WATCHES:
                # What a docent should do stays on the page until somebody has checked the machine.
                head["machine"]["trouble"] = self.view.trouble
        if self._controls is not None:
            head["controls"] = self._controls
        return head

    def _after(self, ask: Ask) -> int:
        return ask.after if ask.stream == self.stream and ask.after <= self.view.seq else 0

    def has_newer(self, ask: Ask) -> bool:
        """Whether there is anything that the page doesn't have."""
        if ask.news != self._news:
            return True
        shown = self._instead or self
        if shown._sight.catching_up:
            return False
        if ask.stream != shown.stream or ask.after > shown.view.seq:
            return True
        return ask.after < (shown.view.seq if ask.console else shown.view.items_seq)

    def _encoded_batch(self, after: int, console: bool) -> bytes:
        self._give(self.view.seq)
        encoded = self._encoded.get((after, console))
        if encoded is None:
            encoded = msgspec.json.encode(self._batch(after, console))
            if after in self._given and self._has_room_for(after):
                self._encoded[after, console] = encoded
        return encoded

    def _has_room_for(self, after: int) -> bool:
        """Make room, if needed, by dropping the answer to pages that are furthest behind: they are few."""
        if len(self._encoded) < MOST_KEPT_ANSWERS:
            return True
        furthest_behind = min(kept for kept in self._encoded if kept[0])
        if 0 < after <= furthest_behind[0]:
            return False
        del self._encoded[furthest_behind]
        return True

    def _give(self, seq: int) -> None:
        """Pages are given this number now, and will ask after it."""
        if seq not in self._given:
            if len(self._given) >= MOST_GIVEN:
                del self._given[next(given for given in self._given if given)]  # the oldest, but 0 stays
            self._given[seq] = None

    def _batch(self, after: int, console: bool) -> dict[str, Any]:
        batch = self.view.batch(after, console)
        if self.mode == "replay":
            # A recording asks nobody to look or listen: the machine may be cold.
            for name in ("caption", *LIVE_ONLY):
                batch.get("items", {}).pop(name, None)
        return batch

    def _judge(self) -> bool:
        judged = badge(self.view.recorded_state(), self._sight)
        if judged == self._badge:
            return False
        self._news += 1
        if judged.name != self._badge.name:
            # The page first says plainly what is new: the machine is back, or away for another reason.
            self._happened_s = self._steady_s()
            self._drop_instead()
        self._badge = judged
        return True

    def _wake_all(self) -> None:
        self._woken_phones_for = (0, "", 0)
        self._wake()

    def _wake(self) -> None:
        self.waking.wake_screens()
        news = (self._news, self.stream, self.view.items_seq)
        if news != self._woken_phones_for:
            self._woken_phones_for = news
            self.waking.wake_phones()
        if self._shown_for is not None and self._shown_for.shows_instead(self):
            self._shown_for._wake_all()


def _as_json(judged: Badge) -> dict[str, Any]:
    may_run = {"may_run": msgspec.to_builtins(judged.may_run)} if judged.may_run else {}
    practice = {"practice": True} if judged.practice else {}
    return {
        **may_run,
        **practice,
        "name": judged.name,
        "since": judged.since,
        "simulated": judged.simulated,
        "rate": judged.rate,
        "speaks": judged.name in MACHINE_IS_THERE,
        "closed": judged.closed,
    }
