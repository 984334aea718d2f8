"""Plays a recording to the pages: the same picture as live, at a chosen rate and from a chosen place.

All pages of a replay share one place in the recording, as at a screening.
"""

from __future__ import annotations

import math
import time
from pathlib import Path
from typing import Annotated, Literal

import gevent
import gevent.event
import msgspec
from msgspec import Meta

from exhibit.decisions.page.badge import Sight
from exhibit.decisions.page.views import VIEW_VERSION, View
from exhibit.streams.bounds import FASTEST, SLOWEST
from exhibit.streams.keyframes import Keyframes
from exhibit.streams.player import Player
from exhibit.streams.recording import find_seq, read_opened
from exhibit.web.picture import TOO_MANY, Picture

AT_ONCE = 200
SHORTEST_WAIT_S = 0.005
"""At a high rate, the facts of this much time are shown together."""
LONGEST_WAIT_S = 0.25
SLIDER_EVERY_US = 200_000
"""How often the slider moves, however much happens."""

Number = Annotated[float, Meta(ge=0, lt=float(TOO_MANY))]


class Control(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A request of a replay's page.

    `value` is how many times the original speed, microseconds on the recording's clock, or a fact's number.
    """

    do: Literal["play", "pause", "rate", "go to time", "go to fact"]
    value: Number = 0

    def __post_init__(self) -> None:
        if self.do == "rate" and not SLOWEST <= self.value <= FASTEST:
            raise ValueError("not a rate to play at")


class Replayer:
    """Plays a recording in a picture."""

    def __init__(
        self, picture: Picture, path: Path, rate: float = 1.0, cache_folder: Path | None = None
    ) -> None:
        """`rate` is how many times the original speed; infinity plays without waiting.

        Raises RecordingFault if the file isn't a readable recording, SetUpFault for a rate not above 0.
        """
        self._picture = picture
        self._path = path
        opened = read_opened(path)
        self._original_rate, picture.drawn = opened.rate, opened.pictures
        self._frames = Keyframes(path, View, VIEW_VERSION, cache_folder)
        end = find_seq(path, TOO_MANY)
        # Last, because it keeps the file open.
        self._player = Player(path, rate * self._original_rate)
        self._end_us, self._end_seq = end.at_us, end.seq
        self._jumps = 0
        self._slider_us = 0
        self._changed = gevent.event.Event()
        picture.see(Sight(mode="replay"))
        picture.show(View(), self._stream())
        self._player.resume(_now_us())
        self._move_slider(_now_us())

    def run(self) -> None:
        """Play until the greenlet is killed."""
        while True:
            self._changed.clear()
            if self.step():
                gevent.sleep(0)
                continue
            self._changed.wait(self._wait_s())

    def step(self) -> bool:
        """Show what is due. Returns whether more is due already."""
        entries = self._player.due(_now_us(), AT_ONCE)
        for entry in entries:
            self._picture.view.apply(entry)
        if entries:
            self._picture.changed()
        now_us = _now_us()
        if now_us - self._slider_us >= SLIDER_EVERY_US:
            self._move_slider(now_us)
        return len(entries) == AT_ONCE

    def control(self, request: Control) -> None:
        """Do what a page asked for."""
        now_us = _now_us()
        match request.do:
            case "play":
                self._player.resume(now_us)
            case "pause":
                self._player.pause(now_us)
            case "rate":
                self._player.set_rate(request.value * self._original_rate, now_us)
            case "go to time":
                self._jump(now_us, at_us=int(request.value))
            case "go to fact":
                self._jump(now_us, seq=int(request.value))
        self._move_slider(now_us)
        self._changed.set()

    def close(self) -> None:
        """Close the recording."""
        self._player.close()

    def _jump(self, now_us: int, *, seq: int | None = None, at_us: int | None = None) -> None:
        found = self._frames.seek(seq=seq) if seq is not None else self._frames.seek(at_us=at_us)
        self._player.go_to(found.position, now_us, at_us)
        self._jumps += 1
        self._picture.show(found.view, self._stream())

    def _stream(self) -> str:
        return f"{self._path.name} {self._jumps}"

    def _wait_s(self) -> float:
        now_us = _now_us()
        due_us = self._player.next_due_us(now_us)
        if due_us is None:
            return LONGEST_WAIT_S
        return min(LONGEST_WAIT_S, max(SHORTEST_WAIT_S, (due_us - now_us) / 1e6))

    def _move_slider(self, now_us: int) -> None:
        self._slider_us = now_us
        view, player = self._picture.view, self._player
        end_us = max(self._end_us, view.at_us)
        controls = {
            "playing": not player.paused,
            "ended": player.ended,
            "rate": None if math.isinf(player.rate) else player.rate / self._original_rate,
            "at_us": min(player.at_us(now_us), end_us),
            "end_us": end_us,
            "end_seq": max(self._end_seq, view.seq),
        }
        self._picture.control(controls)


def _now_us() -> int:
    return time.monotonic_ns() // 1000
