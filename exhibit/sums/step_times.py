"""Calculates how long each step of each script took, from the facts of recordings.

Like its limit, a run of a step lasts from StepStarted to StepEnded: it waits for its prompt, types, and
waits for the answer. A run that ended well is *good*. A run that was overdue and then given up was *cut
off* at the limit of the time, so nobody knows how long it would have taken. A run whose command was typed
again counts as cut off too, however it ended. A run that *failed* for another reason, or was left out, says
nothing about times.

Times are microseconds of the recording's own clock, which is scaled by its rate.
"""

from __future__ import annotations

import msgspec

from exhibit.facts import kinds
from exhibit.sums.tolerance import Bound, quantile, upper_bound

Key = tuple[str, str]
"""Script and step."""


class Run(msgspec.Struct, frozen=True):
    """One good run of a step: how long it took, in which recording, and when it began on its clock."""

    took_us: int
    recording: str
    at_us: int


class StepTimes(msgspec.Struct):
    """All runs of one step."""

    good_us: list[int] = []
    overdue: int = 0
    """The number of late runs, including those that then ended well."""
    cut_off: int = 0
    failed: int = 0
    """The number of runs that failed without being late."""
    left_out: int = 0

    @property
    def median_us(self) -> float:
        """The median of the good runs. Raises ValueError if there are none."""
        return quantile(self.good_us, 0.5)

    @property
    def spread_us(self) -> float:
        """The interquartile range of the good runs. Raises ValueError if there are none."""
        return quantile(self.good_us, 0.75) - quantile(self.good_us, 0.25)

    @property
    def slowest_us(self) -> int:
        """The longest good run. Raises ValueError if there are none."""
        return max(self.good_us)

    def bound(self) -> Bound:
        """Return the limit that the runs support, in microseconds: see `tolerance`."""
        return upper_bound(self.good_us, beyond=self.cut_off)


class Stopwatch:
    """Measures the times of all steps, in one recording after another.

    It takes constant time for each entry, and keeps one number for each run, and the two extremes.
    """

    def __init__(self) -> None:
        self.steps: dict[Key, StepTimes] = {}
        """The times by step, in the order in which the steps first ran."""
        self.extremes: dict[Key, tuple[Run, Run]] = {}
        """By step: its quickest and its slowest good run; of several that took the same time, the first."""
        self._recording = ""
        self._running: tuple[Key, int] | None = None
        self._was_overdue = False
        self._typed_again = False

    def begin(self, recording: str) -> None:
        """The entries that follow are those of the recording of this name."""
        self._recording = recording
        self.interrupted()

    def interrupted(self) -> None:
        """Forget the step that is running: a recording begins or ends, or part of it can't be read."""
        self._running = None

    def take(self, entry: kinds.Entry) -> None:
        """Take the next entry of a recording."""
        match entry.fact:
            case kinds.StepStarted(script=script, step=step):
                self._running = (script, step), entry.at_us
                self._was_overdue = self._typed_again = False
            case kinds.StepOverdue(then=then):
                self._was_overdue = True
                self._typed_again |= then == "again"
            case kinds.StepEnded(script=script, step=step):
                started_us = self._end(script, step)
                if started_us is not None and self._typed_again:
                    self._of(script, step).cut_off += 1
                elif started_us is not None:
                    took_us = entry.at_us - started_us
                    self._of(script, step).good_us.append(took_us)
                    self._compare((script, step), Run(took_us, self._recording, started_us))
            case kinds.StepFailed(script=script, step=step):
                if self._end(script, step) is not None:
                    self._of(script, step).failed += not self._was_overdue
                    self._of(script, step).cut_off += self._was_overdue
            case kinds.StepLeftOut(script=script, step=step):
                if self._end(script, step) is not None:
                    self._of(script, step).left_out += not self._was_overdue
                    self._of(script, step).cut_off += self._was_overdue
            case kinds.RecordingOpened() | kinds.RecordingClosed() | kinds.ScriptEnded():
                self.interrupted()

    def _compare(self, step: Key, run: Run) -> None:
        quickest, slowest = self.extremes.get(step, (run, run))
        if run.took_us < quickest.took_us:
            quickest = run
        elif run.took_us > slowest.took_us:
            slowest = run
        self.extremes[step] = quickest, slowest

    def _of(self, script: str, step: str) -> StepTimes:
        return self.steps.setdefault((script, step), StepTimes())

    def _end(self, script: str, step: str) -> int | None:
        """Return when the step started; None if its start is unknown."""
        running, self._running = self._running, None
        if running is None or running[0] != (script, step):
            return None
        self._of(script, step).overdue += self._was_overdue
        return running[1]
