"""A world in which a bridge runs in virtual time: its clock, its inbox, and a machine at the far end."""

from __future__ import annotations

import heapq
import queue
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from exhibit.bridge.bridge import Bridge
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.session.day_programme import ByTheDay
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.withholding.withholding import Withholding
from exhibit.facts import kinds
from exhibit.line.events import Opened, Received
from exhibit.streams.pacing import RecordingClock
from exhibit.streams.pieces import PIECE_US
from exhibit.streams.recording import NextFile, RecordingWriter, read_all
from tests.decisions.deciders import decider_for
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import SECRET, opened

WALL = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
MOST_TURNS = 200_000


class World:
    """Replaces the bridge's inbox: waiting advances the time to the next event, or to the end of the wait.

    `handling_us` is how long it takes to handle an event.
    """

    def __init__(
        self, far_end: FarHeron | None = None, rate: float = 1.0, begins: datetime = WALL, now_us: int = 0
    ) -> None:
        self.now_us = now_us
        self._begins = begins
        self.far_end = far_end
        self.handling_us = 0
        self._rate = rate
        self.begin_clock()
        self.wall_ahead = timedelta()
        self._scheduled: list[tuple[int, int, Any]] = []
        self._turns = 0
        self.came_us: list[int] = []
        """When the bridge came for events."""

    def begin_clock(self) -> None:
        """Set the recording's clock to 0. The world's own time continues."""
        self.clock = RecordingClock(self._rate, lambda: self.now_us * 1000, self.wall)
        self._clock_from_us = self.now_us

    def wall(self) -> datetime:
        return self._begins + timedelta(microseconds=self.now_us) + getattr(self, "wall_ahead", timedelta())

    def at(self, at_us: int, event: Any) -> None:
        """Deliver this event at that time. If it is a function, call it instead."""
        heapq.heappush(self._scheduled, (at_us, self._turns + len(self._scheduled), event))

    # -- the inbox, as the bridge uses it

    def came(self) -> None:
        self.came_us.append(self.now_us)

    def put(self, event: Any) -> None:
        self.at(self.now_us, event)

    def get(self, timeout: float) -> Any:
        self._turns += 1
        assert self._turns < MOST_TURNS, "it goes on for ever"
        until_us = self.now_us + round(timeout * 1_000_000)
        while (due_us := self._next_us()) is not None and due_us <= until_us:
            self.now_us = max(self.now_us, due_us) + self.handling_us
            event = self._take(due_us)
            if not callable(event):
                return event
            event()
        self.now_us = max(self.now_us, until_us)
        raise queue.Empty

    def empty(self) -> bool:
        due_us = self._next_us()
        return due_us is None or due_us > self.now_us

    def _next_us(self) -> int | None:
        due = [self._scheduled[0][0]] if self._scheduled else []
        printed_us = self.far_end.next_us() if self.far_end else None
        return min([*due, *([printed_us] if printed_us is not None else [])], default=None)

    def _take(self, due_us: int) -> Any:
        if self._scheduled and self._scheduled[0][0] == due_us:
            return heapq.heappop(self._scheduled)[2]
        assert self.far_end is not None
        return Received(self.far_end.take(), self.now_us - self._clock_from_us)


class Staged:
    """A bridge in its world, its recording in `place`, and what it typed."""

    def __init__(
        self,
        place: Path,
        folder: Folder,
        wanted: Wanted | ByTheDay | None,
        far_end: FarHeron | None = None,
        writer: Callable[[Path, kinds.RecordingOpened], RecordingWriter] = RecordingWriter,
        begins: datetime = WALL,
        left: kinds.LastRecordingRead | None = None,
        keeps_time: bool = False,
        character_us: float = PIECE_US,
    ) -> None:
        self._place = place
        self._character_us = character_us
        self._left = left
        self.world = World(far_end, begins=begins)
        self.folder, self.wanted = folder, wanted
        self.typed: list[int] = []
        self.while_typing: Callable[[int], str] = lambda byte: ""
        self._begin(writer, None)
        self.opens_at(1_000, keeps_time)

    def _begin(
        self,
        writer: Callable[..., RecordingWriter],
        carried_over: kinds.CarriedOver | None,
        opening: int = 0,
        begun: NextFile | None = None,
    ) -> None:
        first = opened(self.folder.machine, wall=self.world.clock.opened_wall)
        self.writer = writer(self._place, first) if begun is None else writer(self._place, first, begun=begun)
        self.bridge = Bridge(
            decider_for(self.folder, first, self.wanted, {"word": SECRET}),
            self.writer,
            self.world.clock,
            self.type_byte if self.wanted is not None else None,
            self.world,  # type: ignore[arg-type]
            self._left if carried_over is None else None,
            carried_over,
            opening,
            withholding=Withholding(self.folder.machine, (SECRET,)),
            character_us=self._character_us,
        )

    def another_day(self, carried_over: kinds.CarriedOver) -> None:
        """Begin a new recording, with its own clock, that continues where the last one ended."""
        self.world.begin_clock()
        self._begin(RecordingWriter, carried_over, self.bridge.opening, self.writer.next_file)

    def opens_at(self, at_us: int, keeps_time: bool = False) -> None:
        self.world.at(at_us, Opened("a line", at_us, 1, keeps_time))

    def receives_at(self, at_us: int, data: bytes, stamped_us: int | None = None) -> None:
        self.world.at(at_us, Received(data, at_us if stamped_us is None else stamped_us))

    def type_byte(self, byte: int, opening: int) -> str:
        why = self.while_typing(byte)
        if not why:
            self.typed.append(byte)
            if self.world.far_end is not None:
                self.world.far_end.typed(byte, self.world.now_us)
        return why

    def entries(self) -> list[kinds.Entry]:
        return list(read_all(self.writer.path).entries)

    def facts(self, *of: type) -> list[Any]:
        return [entry.fact for entry in self.entries() if not of or isinstance(entry.fact, of)]
