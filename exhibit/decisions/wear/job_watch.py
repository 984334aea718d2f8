"""Recognises which job was asked for, whether it began, and what shows that it isn't running.

It only decides: the facts that it returns change nothing here until `doubts` has taken them. It says that a
job has begun only if the whole line that says so arrived, and only of the exerciser that was asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from typing import Final

from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.wear_rules import Exerciser
from exhibit.decisions.wear.doubts import Doubt, Doubts
from exhibit.decisions.wear.typed_line import TypedLine
from exhibit.facts import kinds

NO_JOB: Final = "no job"
"""The request with which a person says that none of the jobs in doubt is running."""
NOTHING_IN_DOUBT: Final = "no job is in doubt"
_LOST: Final = "the line was lost before the machine had answered"
_FRAMES: Final = 2
"""In so many frames of a table, one after the other, a job must be missing: the line can lose a row."""


class JobWatch:
    """`running` gives the numbers of the jobs that are known to have begun, by exerciser."""

    def __init__(
        self, machine: Machine, doubts: Doubts, running: Callable[[], Collection[tuple[str, str]]]
    ) -> None:
        self.doubts = doubts
        self._machine = machine
        self._running = running
        self._exercisers = {one.name: one for one in machine.exercisers}
        self._typed = TypedLine(machine)
        self._numbers: set[str] = set()
        """The numbers of jobs that began in full, even if they have ended: a job in doubt has another."""
        self._missing: dict[tuple[int, str], int] = {}
        """By doubt and table: in how many frames, up to the last, the job was missing."""

    def note(self, at_us: int, fact: kinds.AnyFact | kinds.UnknownFact) -> list[kinds.AnyFact]:
        """The facts about jobs that follow from this fact. Call it once for each fact."""
        facts = self._follow(at_us, fact)
        self._numbers |= {one.job for one in facts if isinstance(one, kinds.ExerciserBegun)}
        return facts

    def _follow(self, at_us: int, fact: kinds.AnyFact | kinds.UnknownFact) -> list[kinds.AnyFact]:
        command = self._machine.typing.folded(self._typed.note(fact))
        if command:
            return self._asked(command, at_us)
        match fact:
            case kinds.LineLost():
                return self._unanswered(_LOST)
            case kinds.TypingGarbled(new_line=True):
                return self._perhaps_taken(fact, at_us)
            case kinds.StepFailed(why=why) | kinds.StepLeftOut(why=why):
                return self._unanswered(why)
            case kinds.LastRecordingRead(in_doubt=jobs, numbers=numbers):
                self._numbers |= {number for fields in numbers.values() for number in fields.values()}
                return self._taken_over([job for job in jobs if not job.asked], at_us)
            case kinds.RequestMade(request="no job", by=by):
                return self._nobody_runs(by)
            case kinds.ReadingTaken(table=list()):
                return self._table(fact)
        return self.seen(at_us, fact)

    def seen(self, at_us: int, fact: kinds.AnyFact | kinds.UnknownFact) -> list[kinds.AnyFact]:
        """The facts about jobs that follow from what was printed. It can be asked any number of times."""
        match fact:
            case kinds.LandmarkReached(landmark=name):
                return self._unanswered(f"{name} was showing, but not the line that says that it has begun")
            case kinds.PatternSeen(pattern=name, fields=fields):
                return self._line(name, fields, at_us)
            case kinds.InterruptionSeen(interruption=name, text=text):
                return self._line(name, self.fields_of(name, text), at_us)
            case kinds.TroubleRaised(trouble=name):
                return self._refused(name)
        return []

    def fields_of(self, interruption: str, text: str) -> dict[str, str]:
        """The fields of the line with which this interruption starts."""
        known = next((one for one in self._machine.interruptions if one.name == interruption), None)
        return (known.starts.match(first_line(text)) if known else None) or {}

    def _line(self, name: str, fields: dict[str, str], at_us: int) -> list[kinds.AnyFact]:
        """A known line or interruption with these fields was printed."""
        return [
            *self._refused(name),
            *self._ended(name, fields),
            *self._listed_by(name, fields),
            *self._begun(name, fields, at_us),
        ]

    # -- asked for, and begun -------------------------------------------------------------------

    def _asked(self, command: str, at_us: int) -> list[kinds.AnyFact]:
        unanswered = self._unanswered("another command was typed before the machine had answered")
        fitting = self.fitting(command)
        if not fitting:
            return unanswered
        asked = kinds.JobAsked(
            asked=self.doubts.next,
            exercisers=[one.name for one in fitting],
            command=command,
            by=self._typed.by,
            ends_us=self._ends_us(fitting, command, at_us),
        )
        return [*unanswered, asked]

    def _perhaps_taken(self, garbled: kinds.TypingGarbled, at_us: int) -> list[kinds.AnyFact]:
        """A new line came before RETURN was typed: the machine may have taken what had been typed by then."""
        command = self._machine.typing.folded(garbled.command)
        sent = garbled.expected.strip()
        fitting = [*self.fitting(command), *self.fitting(sent)]
        names = list(dict.fromkeys(one.name for one in fitting))
        if not names:
            return []
        doubt = kinds.JobInDoubt(
            asked=self.doubts.next,
            exercisers=names,
            command=command,
            by=self._typed.by,
            why=f"the machine may have taken {sent} before RETURN was typed",
            ends_us=self._ends_us(fitting, command, at_us) if len(names) == 1 else 0,
        )
        return [doubt]

    def fitting(self, command: str) -> list[Exerciser]:
        """The exercisers that this command can start."""
        return [one for one in self._exercisers.values() if one.typed.match(command) is not None]

    def _ends_us(self, exercisers: Iterable[Exerciser], command: str, at_us: int) -> int:
        """When the job that this command starts at `at_us` ends at the latest; 0 if it doesn't end."""
        fields = [(one, one.typed.match(command) or {}) for one in exercisers]
        lasts = [one.lasts_us(given) for one, given in fields]
        return at_us + max(us for us in lasts if us is not None) if lasts and None not in lasts else 0

    def _unanswered(self, why: str) -> list[kinds.AnyFact]:
        """The machine should have answered by now: what was asked for is in doubt."""
        return [_in_doubt(one, why) for one in self.doubts.all if not one.why]

    def _taken_over(self, jobs: list[kinds.InDoubt], at_us: int) -> list[kinds.AnyFact]:
        """Jobs that were asked for when the recording before broke off, too late to be given a number."""
        facts: list[kinds.AnyFact] = []
        for number, job in enumerate(jobs, self.doubts.next):
            known = [self._exercisers[name] for name in job.exercisers if name in self._exercisers]
            ends_us = self._ends_us(known, job.command, at_us)  # it began before now
            facts.append(
                kinds.JobInDoubt(
                    asked=number,
                    exercisers=job.exercisers,
                    command=job.command,
                    by=job.by,
                    why=job.why,
                    ends_us=ends_us,
                )
            )
        return facts

    def _begun(self, name: str, fields: dict[str, str], at_us: int) -> list[kinds.AnyFact]:
        printed = [one for one in self._exercisers.values() if one.begun == name]
        awaited = self.doubts.awaited
        if not printed:
            return []
        if awaited is None:
            if len(printed) == 1:
                return [_began(printed[0], fields, at_us)]
            why = f"{' and '.join(one.name for one in printed)} begin with the same line"
            doubt = Doubt(asked=self.doubts.next, exercisers=(), command="", by="")
            return [_either(doubt, printed, why, printed[0], fields, at_us)]
        meant = [one for one in printed if one.name in awaited.exercisers]
        meant = [one for one in meant if self._agrees(one, awaited.command, fields)]
        if len(meant) == 1:
            return [_began(meant[0], _with_typed(meant[0], awaited, fields), at_us, awaited.asked)]
        if meant:
            why = f"the command fits {' and '.join(one.name for one in meant)}"
            return [_either(awaited, meant, why, meant[0], fields, at_us)]
        # Perhaps only the beginning of the line that was wanted arrived: nothing in it can be relied upon.
        names = [*awaited.exercisers, *(one.name for one in printed if one.name not in awaited.exercisers)]
        why = f"the machine answered with {name}, which doesn't fit the command"
        return [_in_doubt(awaited, why, exercisers=names)]

    def _agrees(self, exerciser: Exerciser, command: str, fields: dict[str, str]) -> bool:
        """Whether what the line repeats of the command is what was typed."""
        typed = exerciser.typed.match(command) or {}
        return all(fields.get(place, value) == value for place, value in typed.items())

    # -- known not to run -----------------------------------------------------------------------

    def _refused(self, name: str) -> list[kinds.AnyFact]:
        awaited = self.doubts.awaited
        if awaited is None or awaited.why:
            return []
        if not all(name in rules.refused for rules in self._rules(awaited)):
            return []
        return [kinds.JobDoubtOver(asked=awaited.asked, how="refused", by=name)]

    def _ended(self, name: str, fields: dict[str, str]) -> list[kinds.AnyFact]:
        over: list[Doubt] = []
        nameless: list[Doubt] = []
        for one in self.doubts.doubted:
            rules = [rule for rule in self._rules(one) if name in rule.ended]
            if not rules:
                continue
            number = next((fields[rule.job] for rule in rules if rule.job in fields), "")
            if not number:
                over += [one] if len(rules) == len(one.exercisers) else []
            elif one.job:
                over += [one] if one.job == number else []
            elif not self._is_known(number) and self._is_its_program(one, rules, name, fields):
                nameless.append(one)
        over += nameless if len(nameless) == 1 else []  # of several, nobody knows which has ended
        return [kinds.JobDoubtOver(asked=one.asked, how="ended", by=name) for one in over]

    def _is_known(self, number: str) -> bool:
        """Whether this is the number of a job that is known, so that it isn't that of one in doubt."""
        return (
            number in self._numbers
            or any(job == number for _, job in self._running())
            or any(one.job == number for one in self.doubts.all)
        )

    def _is_its_program(
        self, doubt: Doubt, rules: list[Exerciser], name: str, fields: dict[str, str]
    ) -> bool:
        """Whether this end can only be that of a job of the program in doubt."""
        if not self._rules(doubt) or len(rules) != len(doubt.exercisers):
            return False
        called = {rule.called for rule in rules}
        given = fields.get(self._machine.now.job_name, "")
        if given:
            return called == {given}
        return all(
            one.name in doubt.exercisers or (one.called and called == {one.called})
            for one in self._exercisers.values()
            if name in one.ended
        )

    def _listed_by(self, name: str, fields: dict[str, str]) -> list[kinds.AnyFact]:
        """A printed listing: a line for a job, or the line that says that there is none."""
        facts: list[kinds.AnyFact] = []
        for one in self.doubts.doubted:
            if self._everywhere(one, lambda rule: name in rule.none_listed):
                facts.append(kinds.JobDoubtOver(asked=one.asked, how="not listed", by=name))
        facts += self._found(name, [fields], lambda rule, row: name in rule.listed)
        return facts

    def _table(self, fact: kinds.ReadingTaken) -> list[kinds.AnyFact]:
        """A table of jobs on a status display."""
        table, rows = f"{fact.display}.{fact.name}", fact.table or []
        column = self._machine.now.job_name

        def is_listed(rule: Exerciser, row: dict[str, str]) -> bool:
            return bool(rule.called) and row.get(column) == rule.called

        facts: list[kinds.AnyFact] = []
        for one in self.doubts.doubted:
            if fact.unread or not self._everywhere(one, lambda rule: table in rule.none_listed):
                continue
            there = [
                row
                for row in rows
                if any(
                    is_listed(rule, row) and self._can_be(one, row.get(rule.job, ""))
                    for rule in self._rules(one)
                )
            ]
            missing = 0 if there else self._missing.get((one.asked, table), 0) + 1
            self._missing[one.asked, table] = missing
            if missing >= _FRAMES:
                facts.append(kinds.JobDoubtOver(asked=one.asked, how="not listed", by=table))
        return facts + self._found(
            table, rows, lambda rule, row: table in rule.listed and is_listed(rule, row)
        )

    def _can_be(self, doubt: Doubt, number: str) -> bool:
        return doubt.job == number if doubt.job else not self._is_known(number)

    def _found(
        self, by: str, rows: list[dict[str, str]], is_listed: Callable[[Exerciser, dict[str, str]], bool]
    ) -> list[kinds.AnyFact]:
        """The number of a job in doubt, if it can only be that of one job and one doubt."""
        found = [
            (one, row.get(rule.job, ""))
            for one in self.doubts.doubted
            if not one.job
            for rule in self._rules(one)[:1]
            for row in rows
            if is_listed(rule, row) and row.get(rule.job) and not self._is_known(row[rule.job])
        ]
        if len(found) != 1:
            return []
        ((doubt, job),) = found
        return [kinds.JobListed(asked=doubt.asked, job=job, by=by)]

    def _nobody_runs(self, by: str) -> list[kinds.AnyFact]:
        """A person says that none of the jobs in doubt is running."""
        if not self.doubts.doubted:
            return [kinds.RequestRefused(request=NO_JOB, why=NOTHING_IN_DOUBT)]
        return [kinds.JobDoubtOver(asked=one.asked, how="a person", by=by) for one in self.doubts.doubted]

    # -- small questions ------------------------------------------------------------------------

    def _rules(self, doubt: Doubt) -> list[Exerciser]:
        return [self._exercisers[name] for name in doubt.exercisers if name in self._exercisers]

    def _everywhere(self, doubt: Doubt, holds: Callable[[Exerciser], bool]) -> bool:
        """Whether this holds for each exerciser that the job may be."""
        rules = self._rules(doubt)
        return len(rules) == len(doubt.exercisers) > 0 and all(map(holds, rules))


