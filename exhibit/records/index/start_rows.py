"""Rows about how long a part took from a person's word that it was started to the machine's own report.

They are rows like those of steps, of a step called "PART ready", since what drifts there is a time as well.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from exhibit.facts import kinds
from exhibit.records.index.moments import Here, Moments
from exhibit.records.index.rows import StepRow

READY: Final = " ready"
"""What follows a part's name in the name of such a step. No step of a folder has a blank in its name."""


@dataclass
class _Start:
    here: Here
    script: str
    round: int
    script_seq: int
    on_s: float | None


class StartRows:
    """Follows one recording; gives a row when the machine reports a part that a person had started."""

    def __init__(self, moments: Moments) -> None:
        self._now = moments
        self._confirmed = ""
        """The step that a person confirmed last, as SCRIPT.STEP."""
        self._starts: dict[str, _Start] = {}
        """By part: its start by a person that the machine hasn't reported yet."""

    def take(self, fact: kinds.AnyFact | kinds.UnknownFact) -> Iterator[StepRow]:
        """Takes the next fact."""
        now = self._now
        match fact:
            case kinds.HandsOnConfirmed(step=step):
                self._confirmed = f"{now.script}.{step}"
            case kinds.PartStarted(part=part, by=by) if by == self._confirmed:
                self._starts[part] = _Start(now.here(), now.script, now.round, now.script_seq, now.on_s)
            case kinds.PartStarted(part=part) if part in self._starts:
                yield self._row(part, self._starts.pop(part))
            case kinds.PartStopped(part=part):
                self._starts.pop(part, None)

    def lost(self) -> None:
        """What happened next nobody knows: a report may be missing, and a later one says nothing of these."""
        self._confirmed = ""
        self._starts.clear()

    def _row(self, part: str, start: _Start) -> StepRow:
        return StepRow(
            **start.here,
            script=start.script,
            step=f"{part}{READY}",
            round=start.round,
            script_seq=start.script_seq,
            tidying=False,
            took_us=self._now.at_us - start.here["at_us"],
            ended_seq=self._now.seq,
            outcome="done",
            overdue=0,
            typed_again=False,
            why="",
            on_s=start.on_s,
        )
