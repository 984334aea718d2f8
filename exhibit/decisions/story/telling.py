"""What visitors are told beside the captions: tell-tales that stand, what comes next, lines with a gloss.

    telling = Telling(clock)
    changed = telling.see(seq, at_us, fact)     # the items that this fact changes, by name

A tell-tale stands from a fact that begins its state to one that ends it, for no longer than its folder says,
and only on the local day on which a person confirmed it. What comes next is foretold only while a script
goes its way: a step that is late or fails, a person who is asked, a tidy-up, a lost line end it. How long it
takes is what it took the last time in this recording, and before that what the folder says.
"""

from __future__ import annotations

from typing import Any, Final

import msgspec

from exhibit.facts import kinds
from exhibit.facts.kinds import AnyFact, UnknownFact
from exhibit.facts.telling import Ahead, TellTale
from exhibit.facts.wall_times import WallTimes

KNOWN_KEPT: Final = 24
"""Lines with a gloss: no more of them stand on a display."""
TELL_TALES, AHEAD, KNOWN = "tell_tales", "ahead", "known"
LIVE_ONLY: Final = (TELL_TALES, AHEAD)
"""Items that say what is now or will be: never shown from a recording."""
_ENDS_WHAT_WAS_AHEAD: Final = (
    kinds.StepOverdue,
    kinds.StepFailed,
    kinds.HandsOnAsked,
    kinds.TidyUpStarted,
    kinds.ScriptEnded,
    kinds.SessionFailed,
    kinds.LineLost,
    kinds.RecordingClosed,
)
_NOBODY_KNOWS: Final = (kinds.LineLost, kinds.SessionFailed, kinds.RecordingClosed)


class _Kept(msgspec.Struct):
    """Everything that is remembered, in a form that a keyframe holds."""

    script: str = ""
    confirmed: dict[str, dict[str, Any]] = {}
    """By SCRIPT.STEP: the last confirmation's fact, time and person."""
    stands: dict[str, int] = {}
    """Each tell-tale whose state holds, and since when."""
    coming: dict[str, tuple[int, int]] = {}
    """What is ahead: when that began, and when it is due."""
    took_us: dict[str, int] = {}
    known: list[dict[str, str]] = []


class Telling:
    """Folds facts. The recording's first fact says what there is to tell."""

    def __init__(self, clock: WallTimes) -> None:
        self._clock = clock
        self._tell_tales: dict[str, TellTale] = {}
        self._ahead: dict[str, Ahead] = {}
        self._glosses: frozenset[str] = frozenset()
        self._kept = _Kept()
        self._shown: dict[str, Any] = {}

    def set(self, opened: kinds.RecordingOpened) -> None:
        """The recording holds this to be told."""
        self._tell_tales, self._ahead = opened.tell_tales, opened.ahead
        self._glosses = frozenset(opened.glosses)

    def see(self, seq: int, at_us: int, fact: AnyFact | UnknownFact) -> dict[str, Any]:
        """Take in one fact; the items that have changed with it."""
        match fact:
            case kinds.RecordingOpened():
                self.set(fact)
                self._shown = {}
            case kinds.ScriptStarted():
                self._kept.script = fact.script
                self._kept.coming = {}
            case kinds.HandsOnConfirmed():
                said = {"seq": seq, "at": self._clock.wall(at_us), "by": fact.by}
                self._kept.confirmed[f"{self._kept.script}.{fact.step}"] = said
            case kinds.StepStarted():
                self._step_started(f"{fact.script}.{fact.step}", at_us)
            case kinds.StepLeftOut():
                self._drop_ahead(f"{fact.script}.{fact.step}")
            case kinds.StepEnded():
                self._came(f"{fact.script}.{fact.step}", at_us)
            case kinds.PatternSeen():
                self._came(fact.pattern, at_us)
                self._know(fact.pattern, fact.line)
            case kinds.LandmarkReached():
                self._came(fact.landmark, at_us)
                self._know(fact.landmark, fact.line)
            case kinds.InterruptionSeen():
                self._came(fact.interruption, at_us)
            case _ if not isinstance(fact, _ENDS_WHAT_WAS_AHEAD):
                return {}
        if isinstance(fact, _ENDS_WHAT_WAS_AHEAD):
            self._kept.coming = {}
        if isinstance(fact, _NOBODY_KNOWS):
            self._kept.stands = {}
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

    def _came(self, name: str, at_us: int) -> None:
        for tell_tale, what in self._tell_tales.items():
            if name in what.ends:
                self._kept.stands.pop(tell_tale, None)
            if name in what.begins:
                self._kept.stands[tell_tale] = at_us

    def _know(self, name: str, line: str) -> None:
        if name not in self._glosses or not line.strip():
            return
        known = {"name": name, "line": line.strip()}
        self._kept.known = [*(one for one in self._kept.known if one != known), known][-KNOWN_KEPT:]

    def _changed(self, at_us: int) -> dict[str, Any]:
        now = {TELL_TALES: self._standing(at_us), AHEAD: self._coming(), KNOWN: self._kept.known}
        changed = {name: value for name, value in now.items() if self._shown.get(name) != value}
        self._shown |= changed
        return changed

    def _standing(self, at_us: int) -> list[dict[str, Any]]:
        today = self._clock.wall(at_us)[:10]
        standing = []
        for name, since_us in self._kept.stands.items():
            what = self._tell_tales[name]
            said = [self._kept.confirmed.get(step) for step in what.confirmed_by]
            fresh = [one for one in said if one is not None and one["at"][:10] == today]
            until_us = since_us + what.at_most_us
            if len(fresh) == len(said) and at_us < until_us:
                times = {"since": self._clock.wall(since_us), "until": self._clock.wall(until_us)}
                standing.append({"name": name, **times, "confirmed": fresh[-1]})
        return standing

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