def first_line(text: str) -> str:
    """The first line of an interruption that isn't blank."""
    return next((row for row in text.splitlines() if row.strip()), "")


def _began(exerciser: Exerciser, fields: dict[str, str], at_us: int, asked: int = 0) -> kinds.ExerciserBegun:
    lasts_us = exerciser.lasts_us(fields)
    return kinds.ExerciserBegun(
        exerciser=exerciser.name,
        job=fields.get(exerciser.job, ""),
        part=exerciser.part,
        ends_us=0 if lasts_us is None else at_us + lasts_us,
        asked=asked,
    )


def _with_typed(exerciser: Exerciser, doubt: Doubt, fields: dict[str, str]) -> dict[str, str]:
    """The fields of the line, and those that only the command has, if the machine received it undamaged."""
    typed = None if doubt.why else exerciser.typed.match(doubt.command)
    return {**(typed or {}), **fields}


def _in_doubt(doubt: Doubt, why: str, exercisers: list[str] | None = None) -> kinds.JobInDoubt:
    return kinds.JobInDoubt(
        asked=doubt.asked,
        exercisers=exercisers or list(doubt.exercisers),
        command=doubt.command,
        by=doubt.by,
        why=why,
        job=doubt.job,
        ends_us=doubt.ends_us if exercisers is None else 0,
    )


def _either(
    doubt: Doubt, those: list[Exerciser], why: str, first: Exerciser, fields: dict[str, str], at_us: int
) -> kinds.JobInDoubt:
    """The line arrived whole, but it may be that of several exercisers."""
    lasts = [one.lasts_us(_with_typed(one, doubt, fields)) for one in those]
    known = [us for us in lasts if us is not None]
    return kinds.JobInDoubt(
        asked=doubt.asked,
        exercisers=[one.name for one in those],
        command=doubt.command,
        by=doubt.by,
        why=why,
        job=fields.get(first.job, ""),
        ends_us=at_us + max(known) if len(known) == len(lasts) else 0,
    )
