"""Discs: packs, drives that take time to come up to speed, arms that seek, and the turning pack.

Every time is counted in whole microseconds of virtual time from where the arm and the pack really
are: seek, then the wait until the sector comes round, then the sector itself.
"""

import random
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

from exhibit.simulator.agenda import Agenda, Booking
from exhibit.simulator.faults import Faults
from exhibit.simulator.truth import DiscFailed, DriveChanged, TruthLog

MOST_TRIES_AGAIN = 3
SECOND_US = 1_000_000


@dataclass(frozen=True)
class Geometry:
    """How a drive is built. `seek_us` holds (tracks crossed, microseconds); invented, straight between."""

    rpm: int
    tracks: int
    sectors: int
    up_us: int
    down_us: int
    seek_us: tuple[tuple[int, int], ...]

    @property
    def turn_us(self) -> int:
        """One turn of the pack: 60/rpm seconds (references: half of it is the mean latency)."""
        return 60 * SECOND_US // self.rpm

    @property
    def sector_us(self) -> int:
        """One sector passing under the head: a turn divided by the sectors of a track."""
        return self.turn_us // self.sectors

    def seek_time_us(self, distance: int) -> int:
        """How long the arm takes to cross `distance` tracks; none for none."""
        if distance <= 0:
            return 0
        near = self.seek_us[0]
        if distance <= near[0]:
            return near[1]
        for far in self.seek_us[1:]:
            if distance <= far[0]:
                return near[1] + (far[1] - near[1]) * (distance - near[0]) // (far[0] - near[0])
            near = far
        return near[1]


SMALL = Geometry(3000, 128, 16, 8 * SECOND_US, 4 * SECOND_US, ((1, 5_000), (127, 40_000)))
BIG = Geometry(
    2400, 240, 20, 20 * SECOND_US, 10 * SECOND_US, ((1, 8_000), (20, 18_000), (80, 34_000), (239, 60_000))
)


@dataclass
class Pack:
    """What is on a disc. `words` holds one word for each sector that the exerciser has written."""

    label: str
    holds_tidebook: bool = False
    words: dict[tuple[int, int], int] = field(default_factory=dict)


@dataclass(frozen=True)
class Outcome:
    """How a transfer went: whether it worked, how often it failed, and the word read (or None)."""

    worked: bool
    failures: int
    word: int | None


@dataclass
class _Wanted:
    track: int
    sector: int
    word: int | None
    done: Callable[[Outcome], None]


class Drive:
    """One drive: standing, starting, ready or stopping. One transfer at a time, in order of asking."""

    def __init__(
        self,
        name: str,
        geometry: Geometry,
        agenda: Agenda,
        faults: Faults,
        dice: random.Random,
        truth: TruthLog,
        changed: Callable[["Drive"], None],
        failed: Callable[["Drive", int, int, bool, int, bool], None],
    ) -> None:
        self.name = name
        self.geometry = geometry
        self.state = "standing"
        self.pack: Pack | None = None
        self.protected = True
        self.track = 0
        self.transfers = 0
        self.errors = 0
        self.up_since_us = 0
        self._agenda = agenda
        self._faults = faults
        self._dice = dice
        self._truth = truth
        self._changed = changed
        self._failed = failed
        self._queue: deque[_Wanted] = deque()
        self._under_way: _Wanted | None = None
        self._booking: Booking | None = None
        self._spin: Booking | None = None

    @property
    def may_be_written(self) -> bool:
        """A pack is in it and is not protected."""
        return self.pack is not None and not self.protected

    def start(self) -> None:
        """Begin to turn; ready after `geometry.up_us`."""
        self._become("starting")
        self._spin = self._agenda.after(self.geometry.up_us, lambda: self._become("ready"))

    def stop(self) -> None:
        """Begin to slow down; standing after `geometry.down_us`. What was asked of it fails."""
        if self._spin is not None:
            self._spin.call_off()
        self._become("stopping")
        self.forget(tell=True)
        self._spin = self._agenda.after(self.geometry.down_us, lambda: self._become("standing"))

    def forget(self, *, tell: bool) -> None:
        """Give up the transfers asked for; `tell` whoever asked that they failed."""
        if self._booking is not None:
            self._booking.call_off()
        wanted = [*([self._under_way] if self._under_way else []), *self._queue]
        self._under_way = None
        self._queue.clear()
        if tell:
            for each in wanted:
                each.done(Outcome(False, 1, None))

    def ask(self, track: int, sector: int, word: int | None, done: Callable[[Outcome], None]) -> None:
        """Write `word` to a sector, or read it when `word` is None; `done` is called when it is over."""
        wanted = _Wanted(track, sector, word, done)
        if self.state != "ready":
            self._agenda.after(0, lambda: done(Outcome(False, 1, None)))
            return
        self._queue.append(wanted)
        self._next()

    def transfer_us(self, from_us: int, track: int, sector: int) -> int:
        """How long a transfer begun at `from_us` takes: seek, the wait for the sector, the sector."""
        seek_us = self.geometry.seek_time_us(abs(track - self.track))
        turn_us, sector_us = self.geometry.turn_us, self.geometry.sector_us
        angle_us = (from_us + seek_us - self.up_since_us) % turn_us
        return seek_us + (sector * sector_us - angle_us) % turn_us + sector_us

    def _become(self, state: str) -> None:
        self.state = state
        if state == "ready":
            self.up_since_us = self._agenda.now_us
            self.track = 0
        self._truth.tell(DriveChanged(at_us=self._agenda.now_us, drive=self.name, state=state))
        self._changed(self)

    def _next(self) -> None:
        if self._under_way is not None or not self._queue:
            return
        wanted = self._under_way = self._queue.popleft()
        took_us = self.transfer_us(self._agenda.now_us, wanted.track, wanted.sector)
        failures, rate = 0, self._faults.disc_rate
        while rate and failures <= MOST_TRIES_AGAIN and self._dice.random() < rate:
            failures += 1
        # Each further try waits for the sector to come round again: one turn.
        took_us += min(failures, MOST_TRIES_AGAIN) * self.geometry.turn_us
        self._booking = self._agenda.after(took_us, lambda: self._over(wanted, failures))

    def _over(self, wanted: _Wanted, failures: int) -> None:
        self._under_way = None
        self.track = wanted.track
        self.transfers += 1
        self.errors += failures
        worked = failures <= MOST_TRIES_AGAIN
        word = None
        if worked and self.pack is not None:
            if wanted.word is not None:
                self.pack.words[wanted.track, wanted.sector] = wanted.word
            word = self.pack.words.get((wanted.track, wanted.sector))
        if failures:
            writing = wanted.word is not None
            self._truth.tell(
                DiscFailed(
                    at_us=self._agenda.now_us,
                    drive=self.name,
                    track=wanted.track,
                    sector=wanted.sector,
                    writing=writing,
                    failures=failures,
                    recovered=worked,
                )
            )
            self._failed(self, wanted.track, wanted.sector, writing, failures, worked)
        wanted.done(Outcome(worked, failures, word))
        self._next()
