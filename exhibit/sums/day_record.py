"""What the recordings of a machine say about each local day."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.fact import Words
from exhibit.facts.wall_times import WallTimes

DONE: Final = "done"


@dataclass
class Ran:
    """A script that ran. `ended` and `outcome` are empty if its end isn't recorded."""

    title: Words
    round: int
    began: str
    ended: str = ""
    outcome: str = ""
    why: str = ""


@dataclass(frozen=True)
class Then:
    """What became of a trouble: `what` is "seen", "set aside" or "over"."""

    what: str
    by: str
    at: str


@dataclass
class Trouble:
    """A trouble, and what became of it."""

    at: str
    words: Words
    line: str
    then: list[Then] = field(default_factory=list)


@dataclass(frozen=True)
class ByHand:
    """An answer to a hands-on step: "done", "refused", or why it was put off."""

    at: str
    step: str
    words: Words
    """What was asked; empty if that stands in no recording."""
    answer: str
    by: str


@dataclass
class Day:
    """One local day. Times are in seconds of the computer's clock."""

    date: str
    files: list[str] = field(default_factory=list)
    scripts: list[Ran] = field(default_factory=list)
    troubles: list[Trouble] = field(default_factory=list)
    by_hand: list[ByHand] = field(default_factory=list)
    notes: dict[str, int] = field(default_factory=dict)
    """How many of each kind."""
    script_s: float = 0.0
    part_s: dict[str, float] = field(default_factory=dict)
    """How long each part turned or was on, as far as its start and its stop are recorded."""
    damaged: bool = False


class DayRecord:
    """Folds the entries of recordings, in order. `days` are in the order of their dates."""

    def __init__(self) -> None:
        self.days: dict[str, Day] = {}
        self._clock = WallTimes()
        self._file = self._date = ""
        self._running: Ran | None = None
        self._asked: dict[str, tuple[str, Words]] = {}
        self._raised: dict[int, Trouble] = {}
        self._rate = 1.0
        self._began_us = 0
        """When the script that runs began, on the recording's clock, which nobody sets back."""
        self._on: dict[str, int] = {}
        """By part that is on: since when, on the same clock."""

    def begin(self, file: str) -> None:
        """A further recording begins."""
        self._file = file
        self._raised, self._asked = {}, {}

    def lost(self) -> None:
        """Something that comes next in the recording can't be read."""
        if self._date:
            self.days[self._date].damaged = True

    def take(self, entry: kinds.Entry) -> None:
        """Take in the next entry."""
        fact, at_us = entry.fact, entry.at_us
        if isinstance(fact, kinds.RecordingOpened):
            self._clock.set(fact.wall, at_us, fact.rate)
            self._rate = fact.rate
        elif isinstance(fact, kinds.ClockStepped):
            self._clock.set(fact.wall, at_us)
        elif isinstance(fact, kinds.Heartbeat):
            self._clock.follow_offset(fact.wall, at_us)
        at = self._clock.wall(at_us)
        self._date = at[:10]
        day = self.days.setdefault(self._date, Day(self._date))
        if self._file not in day.files:
            day.files.append(self._file)
        self._take(day, entry, at)

    def end(self) -> None:
        """The recording is over: what still ran has no end that anybody saw."""
        self._running = None
        self._on.clear()

    def _real_s(self, from_us: int, to_us: int) -> float:
        """Seconds that passed in the room between two times on the recording's clock."""
        return max(0, to_us - from_us) / 1e6 / self._rate

    def _take(self, day: Day, entry: kinds.Entry, at: str) -> None:
        seq, at_us, fact = entry.seq, entry.at_us, entry.fact
        match fact:
            case kinds.ScriptStarted():
                self._running, self._began_us = Ran(fact.title, fact.round, at), at_us
                day.scripts.append(self._running)
            case kinds.ScriptEnded() if self._running is not None:
                ran, self._running = self._running, None
                ran.ended, ran.outcome, ran.why = at, fact.outcome, fact.why
                day.script_s += self._real_s(self._began_us, at_us)
            case kinds.TroubleRaised(since=""):
                self._raised[seq] = Trouble(at, fact.words, fact.line)
                day.troubles.append(self._raised[seq])
            case kinds.TroubleSeen() | kinds.TroubleSetAside() | kinds.TroubleOver():
                names = {kinds.TroubleSeen: "seen", kinds.TroubleSetAside: "set aside"}
                if fact.raised in self._raised:
                    then = Then(names.get(type(fact), "over"), fact.by, at)
                    self._raised[fact.raised].then.append(then)
            case kinds.HandsOnAsked(script=script, step=step, words=words):
                self._asked[step] = f"{script}.{step}", words
            case kinds.HandsOnConfirmed(step=step, by=by):
                day.by_hand.append(ByHand(at, *self._asked.get(step, (step, {})), DONE, by))
            case kinds.HandsOnRefused(step=step, by=by):
                day.by_hand.append(ByHand(at, *self._asked.get(step, (step, {})), "refused", by))
            case kinds.HandsOnPutOff(step=step, by=by, because=because):
                day.by_hand.append(ByHand(at, *self._asked.get(step, (step, {})), because, by))
            case kinds.NoteMade(kind=kind):
                day.notes[kind] = day.notes.get(kind, 0) + 1
            case kinds.PartStarted(part=part):
                self._on.setdefault(part, at_us)
            case kinds.PartStopped(part=part) if part in self._on:
                day.part_s[part] = day.part_s.get(part, 0.0) + self._real_s(self._on.pop(part), at_us)


def seconds_between(began: str, ended: str) -> float:
    """From one recorded time to another; 0 if the clock was set back between, or one isn't known."""
    return max(0.0, (read_wall(ended) - read_wall(began)).total_seconds()) if began and ended else 0.0
