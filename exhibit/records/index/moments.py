"""What rows need of the moment at which they begin: its time, what runs, how long the machine has been on."""

from __future__ import annotations

from typing import TypedDict

from exhibit.decisions.wear.use import Use
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall, real_s
from exhibit.facts.errors import RecordingFault
from exhibit.facts.fact import Words
from exhibit.facts.use_before import UseBefore
from exhibit.records.index.local_times import LocalTimes


class Here(TypedDict):
    """The fields that say when and where a row begins."""

    recording: str
    seq: int
    at: str
    at_us: int


class Moments:
    """Follows one recording, fact by fact."""

    def __init__(self, recording: str) -> None:
        self.recording = recording
        self.times = LocalTimes()
        self.opened: kinds.RecordingOpened | None = None
        self.before = UseBefore(at="")
        """What was in use when the recording was opened."""
        self.seq = self.at_us = 0
        self.script, self.script_seq, self.round, self.step = "", 0, 0, ""
        self.exercised: dict[tuple[str, str], str] = {}
        """By exerciser and job that runs: the part that it keeps busy."""
        self._rate = 1.0
        self._on: set[str] = set()
        self._on_since_us: int | None = None

    def note(self, entry: kinds.Entry) -> None:
        """Takes the next entry, before anything else does."""
        self.seq, self.at_us = entry.seq, entry.at_us
        fact = entry.fact
        self.times.note(entry.at_us, fact)
        match fact:
            case kinds.RecordingOpened() if self.opened is None:
                self._open(fact)
            case kinds.ScriptStarted(script=script, round=round_):
                self.script, self.script_seq, self.round, self.step = script, entry.seq, round_, ""
            case kinds.StepStarted(script=script, step=step):
                self.script, self.step = script, step
            case kinds.PartStarted(part=part):
                self._on.add(part)
                if self._on_since_us is None:
                    self._on_since_us = entry.at_us
            case kinds.PartStopped(part=part):
                self._on.discard(part)
                if not self._on:
                    self._on_since_us = None

    def script_over(self) -> None:
        """The script that ran has ended; its rows have been made."""
        self.script, self.script_seq, self.round, self.step = "", 0, 0, ""

    def here(self) -> Here:
        """The present moment."""
        return self.at(self.seq, self.at_us)

    def at(self, seq: int, at_us: int) -> Here:
        """A moment that isn't over for longer than the last change of the clock."""
        return {"recording": self.recording, "seq": seq, "at": self.times.wall(at_us), "at_us": at_us}

    def real_s(self, lasted_us: int) -> float:
        """How many real seconds a length on the recording's clock was."""
        return round(real_s(lasted_us, self._rate), 3)

    @property
    def on_s(self) -> float | None:
        """For how long the machine has been on; None if no recording tells, or nothing is on."""
        if self._on_since_us is None:
            return None
        return max(0.0, self.real_s(self.at_us - self._on_since_us))

    @property
    def running_step(self) -> str:
        """SCRIPT.STEP; empty if none runs."""
        return f"{self.script}.{self.step}" if self.step else ""

    @property
    def parts(self) -> str:
        """The parts that exercisers keep busy, with a blank between."""
        return " ".join(sorted(set(self.exercised.values())))

    def first_words(self, words: Words) -> str:
        """In the recording's first language."""
        for tag in self.opened.languages if self.opened is not None else ():
            if tag in words:
                return words[tag]
        return next(iter(words.values()), "")

    def _open(self, opened: kinds.RecordingOpened) -> None:
        self.opened, self._rate = opened, opened.rate
        if opened.use_before is None:
            return
        try:
            self.before = Use(opened).before(0)
            began = read_wall(opened.wall)
            on = {part: used for part, used in self.before.parts.items() if used.running_since}
            since = [read_wall(used.since) for used in on.values() if used.since]
            self._on = set(on)
            if since:
                self._on_since_us = round((min(since) - began).total_seconds() * 1e6 * opened.rate)
        except (RecordingFault, OverflowError, ZeroDivisionError):
            self.before = UseBefore(at="")
