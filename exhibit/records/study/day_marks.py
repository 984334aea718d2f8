"""What a day's line shows: a pure fold of a recording's facts besides bytes.

Each mark is a small list of numbers and names, because a day has thousands. Times are by the recording's
clock; `wall` says how to make dates of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

import msgspec

from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Entry
from exhibit.records.told import disc_errors

MOST_MARKS: Final = 100_000

StepState = str
"""running, done, left out, failed or late."""


class Marks(msgspec.Struct):
    """The marks of a day's line, each kind in the order of its times."""

    wall: list[list[Any]] = []
    """[at_us, RFC 3339]: what the museum's clock said then. It runs on from there at `rate`."""
    rate: float = 1.0
    scripts: list[list[Any]] = []
    """[from_us, to_us, script, outcome, round, seq]; the outcome is "" while it runs."""
    steps: list[list[Any]] = []
    """[from_us, to_us, script, step, state, seq of its start, seq of its end]"""
    captions: list[list[Any]] = []
    """[at_us, seq, caption, kind]"""
    troubles: list[list[Any]] = []
    """[at_us, seq, what, line]: troubles, failures, late steps and lost lines."""
    readings: list[list[Any]] = []
    """[at_us, seq, display, how many values]: one for each frame of a status display."""
    hands: list[list[Any]] = []
    """[from_us, to_us, script, step, outcome, by, seq]: hands-on steps, from asked to answered."""
    notes: list[list[Any]] = []
    """[at_us, seq, kind, by, digest]"""
    acts: list[list[Any]] = []
    """[at_us, seq, what, by]: what else people did."""
    lost: list[list[Any]] = []
    """[from_us, to_us, what, seq]: the line lost, or the machine silent."""


_LATE: Final = "late"


