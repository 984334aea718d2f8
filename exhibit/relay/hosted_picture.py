"""What a hosted page worker shows, and whom to wake when there is something newer, as web's Picture does.

Stream names and numbers are the museum's own, so at every worker they are the same, and a page that lost one
worker goes on at another. If nothing comes from the museum, the page keeps showing what came last, and its
badge says so.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from typing import Any, Final

import msgspec

from exhibit.relay.kept import Kept
from exhibit.relay.messages import Sent
from exhibit.web.picture import Ask
from exhibit.web.waking import Waking

NOT_HEARD_AFTER_S: Final = 4.0
"""The relay gives a sign of life at least each second, and pages must say within 5 s that there is none."""
LOOK_EVERY_S: Final = 0.25
NOT_HEARD: Final = "museum not heard"
MOST_KNOWN: Final = 64
_HEAD: Final = ("stream", "mode", "news", "badge", "machine")
_OPENING: Final = {
    "name": "opening",
    "since": "",
    "simulated": False,
    "rate": 1.0,
    "speaks": False,
    "closed": False,
}


class HostedPicture:
    """The picture that the relay sends."""

    def __init__(self, steady_s: Callable[[], float] = time.monotonic) -> None:
        self._steady_s = steady_s
        self.waking = Waking()
        self._began_s = steady_s()
        self._heard_s: float | None = None
        self._said_not_heard = False
        self._run = ""
        self._number = 0
        self._head: dict[str, Any] = {"stream": "", "mode": "live", "news": 0, "badge": _OPENING}
        self._kept: Kept | None = None
        self._known: dict[int, None] = {}
        """The last facts up to which answers came: what pages have, unless somebody made it up."""
        self._encoded: dict[tuple[int, bool], bytes] = {}
        self.drawn: Mapping[str, str] = {}

    def has(self, sent: Sent) -> bool:
        """Whether this answer was taken in before."""
        return sent.run == self._run and sent.number <= self._number

    def take(self, sent: Sent) -> bool:
        """Take in an answer. Returns False if one before it is missing, so that a whole one is needed."""
        if self.has(sent):
            return True
        answer = sent.answer
        batch = answer.get("picture")
        whole = answer.get("whole", True)
        if not whole and (sent.run, sent.number) != (self._run, self._number + 1):
            return False
        self._run, self._number = sent.run, sent.number
        before = self._kept
        items_seq = before.items_seq if before else 0
        if whole:
            self._kept = Kept() if batch else None
        if batch and self._kept is not None:
            self._kept.add(batch, self._steady_s())
            if whole and before and answer["stream"] == self._head["stream"] and before.seq <= self._kept.seq:
                self._kept.remember(before)
            self._remember(self._kept.seq)
        head: dict[str, Any] = {name: answer[name] for name in _HEAD if name in answer}
        for_phones = (
            whole
            or head["news"] != self._head["news"]
            or (self._kept is not None and self._kept.items_seq != items_seq)
        )
        self._head = head
        self._wake(for_phones)
        return True

    def _remember(self, seq: int) -> None:
        self._known[seq] = None
        while len(self._known) > MOST_KNOWN:
            del self._known[next(iter(self._known))]

    def hear(self) -> None:
        """The relay has given a sign of life."""
        self._heard_s = self._steady_s()
        self.look()

    def look(self) -> None:
        """Whether the museum is heard may have changed, for time has passed."""
        not_heard = self.silent_s() > NOT_HEARD_AFTER_S
        if not_heard != self._said_not_heard:
            self._said_not_heard = not_heard
            self._wake(True)

    def silent_s(self) -> float:
        """How long nothing has come from the museum."""
        return self._steady_s() - (self._began_s if self._heard_s is None else self._heard_s)

    @property
    def is_ready(self) -> bool:
        """Whether it is known what to show: the picture, or that the museum isn't heard."""
        return self._heard_s is not None or self._said_not_heard

    def drawn_now(self) -> list[Mapping[str, str]]:
        """The pictures of parts."""
        return [self.drawn]

    def has_newer(self, ask: Ask) -> bool:
        """Whether there is anything that the page doesn't have."""
        if self._kept is not None and ask.stream == self._head["stream"] and ask.after > self._kept.seq:
            return False  # another worker was ahead by a moment
        if ask.news != self._news:
            return True
        if self._kept is None:
            return False
        if ask.stream != self._head["stream"]:
            return True
        return ask.after < (self._kept.seq if ask.console else self._kept.items_seq)

    def encoded_answer(self, ask: Ask, besides: dict[str, Any], controls: bool) -> bytes:
        """What is new to a page that has what `ask` says, as JSON, with what every answer says `besides`."""
        answer = self._head | {"news": self._news} | besides
        if not self.is_ready:
            answer["badge"] = _OPENING
        elif self._said_not_heard:
            # A recording that was shown instead stays; that the museum isn't heard is then said beside it.
            told = "machine" if answer["mode"] == "meanwhile" else "badge"
            answer[told] = answer.get(told, _OPENING) | self._not_heard()
        if self._kept is not None:
            fits = ask.stream == answer["stream"] and ask.after <= self._kept.seq
            after = ask.after if fits else 0
            answer["whole"] = after == 0
            answer["picture"] = msgspec.Raw(self._encoded_batch(self._kept, after, ask.console))
        return msgspec.json.encode(answer)

    @property
    def _news(self) -> int:
        """The museum's number, and whether it is heard: at every worker the same for the same."""
        state = 0 if not self.is_ready else 2 if self._said_not_heard else 1
        return 3 * int(self._head["news"]) + 1 + state

    def _not_heard(self) -> dict[str, Any]:
        since = self._kept.at if self._kept else ""
        return {"name": NOT_HEARD, "since": since, "speaks": False, "closed": False}

    def _encoded_batch(self, kept: Kept, after: int, console: bool) -> bytes:
        if (encoded := self._encoded.get((after, console))) is None:
            encoded = msgspec.json.encode(kept.batch(after, console, self._steady_s()))
            if after == 0 or after in self._known:
                self._encoded[after, console] = encoded
        return encoded

    def _wake(self, for_phones: bool) -> None:
        self._encoded.clear()
        self.waking.wake_screens()
        if for_phones:
            self.waking.wake_phones()
