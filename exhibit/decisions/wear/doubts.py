"""The jobs of which it isn't known whether they run, folded from the facts about them.

No time, no restart and no later run of a script ends a doubt: only a fact that says how it is known.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import msgspec

from exhibit.facts import kinds

BROKE_OFF: Final = "the program was ended before the machine had answered"


class Doubt(msgspec.Struct, frozen=True, kw_only=True):
    """A job that may be running. `why` is empty while the machine still has to answer the command."""

    asked: int
    exercisers: tuple[str, ...]
    command: str
    by: str
    why: str = ""
    job: str = ""
    ends_us: int = 0
    """On the recording's clock; 0 if it doesn't end by itself, or if that isn't known."""

    def for_later(self, ends: str = "", why: str = "") -> kinds.InDoubt:
        """The doubt for the next recording. `ends`: the date and time of `ends_us`; `why`: if it has none."""
        return kinds.InDoubt(
            asked=self.asked,
            exercisers=list(self.exercisers),
            command=self.command,
            by=self.by,
            why=self.why or why,
            job=self.job,
            ends=ends,
        )


def doubt_of(job: kinds.InDoubt, ends_us: int = 0) -> Doubt:
    """The doubt from an earlier recording. `ends_us`: the time of `ends` on this recording's clock."""
    return Doubt(
        asked=job.asked,
        exercisers=tuple(job.exercisers),
        command=job.command,
        by=job.by,
        why=job.why,
        job=job.job,
        ends_us=ends_us,
    )


class Doubts:
    """`all` is what may be running after the facts so far, the oldest first."""

    def __init__(self, kept: Iterable[Doubt] = ()) -> None:
        """`kept`: what was in doubt when the recording before ended."""
        self.all = [one if one.why else msgspec.structs.replace(one, why=BROKE_OFF) for one in kept]
        self._last = max((one.asked for one in self.all), default=0)
        self._open = 0

    @property
    def next(self) -> int:
        """The number of the next job that is asked for."""
        return self._last + 1

    @property
    def awaited(self) -> Doubt | None:
        """The job that was asked for last, if the line that says that it has begun can still arrive."""
        return next((one for one in self.all if one.asked == self._open), None)

    @property
    def doubted(self) -> list[Doubt]:
        """Those that the machine should have reported by now."""
        return [one for one in self.all if one.why]

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """Takes the next fact."""
        match fact:
            case kinds.JobAsked():
                self._put(_asked_for(fact))
                self._open = fact.asked
            case kinds.JobInDoubt():
                self._put(msgspec.structs.replace(_asked_for(fact), why=fact.why, job=fact.job))
                if fact.job or len(fact.exercisers) > 1:
                    self._open = 0  # some line of the kind did arrive
            case kinds.JobListed(asked=asked, job=job):
                self.all = [
                    msgspec.structs.replace(one, job=job) if one.asked == asked else one for one in self.all
                ]
            case kinds.JobDoubtOver(asked=asked) | kinds.ExerciserBegun(asked=asked) if asked:
                self.all = [one for one in self.all if one.asked != asked]
            case kinds.LineLost() | kinds.LastRecordingRead():
                self._open = 0

    def _put(self, doubt: Doubt) -> None:
        self._last = max(self._last, doubt.asked)
        places = [place for place, one in enumerate(self.all) if one.asked == doubt.asked]
        if places:
            self.all[places[0]] = doubt
        else:
            self.all = [*self.all, doubt]


def _asked_for(fact: kinds.JobAsked | kinds.JobInDoubt) -> Doubt:
    return Doubt(
        asked=fact.asked,
        exercisers=tuple(fact.exercisers),
        command=fact.command,
        by=fact.by,
        ends_us=fact.ends_us,
    )
