"""How everything stood at a moment of a recording: a pure fold of its facts, with the console as it was.

    view = MomentView()
    view.apply(entry)          # for each entry, in order
    view.shown(after_seq)      # the console's changes after that fact, and how all else stood

It knows less than the visitors' picture, and so folds a day some times faster.
"""

from __future__ import annotations

from typing import Any, Final

from exhibit.decisions.page.console_view import ConsoleView
from exhibit.facts import kinds
from exhibit.facts.kinds import BytesReceived, CarriedOver, Entry, RecordingOpened
from exhibit.facts.wall_times import WallTimes
from exhibit.records.told import in_english

MOMENT_VERSION: Final = "moment 1"
"""The form of snapshot(): keyframes of another form are not used."""
MOST_KEPT: Final = 60
"""Readings and troubles, so that no recording makes this grow without end."""
LIMITS: Final = ("step", "script")
"""The deadlines that are said. Of the others the record doesn't say when they no longer count."""


class MomentView:
    """How everything stood after the facts applied so far."""

    def __init__(self, opened: RecordingOpened | None = None) -> None:
        """`opened` is the recording's first fact, which snapshots leave out."""
        self.seq = 0
        self.at_us = 0
        self.opened = opened
        self._clock = WallTimes()
        self._console: ConsoleView | None = None
        self._now: dict[str, Any] = {}
        self._readings: dict[str, list[Any]] = {}
        self._deadlines: dict[str, int] = {}
        self._troubles: dict[str, list[Any]] = {}
        self._parts: dict[str, list[Any]] = {}

    def apply(self, entry: Entry) -> None:
        """Take in the next fact."""
        self.seq = entry.seq
        self.at_us = entry.at_us
        fact = entry.fact
        if type(fact) is BytesReceived:
            if self._console is not None:
                self._console.receive(fact.bytes, entry.seq)
            return
        self._take(entry.seq, entry.at_us, fact)

    def wall(self, at_us: int) -> str:
        """The museum's date and time then; "" if unknown."""
        return self._clock.wall(at_us)

    def shown(self, after_seq: int) -> dict[str, Any]:
        """The console's changes after this fact, and how all else stood, as plain JSON values."""
        return {
            "seq": self.seq,
            "at_us": self.at_us,
            "at": self.wall(self.at_us),
            "console": self._console.batch(after_seq, self.seq) if self._console is not None else {},
            "now": self._now,
            "readings": [[name, *value] for name, value in self._readings.items()],
            "deadlines": [[name, due_us] for name, due_us in self._deadlines.items() if due_us >= self.at_us],
            "troubles": [[int(seq), *what] for seq, what in self._troubles.items()],
            "parts": [[name, *state] for name, state in self._parts.items()],
        }

    def snapshot(self) -> dict[str, Any]:
        """Everything needed to go on from here, as plain JSON values, for a keyframe."""
        return {
            "seq": self.seq,
            "at_us": self.at_us,
            "clock": self._clock.snapshot(),
            "console": self._console.snapshot() if self._console is not None else None,
            "now": self._now,
            "readings": self._readings,
            "deadlines": self._deadlines,
            "troubles": self._troubles,
            "parts": self._parts,
        }

    def restore(self, snapshot: dict[str, Any]) -> None:
        """Take on the state in the snapshot."""
        self.seq, self.at_us = snapshot["seq"], snapshot["at_us"]
        self._clock.restore(snapshot["clock"])
        self._now, self._readings = snapshot["now"], snapshot["readings"]
        self._deadlines, self._troubles = snapshot["deadlines"], snapshot["troubles"]
        self._parts = snapshot["parts"]
        self._console = None
        if self.opened is not None and snapshot["console"] is not None:
            self._console = ConsoleView(self.opened, self.seq)
            self._console.restore(snapshot["console"], self.seq)

    def _take(self, seq: int, at_us: int, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        now = self._now
        match fact:
            case kinds.Heartbeat(wall=wall):
                self._clock.follow_offset(wall, at_us)
            case kinds.DeadlineArmed(name=name, due_us=due_us) if name in LIMITS:
                self._deadlines[name] = due_us
            case kinds.DeadlinePassed(name=name):
                self._deadlines.pop(name, None)
            case kinds.RecordingOpened():
                self.opened = fact
                self._clock.set(fact.wall, at_us, fact.rate)
                self._console = ConsoleView(fact, seq)
            case kinds.CarriedOver():
                self._carry_over(fact, seq, at_us)
            case kinds.ClockStepped(wall=wall):
                self._clock.set(wall, at_us)
            case kinds.ScriptStarted():
                now["script"] = [fact.script, at_us, seq, fact.by, fact.round]
                now["step"] = None
            case kinds.ScriptEnded():
                now["script"], now["step"] = None, None
                self._deadlines = {}
            case kinds.StepStarted():
                now["step"] = [fact.step, at_us, seq, "to tidy up" if fact.tidying else ""]
            case kinds.StepEnded() | kinds.StepLeftOut() | kinds.StepFailed():
                now["step"] = None
                self._deadlines.pop("step", None)
            case kinds.StepOverdue() if now.get("step"):
                now["step"][3] = "late"
            case kinds.LandmarkReached(landmark=landmark, line=line):
                now["place"] = [landmark, line, at_us, seq]
            case kinds.PlaceRecognised(place=place, line=line):
                now["place"] = [place, line, at_us, seq]
            case kinds.CaptionShown():
                now["caption"] = [
                    fact.caption, fact.kind, in_english(fact.words), fact.part, at_us, seq, fact.because[:12],
                    in_english(fact.source),
                ]  # fmt: skip
            case kinds.ReadingTaken():
                name = f"{fact.display}: {fact.name}"
                value = [f"{len(fact.table)} rows" if fact.table is not None else fact.value, at_us, seq]
                self._readings.pop(name, None)
                _bounded(self._readings)[name] = value
            case kinds.TroubleRaised():
                self._troubles.pop(str(fact.repeats), None)
                _bounded(self._troubles)[str(seq)] = [fact.trouble, fact.line, at_us, fact.times]
            case kinds.TroubleOver(raised=raised):
                self._troubles.pop(str(raised), None)
            case kinds.PartStarted(part=part):
                _bounded(self._parts)[part] = ["running", at_us, seq]
            case kinds.PartStopped(part=part):
                _bounded(self._parts)[part] = ["stopped", at_us, seq]
            case _:
                self._take_state(seq, at_us, fact)

    def _take_state(self, seq: int, at_us: int, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        now = self._now
        match fact:
            case kinds.LineOpened():
                now["line"] = ["open", "", at_us, seq]
            case kinds.LineLost(why=why):
                now["line"] = ["lost", why, at_us, seq]
            case kinds.MachineSilent():
                now["silent"] = [max(0, min(fact.since_us, at_us)), seq]
            case kinds.HeardAgain():
                now["silent"] = None
            case kinds.KeyboardTaken(by=by):
                now["keyboard"] = [by, at_us, seq]
            case kinds.KeyboardGivenBack():
                now["keyboard"] = None
            case kinds.DayTurned(phase=phase, by=by):
                now["day"] = [phase, by, at_us, seq]
            case kinds.SessionFailed(why=why):
                now["failed"] = [why, at_us, seq]
            case kinds.SessionCleared():
                now["failed"] = None
            case kinds.HandsOnAsked(step=step):
                now["asked"] = [step, in_english(fact.words), at_us, seq]
            case kinds.HandsOnConfirmed() | kinds.HandsOnRefused():
                now["asked"] = None
            case kinds.TypingHeld():
                now["held"] = [at_us, seq]
            case kinds.TypingLetGo():
                now["held"] = None

    def _carry_over(self, fact: CarriedOver, seq: int, at_us: int) -> None:
        self._now["line"] = ["open", "", at_us, seq]
        if fact.landmark:
            self._now["place"] = [fact.landmark, "", at_us, seq]
        if self._console is not None:
            self._console.carry_over(fact, seq)


def _bounded(kept: dict[str, Any]) -> dict[str, Any]:
    """This table with room for one more: the oldest entry goes."""
    if len(kept) >= MOST_KEPT:
        del kept[next(iter(kept))]
    return kept