class MarkMaker:
    """Takes the facts of one recording in order."""

    def __init__(self) -> None:
        self.marks = Marks(
            wall=[], scripts=[], steps=[], captions=[], troubles=[], readings=[], hands=[], notes=[], acts=[],
            lost=[],
        )  # fmt: skip
        self._offset = ""
        self._script: list[Any] | None = None
        self._step: list[Any] | None = None
        self._asked: list[Any] | None = None
        self._lost: list[Any] | None = None
        self._silent: list[Any] | None = None

    def take_all(self, entries: Iterable[Entry], end_us: int) -> Marks:
        """The marks of these entries; what is still going on then ends at `end_us`."""
        for entry in entries:
            self._take(entry)
        for open_one in (self._script, self._step, self._asked, self._lost, self._silent):
            if open_one is not None:
                open_one[1] = max(end_us, open_one[0])
        return self.marks

    def _take(self, entry: Entry) -> None:
        at_us, seq, fact, marks = entry.at_us, entry.seq, entry.fact, self.marks
        match fact:
            case kinds.RecordingOpened():
                marks.rate = fact.rate
                self._wall(at_us, fact.wall)
            case kinds.ClockStepped():
                self._wall(at_us, fact.wall)
                self._act(at_us, seq, "the computer's clock was set", "")
            case kinds.ScriptStarted():
                self._script = _kept(marks.scripts, [at_us, at_us, fact.script, "", fact.round, seq])
            case kinds.ScriptEnded():
                if self._script is not None:
                    self._script[1], self._script[3] = at_us, fact.outcome
                self._script = None
                if fact.outcome == "failed":
                    self._trouble(at_us, seq, f"script {fact.script} failed", fact.why)
            case kinds.StepStarted():
                self._end_step(at_us, seq, "done")
                self._step = _kept(marks.steps, [at_us, at_us, fact.script, fact.step, "running", seq, seq])
            case kinds.StepEnded():
                self._end_step(at_us, seq, "done")
            case kinds.StepLeftOut():
                self._end_step(at_us, seq, "left out")
            case kinds.StepOverdue():
                if self._step is not None:
                    self._step[4] = _LATE
                self._trouble(at_us, seq, f"step {fact.step} was late", " ".join(fact.last_lines[-1:]))
            case kinds.StepFailed():
                self._end_step(at_us, seq, "failed")
                self._trouble(at_us, seq, f"step {fact.step} failed", fact.why)
            case kinds.CaptionShown():
                _kept(marks.captions, [at_us, seq, fact.caption, fact.kind])
            case kinds.ReadingTaken():
                last = marks.readings[-1] if marks.readings else None
                if last is not None and last[2] == fact.display and at_us - last[0] < 1000:
                    last[3] += 1
                else:
                    _kept(marks.readings, [at_us, seq, fact.display, 1])
            case kinds.TroubleRaised(since=""):  # else it is one of an earlier recording
                self._trouble(at_us, seq, fact.trouble, fact.line)
            case kinds.SessionFailed():
                self._act(at_us, seq, f"a person was asked to look: {fact.why[:200]}", "")
            case kinds.TypingGarbled():
                self._trouble(at_us, seq, "a command came back garbled", fact.came_back)
            case kinds.DiscErrorsCounted(count=count) if count:
                self._trouble(at_us, seq, disc_errors(count), fact.entry or fact.by)
            case kinds.NoteMade():
                _kept(marks.notes, [at_us, seq, fact.kind, fact.by, fact.digest])
            case _:
                self._people_and_line(entry)

    def _people_and_line(self, entry: Entry) -> None:
        at_us, seq, fact, marks = entry.at_us, entry.seq, entry.fact, self.marks
        match fact:
            case kinds.HandsOnAsked():
                self._asked = _kept(marks.hands, [at_us, at_us, fact.script, fact.step, "asked", "", seq])
            case kinds.HandsOnConfirmed(by=by):
                self._answered(at_us, "done", by)
            case kinds.HandsOnRefused(by=by):
                self._answered(at_us, "refused", by)
            case kinds.LineLost(why=why):
                self._lost = self._lost or _kept(marks.lost, [at_us, at_us, f"the line was lost: {why}", seq])
                self._trouble(at_us, seq, "the line was lost", why)
            case kinds.LineOpened() | kinds.CarriedOver():
                _end(self._lost, at_us)
                self._lost = None
                _end(self._silent, at_us)
                self._silent = None
            case kinds.MachineSilent():
                since_us = max(0, min(fact.since_us, at_us))
                self._silent = self._silent or _kept(
                    marks.lost, [since_us, at_us, "the machine was silent", seq]
                )
                self._trouble(at_us, seq, "the machine fell silent", "")
            case kinds.HeardAgain():
                _end(self._silent, at_us)
                self._silent = None
            case kinds.KeyboardTaken(by=by):
                self._act(at_us, seq, "took the keyboard", by)
            case kinds.KeyboardGivenBack(by=by):
                self._act(at_us, seq, "gave the keyboard back", by)
            case kinds.HandsOff(by=by):
                self._act(at_us, seq, "stopped all typing", by)
            case kinds.TroubleSeen(by=by):
                self._act(at_us, seq, "saw a trouble", by)
            case kinds.TroubleSetAside(by=by):
                self._act(at_us, seq, "set a trouble aside", by)
            case kinds.PackMounted(by=by, label=label):
                self._act(at_us, seq, f"mounted the pack {label}", by)
            case kinds.PackRemoved(by=by, label=label):
                self._act(at_us, seq, f"removed the pack {label}", by)
            case kinds.SessionCleared(by=by):
                self._act(at_us, seq, "let the run go on", by)
            case kinds.WorkDone(by=by, act=act, part=part):
                self._act(at_us, seq, f"{act} {part}", by)
            case kinds.ReadingMeasured(by=by, what=what):
                self._act(at_us, seq, f"measured {what}", by)
            case kinds.DayTurned(by=by, phase=phase):
                self._act(at_us, seq, f"the day: {phase}", by)

    def _wall(self, at_us: int, wall: str) -> None:
        try:
            read_wall(wall)
        except RecordingFault:
            return
        _kept(self.marks.wall, [at_us, wall])

    def _trouble(self, at_us: int, seq: int, what: str, line: str) -> None:
        _kept(self.marks.troubles, [at_us, seq, what, line[:200]])

    def _act(self, at_us: int, seq: int, what: str, by: str) -> None:
        _kept(self.marks.acts, [at_us, seq, what, by])

    def _end_step(self, at_us: int, seq: int, state: StepState) -> None:
        if self._step is None:
            return
        self._step[1], self._step[6] = at_us, seq
        if state != "done" or self._step[4] != _LATE:
            self._step[4] = state
        self._step = None

    def _answered(self, at_us: int, outcome: str, by: str) -> None:
        if self._asked is not None:
            self._asked[1], self._asked[4], self._asked[5] = at_us, outcome, by
        self._asked = None


def _kept(marks: list[list[Any]], mark: list[Any]) -> list[Any]:
    if len(marks) < MOST_MARKS:
        marks.append(mark)
    return mark


def _end(span: list[Any] | None, at_us: int) -> None:
    if span is not None:
        span[1] = at_us
