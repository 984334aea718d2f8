"""Discs: packs, drives that take time to reach full speed, arms that seek, and packs that turn.

Each transfer takes the time that the positions of the arm and the pack imply, in whole microseconds of
virtual time: the seek, then the wait until the sector comes round, then the sector itself.
"""

import random
from collections import deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from exhibit.simulator.agenda import Agenda, Booking
from exhibit.simulator.faults import Faults
from exhibit.simulator.truth import DiscFailed, DriveChanged, TruthLog

MOST_RETRIES = 3
SECOND_US = 1_000_000


@dataclass(frozen=True)
class Geometry:
    """How a drive is built.

    `seek_us` holds pairs (tracks crossed, microseconds); times between two of them lie on a straight
    line. The figures are invented.
    """

    rpm: int
    tracks: int
    sectors: int
    up_us: int
    down_us: int
    seek_us: tuple[tuple[int, int], ...]

    @property
    def turn_us(self) -> int:
        """One turn of the pack: 60/rpm seconds. Half of it is the mean latency."""
        return 60 * SECOND_US // self.rpm

    @property
    def sector_us(self) -> int:
        """The time that a sector takes to pass under the head: a turn divided by the sectors of a track."""
        return self.turn_us // self.sectors

    def seek_time_us(self, distance: int) -> int:
        """How long the arm takes to cross `distance` tracks; 0 if it is already there."""
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
    """What is on a disc. `words` holds one word for each sector that has been written to."""

    label: str
    holds_tidebook: bool = False
    words: dict[tuple[int, int], int] = field(default_factory=dict)


@dataclass(frozen=True)
class Outcome:
    """The result of a transfer: whether it worked, how often it failed first, and the word read, if any."""

    worked: bool
    failures: int
    word: int | None


@dataclass
class _Transfer:
    track: int
    sector: int
    word: int | None
    done: Callable[[Outcome], None]


class Drive:
    """One drive: standing, starting, ready or stopping. It makes one transfer at a time, in order of asking.

    `changed` is called after each change of state, `failed` after each transfer that failed at least once.
    `scatter` is the deviation of its time to come up to speed, as a share of that time.
    """

    def __init__(
        self,
        name: str,
        geometry: Geometry,
        agenda: Agenda,
        faults: Faults,
        dice: random.Random,
        truth: TruthLog,
        changed: Callable[["Drive"], None],
        failed: Callable[[DiscFailed], None],
        scatter: float = 0.0,
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
        self._scatter = scatter
        self._queue: deque[_Transfer] = deque()
        self._under_way: _Transfer | None = None
        self._booking: Booking | None = None
        self._spin: Booking | None = None

    @property
    def may_be_written(self) -> bool:
        """It holds a pack, and the pack is not protected."""
        return self.pack is not None and not self.protected

    @property
    def label(self) -> str:
        """The label of its pack, or EMPTY."""
        return self.pack.label if self.pack is not None else "EMPTY"

    def ready_text(self) -> str:
        """What the machine prints when the drive is up to speed."""
        protection = "MAY BE WRITTEN" if self.may_be_written else "PROTECTED"
        return f"{self.name} READY: {self.label}, {protection}"

    def start(self) -> None:
        """Start turning; ready after `geometry.up_us`, as it varies, or longer if that fault is on."""
        self._become("starting")
        up_us = self.geometry.up_us * self._faults.slow_starts.get(self.name, 1.0)
        if self._scatter:
            up_us *= max(0.5, self._dice.gauss(1.0, self._scatter))
        self._spin = self._agenda.after(round(up_us), lambda: self._become("ready"))

    def stop(self) -> None:
        """Slow down; standing after `geometry.down_us`. Transfers that were asked for fail."""
        if self._spin is not None:
            self._spin.call_off()
        self._become("stopping")
        self.forget(report=True)
        self._spin = self._agenda.after(self.geometry.down_us, lambda: self._become("standing"))

    def forget(self, *, report: bool) -> None:
        """Drop the transfers that were asked for. With `report`, whoever asked learns that they failed."""
        if self._booking is not None:
            self._booking.call_off()
        dropped = [*([self._under_way] if self._under_way else []), *self._queue]
        self._under_way = None
        self._queue.clear()
        if report:
            for transfer in dropped:
                transfer.done(Outcome(False, 1, None))

    def ask(self, track: int, sector: int, word: int | None, done: Callable[[Outcome], None]) -> None:
        """Write `word` to a sector, or read it if `word` is None; `done` is called with the outcome."""
        if self.state != "ready":
            self._agenda.after(0, lambda: done(Outcome(False, 1, None)))
            return
        self._queue.append(_Transfer(track, sector, word, done))
        self._next()

    def transfer_us(self, from_us: int, track: int, sector: int) -> int:
        """How long a transfer that begins at `from_us` takes: seek, wait for the sector, and the sector."""
        seek_us = self.geometry.seek_time_us(abs(track - self.track))
        turn_us, sector_us = self.geometry.turn_us, self.geometry.sector_us
        angle_us = (from_us + seek_us - self.up_since_us) % turn_us
        return seek_us + (sector * sector_us - angle_us) % turn_us + sector_us

    def _become(self, state: str) -> None:
        self.state = state
        if state == "ready":
            self.up_since_us = self._agenda.now_us
            self.track = 0
        self._truth.add(DriveChanged(at_us=self._agenda.now_us, drive=self.name, state=state))
        self._changed(self)

    def _next(self) -> None:
        if self._under_way is not None or not self._queue:
            return
        transfer = self._under_way = self._queue.popleft()
        took_us = self.transfer_us(self._agenda.now_us, transfer.track, transfer.sector)
        failures, rate = 0, self._faults.disc_rate_after(self._agenda.now_us - self.up_since_us)
        while rate and failures <= MOST_RETRIES and self._dice.random() < rate:
            failures += 1
        # Each retry waits for the sector to come round again: one turn.
        took_us += min(failures, MOST_RETRIES) * self.geometry.turn_us
        self._booking = self._agenda.after(took_us, lambda: self._over(transfer, failures))

    def _over(self, transfer: _Transfer, failures: int) -> None:
        self._under_way = None
        self.track = transfer.track
        self.transfers += 1
        self.errors += failures
        worked = failures <= MOST_RETRIES
        word = None
        if worked and self.pack is not None:
            if transfer.word is not None:
                self.pack.words[transfer.track, transfer.sector] = transfer.word
            word = self.pack.words.get((transfer.track, transfer.sector))
        if failures:
            failure = DiscFailed(
                at_us=self._agenda.now_us,
                drive=self.name,
                track=transfer.track,
                sector=transfer.sector,
                writing=transfer.word is not None,
                failures=failures,
                recovered=worked,
            )
            self._truth.add(failure)
            self._failed(failure)
        transfer.done(Outcome(worked, failures, word))
        self._next()


def drive_table(drives: Mapping[str, Drive]) -> str:
    """The table of drives, as DRIVES prints it."""
    rows = []
    for drive in drives.values():
        protection = "MAY BE WRITTEN" if drive.may_be_written else "PROTECTED"
        if drive.pack is None:
            protection = ""
        row = f"{drive.name:6s} {drive.state.upper():9s} {drive.label:10s} {protection}"
        rows.append(row.rstrip() + "\r\n")
    return "".join(rows)
