"""What the page shows beside the captions: tell-tales, what comes next, and lines with a gloss.

    hints = Hints(clock)
    changed = hints.see(seq, at_us, fact)     # the items that this fact changes, by name

A tell-tale is shown from a fact that begins its state to one that ends it, no longer than the folder allows,
and only on the local day on which a person confirmed it. It also ends with its part, and with the job or the
display that began it. What comes next is announced only while a script
runs as planned: a late or failed step, a question to a person, a tidy-up, a lost line or a silent machine
ends it. It is expected to take as long as the last time in this recording or, the first time, as long as the
folder says.
"""

from __future__ import annotations

from typing import Any, Final

import msgspec

from exhibit.decisions.story.ended import NOTHING, Ended
from exhibit.facts import kinds
from exhibit.facts.kinds import AnyFact, UnknownFact
from exhibit.facts.visitor_words import Ahead, TellTale
from exhibit.facts.wall_times import WallTimes

KNOWN_KEPT: Final = 24
"""How many lines with a gloss to keep: as many as a display can show."""
TELL_TALES, AHEAD, KNOWN = "tell_tales", "ahead", "known"
LIVE_ONLY: Final = (TELL_TALES, AHEAD)
"""Items that say what is now or will be: never shown from a recording."""
_ENDS_WHAT_IS_AHEAD: Final = (
    kinds.StepOverdue,
    kinds.StepFailed,
    kinds.HandsOnAsked,
    kinds.TidyUpStarted,
    kinds.ScriptEnded,
    kinds.SessionFailed,
    kinds.LineLost,
    kinds.MachineSilent,
    kinds.RecordingClosed,
)
_ENDS_TELL_TALES: Final = (kinds.LineLost, kinds.MachineSilent, kinds.SessionFailed, kinds.RecordingClosed)


class _Kept(msgspec.Struct):
    """Everything to remember, in a form that fits into a keyframe."""

    script: str = ""
    confirmed: dict[str, dict[str, Any]] = {}
    """By SCRIPT.STEP: fact, time and person of the last confirmation."""
    current: dict[str, int] = {}
    """The tell-tales whose state has begun and not ended, and since when."""
    of_job: dict[str, str] = {}
    """The number of the job whose beginning began a tell-tale's state."""
    of_display: dict[str, str] = {}
    """The display whose showing began it."""
    began_by: dict[str, str] = {}
    """What began it, by its name."""
    coming: dict[str, tuple[int, int]] = {}
    """What is ahead: when the wait for it began, and when it is due."""
    took_us: dict[str, int] = {}
    known: list[dict[str, str]] = []


