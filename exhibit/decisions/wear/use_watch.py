"""Recognises use: exercisers that begin and end, parts that are started and stopped, disc errors.

It goes by the signs that the machine's folder gives, and by the use that has already been summed up.
"""

from __future__ import annotations

from typing import Final

from exhibit.decisions.machine.description import Machine
from exhibit.decisions.wear.job_watch import JobWatch, first_line
from exhibit.decisions.wear.use import Use
from exhibit.facts import kinds

FACTS: Final = (
    kinds.ExerciserBegun,
    kinds.ExerciserEnded,
    kinds.JobAsked,
    kinds.JobInDoubt,
    kinds.JobListed,
    kinds.JobDoubtOver,
    kinds.PartStarted,
    kinds.PartStopped,
    kinds.DiscErrorsCounted,
)
"""The kinds of fact that this module decides."""


class UseWatch:
    """Watches recorded facts. The facts that it returns have already been added to `use`."""

    def __init__(self, machine: Machine, use: Use) -> None:
        self._machine = machine
        self._use = use
        self._signs = machine.error_signs
        self.jobs = JobWatch(
            machine, use.doubts, lambda: [(busy.exerciser, busy.job) for busy in use.running]
        )
        self._script = ""
        """The script whose hands-on step a person is being asked to do."""

    def note(self, at_us: int, fact: kinds.AnyFact | kinds.UnknownFact) -> list[kinds.AnyFact]:
        """The facts about use that follow from this fact. Record each of them."""
        if isinstance(fact, kinds.PatternSeen | kinds.InterruptionSeen | kinds.ReadingTaken):
            self._use.pass_time(at_us)
        facts = [*self._facts(fact), *self.jobs.note(at_us, fact)]
        for decided in facts:
            self._use.note(at_us, decided)
        return facts

    def _facts(self, fact: kinds.AnyFact | kinds.UnknownFact) -> list[kinds.AnyFact]:
        match fact:
            case kinds.PatternSeen():
                return self._seen(fact.pattern, fact.line, fact.fields)
            case kinds.InterruptionSeen(interruption=name, text=text):
                return self._seen(name, first_line(text), self.jobs.fields_of(name, text))
            case kinds.RecordingOpened():
                return [*self._use.out_of_sight]
            case kinds.HandsOnAsked(script=script):
                self._script = script
            case kinds.HandsOnConfirmed(step=step):
                return self._parts(f"{self._script}.{step}")
            case kinds.ReadingTaken(table=None) if f"{fact.display}.{fact.name}" in self._signs.readings:
                return self._reading(f"{fact.display}.{fact.name}", fact.value)
        return []

    def _seen(self, name: str, line: str, fields: dict[str, str]) -> list[kinds.AnyFact]:
        """A line or an interruption of this name."""
        facts: list[kinds.AnyFact] = []
        for busy in self._use.running:
            rules = next((one for one in self._machine.exercisers if one.name == busy.exerciser), None)
            about = fields.get(rules.job, busy.job) if rules is not None else ""
            if rules is not None and name in rules.ended and about == busy.job:
                facts.append(kinds.ExerciserEnded(exerciser=busy.exerciser, job=busy.job, by=name))
        if name in self._signs.lines and not self._use.knows_log_entry(line):
            facts.append(kinds.DiscErrorsCounted(by=name, count=1, entry=line))
        if name in self._signs.anew:
            counted = [reading for reading, stands_at in self._use.readings.items() if stands_at]
            facts += [kinds.DiscErrorsCounted(by=reading, count=0) for reading in counted]
        return facts + self._parts(name)

    def _parts(self, name: str) -> list[kinds.AnyFact]:
        facts: list[kinds.AnyFact] = []
        for part, marks in self._machine.marks.items():
            if name in marks.started:
                facts.append(kinds.PartStarted(part=part, by=name))
            elif name in marks.stopped and self._use.is_running(part):
                facts.append(kinds.PartStopped(part=part, by=name))
        return facts

    def _reading(self, name: str, value: float | str) -> list[kinds.AnyFact]:
        stands_at = float(value) if not isinstance(value, str) else 0.0
        before = self._use.readings.get(name, 0.0)
        if stands_at == before:
            return []
        # A reading that fell has started from zero again, so all that it shows is new.
        more = stands_at - before if stands_at > before else stands_at
        return [kinds.DiscErrorsCounted(by=name, count=int(more), stands_at=stands_at)]