class Hints:
    """Folds facts. The recording's first fact says which hints there are."""

    def __init__(self, clock: WallTimes) -> None:
        self._clock = clock
        self._tell_tales: dict[str, TellTale] = {}
        self._ahead: dict[str, Ahead] = {}
        self._glosses: frozenset[str] = frozenset()
        self._displays: frozenset[str] = frozenset()
        self._begun: dict[str, str] = {}
        """By exerciser: the line that says that it has begun."""
        self._kept = _Kept()
        self._shown: dict[str, Any] = {}

    def set(self, opened: kinds.RecordingOpened) -> None:
        """Use the tell-tales, announcements and glosses of this recording."""
        self._tell_tales, self._ahead = opened.tell_tales, opened.ahead
        self._glosses = frozenset(opened.glosses)
        self._displays = frozenset(opened.displays)
        self._begun = {name: one.begun for name, one in opened.exercisers.items() if one.begun}

    def see(
        self, seq: int, at_us: int, fact: AnyFact | UnknownFact, ended: Ended = NOTHING
    ) -> dict[str, Any]:
        """Take in one fact, and what has ended with it. Returns the items that this changes."""
        match fact:
            case kinds.RecordingOpened():
                self.set(fact)
                self._shown = {}
            case kinds.ScriptStarted():
                self._kept.script = fact.script
                self._kept.coming = {}
            case kinds.HandsOnConfirmed():
                confirmation = {"seq": seq, "at": self._clock.wall(at_us), "by": fact.by}
                self._kept.confirmed[f"{self._kept.script}.{fact.step}"] = confirmation
            case kinds.StepStarted():
                self._step_started(f"{fact.script}.{fact.step}", at_us)
            case kinds.StepLeftOut():
                self._drop_ahead(f"{fact.script}.{fact.step}")
            case kinds.StepEnded():
                self._happened(f"{fact.script}.{fact.step}", at_us)
            case kinds.PatternSeen():
                self._happened(fact.pattern, at_us)
                self._remember_line(fact.pattern, fact.line)
            case kinds.LandmarkReached():
                self._happened(fact.landmark, at_us)
                self._remember_line(fact.landmark, fact.line)
            case kinds.InterruptionSeen():
                self._happened(fact.interruption, at_us)
            case kinds.ExerciserBegun():
                self._job_begun(fact)
            case _ if not ended and not isinstance(fact, _ENDS_WHAT_IS_AHEAD):
                return {}
        if ended:
            self._end(ended)
        if isinstance(fact, _ENDS_WHAT_IS_AHEAD):
            self._kept.coming = {}
        if isinstance(fact, _ENDS_TELL_TALES):
            self._kept.current = {}
        return self._changed(at_us)

    def _step_started(self, step: str, at_us: int) -> None:
        for name, ahead in self._ahead.items():
            if ahead.step == step and name in self._kept.coming:
                began_us, _ = self._kept.coming.pop(name)
                self._kept.took_us[name] = at_us - began_us
            if ahead.begins == step:
                takes_us = self._kept.took_us.get(name, ahead.usually_us)
                self._kept.coming[name] = at_us, at_us + takes_us

    def _drop_ahead(self, step: str) -> None:
        for name, ahead in self._ahead.items():
            if ahead.step == step:
                self._kept.coming.pop(name, None)

    def _job_begun(self, fact: kinds.ExerciserBegun) -> None:
        line = self._begun.get(fact.exerciser, "")
        for tell_tale, by in self._kept.began_by.items():
            if by == line:
                self._kept.of_job[tell_tale] = fact.job

    def _end(self, ended: Ended) -> None:
        """Ends what rests on a part, a job or a display that is no longer there."""
        if ended.off or ended.all:
            self._kept.current = {}
            self._kept.coming = {}
            return
        for tell_tale in list(self._kept.current):
            part = self._tell_tales[tell_tale].part
            # What reported the stop may itself begin a state, such as that of a drive that is stopping.
            stopped = ended.part == part and self._kept.began_by.get(tell_tale) != ended.by
            job_over = self._kept.of_job.get(tell_tale, "") in ended.jobs
            if stopped or job_over or self._kept.of_display.get(tell_tale, "") in ended.displays:
                del self._kept.current[tell_tale]
        for name in list(self._kept.coming):
            if self._ahead[name].part == ended.part or self._ahead[name].display in ended.displays:
                del self._kept.coming[name]

    def _happened(self, name: str, at_us: int) -> None:
        for tell_tale, what in self._tell_tales.items():
            if name in what.ends:
                self._kept.current.pop(tell_tale, None)
            if name in what.begins:
                self._kept.current[tell_tale] = at_us
                self._kept.began_by[tell_tale] = name
                self._kept.of_display[tell_tale] = name if name in self._displays else ""
                self._kept.of_job[tell_tale] = ""

    def _remember_line(self, name: str, line: str) -> None:
        if name not in self._glosses or not line.strip():
            return
        known = {"name": name, "line": line.strip()}
        self._kept.known = [*(one for one in self._kept.known if one != known), known][-KNOWN_KEPT:]

    def _changed(self, at_us: int) -> dict[str, Any]:
        now = {TELL_TALES: self._current(at_us), AHEAD: self._coming(), KNOWN: self._kept.known}
        changed = {name: value for name, value in now.items() if self._shown.get(name) != value}
        self._shown |= changed
        return changed

    def _current(self, at_us: int) -> list[dict[str, Any]]:
        today = self._clock.wall(at_us)[:10]
        current = []
        for name, since_us in self._kept.current.items():
            what = self._tell_tales[name]
            confirmed = [self._kept.confirmed.get(step) for step in what.confirmed_by]
            fresh = [one for one in confirmed if one is not None and one["at"][:10] == today]
            until_us = since_us + what.at_most_us
            if len(fresh) == len(confirmed) and at_us < until_us:
                times = {"since": self._clock.wall(since_us), "until": self._clock.wall(until_us)}
                current.append({"name": name, **times, "confirmed": fresh[-1]})
        return current

    def _coming(self) -> list[dict[str, str]]:
        coming = sorted(self._kept.coming.items(), key=lambda one: one[1][1])
        return [
            {"name": name, "began": self._clock.wall(began_us), "due": self._clock.wall(due_us)}
            for name, (began_us, due_us) in coming
        ]

    def snapshot(self) -> dict[str, Any]:
        """As plain JSON values."""
        kept: dict[str, Any] = msgspec.to_builtins(self._kept)
        return kept

    def restore(self, kept: dict[str, Any], opened: kinds.RecordingOpened | None) -> None:
        """Go on from a snapshot."""
        if opened is not None:
            self.set(opened)
        self._kept = msgspec.convert(kept, _Kept)
        self._shown = {}
