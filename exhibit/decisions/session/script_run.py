"""One run of a script: which step it is at, what the machine printed, and what couldn't be tidied up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

import msgspec

from exhibit.decisions.machine.description import Machine, Typing
from exhibit.decisions.machine.filling import numbers_named
from exhibit.decisions.machine.script import (
    AnyStep,
    CheckPack,
    GiveCaption,
    HandsOn,
    Pause,
    PressKey,
    ReadDisplay,
    Script,
    Step,
    StepAtPlace,
    TypeCommand,
    TypeSecret,
    Wait,
)
from exhibit.facts.kinds import LastRecordingRead, Outcome, WentOnAfter

SCRIPT_DONE: Final = "the script is done"
"""Why a script tidies up that has come to its end."""


class _Awaited(msgspec.Struct, frozen=True):
    """A step that was given up while its answer may only be late. `untidy`: the clause in a tidy-up."""

    step: AnyStep
    untidy: str


class ScriptRun:
    """Begins at the first step, or at `step`. `why` says what ended it early; empty if nothing did."""

    def __init__(self, script: Script, step: str = "") -> None:
        self.script = script
        names = [one.name for one in script.steps]
        self.from_step = step if step in names else ""
        self.index = names.index(step) if self.from_step else 0
        self.tidying = False
        self.outcome: Outcome = "done"
        self.why = ""
        self.untidy: list[str] = []
        """What the tidy-up could not do, as clauses of a sentence."""
        self.tried_again: dict[str, int] = {}
        """By step: how often its secret was tried again."""
        self._may_go_on = False
        """A job of the script's may still run: a step of the tidy-up that would stop it wasn't done."""
        self._tidied_again = False
        self.seen: dict[str, Mapping[str, str]] = {}
        """By step: the fields of the line that it waited for."""
        self._unanswered: TypeCommand | None = None
        """The step that was given up after its RETURN: the machine may have taken its command."""
        self._done: set[str] = set()
        """The commands, as written in the script, of the steps that were done."""
        self._taken: set[str] = set()
        """The steps whose command the machine took."""
        self._over: set[str] = set()
        """The numbers of jobs whose end the machine has printed."""
        self._resumed = False
        self.goes_on_after: WentOnAfter | Literal[""] = ""
        """The one failure that ended the script, if the rounds can go on by themselves after it."""
        self._awaited: _Awaited | None = None
        """The step that was given up after its RETURN, while nothing but the cancel key was typed since."""
        self._came_late = False
        """The answer for which that step had waited came after all."""

    @property
    def by(self) -> str:
        """Who types."""
        return f"script {self.script.name}"

    @property
    def steps(self) -> tuple[AnyStep, ...]:
        """The steps of the script, or of its tidy-up once that has begun."""
        return self.script.tidy_up if self.tidying else self.script.steps

    @property
    def at_end(self) -> bool:
        """Whether no step is left."""
        return self.index == len(self.steps)

    @property
    def step(self) -> AnyStep:
        """The running step."""
        return self.steps[self.index]

    @property
    def where(self) -> dict[str, str]:
        """Script and step, for a fact."""
        return {"script": self.script.name, "step": self.step.name}

    def begin_tidy_up(self) -> None:
        """Begins the tidy-up from its first step, even if it had already begun."""
        self.tidying, self.index, self.untidy, self._may_go_on = True, 0, [], False

    def tidies_again(self) -> bool:
        """Whether to run the tidy-up again at its end: once, if a job may still run."""
        again = self._may_go_on and not self._tidied_again
        self._tidied_again |= again
        return again

    def fail_tidying(self, why: str) -> None:
        """The running step of the tidy-up failed. The remaining steps are tried all the same."""
        self.untidy.append(f"the step {self.step.name} failed, because {why}")
        self._may_go_on |= self._ends_something

    def leave_untried(self, key: str) -> None:
        """The machine is silent, so the steps after the running one are not tried. `key`: what was typed."""
        untried = []
        for step in self.steps[self.index + 1 :]:
            if isinstance(step, Pause | GiveCaption):
                continue
            named = numbers_named(step.command) if isinstance(step, TypeCommand) else []
            numbers = [self.seen[of][field] for of, field in named if field in self.seen.get(of, {})]
            may_run = " and ".join(f"number {number}" for number in numbers)
            untried.append(f"{step.name} (for {may_run}, which may still run)" if numbers else step.name)
        what = f"the machine is silent: nothing has come since {key} was typed"
        self.untidy.append(f"{what}, so these were not tried: {', '.join(untried)}" if untried else what)

    def resume(self, left_open: LastRecordingRead) -> None:
        """Continues from what an earlier run of this script left open."""
        self.why, self._resumed = "it was left unfinished", True
        self.seen = dict(left_open.numbers)
        steps = {step.name: step for step in (*self.script.steps, *self.script.tidy_up)}
        put_away = [steps[name] for name in left_open.put_away if name in steps]
        self._done = {step.command for step in put_away if isinstance(step, TypeCommand)}
        step = steps.get(left_open.step)
        if not left_open.returned and left_open.may_lack:
            step = self._may_have_begun(left_open.step)
        if (left_open.returned or left_open.may_lack) and isinstance(step, TypeCommand):
            self._unanswered = step

    def _may_have_begun(self, last_known: str) -> AnyStep | None:
        """The step that learns a number and may have run in the second that the recording is missing."""
        named = {
            name
            for step in self.script.tidy_up
            if isinstance(step, TypeCommand)
            for name, _ in numbers_named(step.command)
        }
        names = [step.name for step in self.script.steps]
        if last_known and last_known not in names:  # the tidy-up had begun
            return None
        from_index = names.index(last_known) if last_known else 0
        for step in self.script.steps[from_index:]:
            if step.name in named and step.name not in self.seen:
                return step
            if step.name != last_known and isinstance(step, Pause | HandsOn | CheckPack):
                return None
        return None

    def end(self, outcome: Outcome, why: str, after: WentOnAfter | Literal[""] = "") -> None:
        """Sets how and why the script ends. The first reason is kept, but a failure replaces a stop.

        `after`: a failure after which the rounds can go on by themselves. Any other reason forbids that.
        """
        first = self.outcome == "done"
        self.goes_on_after = self.goes_on_after or after if after and (first or self.goes_on_after) else ""
        if self.outcome == "done" or (self.outcome == "stopped" and outcome == "failed"):
            self.outcome, self.why = outcome, why

    def give_up_unanswered(self) -> None:
        """The running step is given up after its RETURN was sent."""
        if isinstance(self.step, TypeCommand) and not self.tidying:
            self._unanswered = self.step

    def await_answer(self) -> None:
        """The running step is given up, but its command was typed with RETURN: only the answer is late."""
        self._awaited = _Awaited(self.step, self.untidy[-1] if self.tidying else "")

    def answer_is_over(self) -> None:
        """Something else was typed: what comes from now on may be the answer to that."""
        self._awaited = None

    def came_late(self, name: str, fields: Mapping[str, str]) -> str:
        """Something came during the tidy-up: perhaps what the step waited for that was given up.

        Returns the name of the step whose answer this is for certain; "" if there is none.
        """
        given_up = self._unanswered
        if given_up is not None and name in given_up.until and fields and not self.seen.get(given_up.name):
            self.seen[given_up.name] = fields
        awaited = self._awaited
        # The cancel key, too, can bring back the prompt at which the command was typed.
        if awaited is None or name not in until_of(awaited.step) or name in at_of(awaited.step):
            return ""
        self._awaited = None
        if not awaited.untidy:
            self._came_late = True
            return awaited.step.name
        # A step of the tidy-up is done after all, so its command isn't typed once more.
        self.untidy = [clause for clause in self.untidy if clause != awaited.untidy]
        self._done |= {awaited.step.command} if isinstance(awaited.step, TypeCommand) else set()
        return awaited.step.name

    @property
    def can_go_on(self) -> WentOnAfter | Literal[""]:
        """The failure after which the rounds can go on after the tidy-up; "" if a person must look."""
        answered = self.goes_on_after != "late answer" or self._came_late
        return self.goes_on_after if answered and not self.untidy else ""

    def came(self, fields: Mapping[str, str]) -> None:
        """What the step waited for has come, with these fields."""
        self.seen[self.step.name] = fields
        if isinstance(self.step, TypeCommand):
            self._done.add(self.step.command)
            self._taken.add(self.step.name)

    def job_began(self, number: str) -> None:
        """The machine printed that a job with this number has begun."""
        self._over.discard(number)

    def job_ended(self, number: str) -> None:
        """The machine printed that the job with this number has ended."""
        self._over.add(number)

    @property
    def skipped_elsewhere(self) -> bool:
        """Whether the step is left out if the console is not at the step's own place."""
        step = self.step
        if isinstance(step, ReadDisplay):
            return step.only_if_there
        return isinstance(step, StepAtPlace) and (self.tidying or step.only_if_there)

    def was_done(self) -> bool:
        """Whether an earlier step has already typed this command with the same number."""
        command = self.step.command if isinstance(self.step, TypeCommand) else ""
        return bool(numbers_named(command)) and command in self._done

    def skip_at(self, landmark: str) -> str:
        """Why the step is left out if the console is at `landmark`, which is not the step's own place.

        A step that names a number from the machine was meant to stop a job. Leaving it out is recorded as
        untidy, because the job may still run.
        """
        why = f"the console is at {landmark}"
        if self._ends_something:
            self._may_go_on = True
            self.untidy.append(f"the step {self.step.name} was left out, because {why}")
        return why

    @property
    def missing_for_good(self) -> str:
        """What a step of the tidy-up needs that nothing can bring any more; empty if it needs nothing such.

        It is the number of something that was never started: there is nothing to stop or to wait for.
        """
        taken = self._taken | ({self._unanswered.name} if self._unanswered is not None else set())
        for step, field in self._named if self.tidying and not self._resumed else ():
            if field not in self.seen.get(step, {}) and step not in taken:
                return f"{field} of the step {step}"
        return ""

    def skip_unknown(self, missing: str) -> str:
        """Why a step of the tidy-up is left out whose command names a number that isn't known.

        If the machine may have taken the command that would have brought the number, what that command
        started may be running.
        """
        why = f"the machine never gave {missing}"
        taken = self._taken | ({self._unanswered.name} if self._unanswered is not None else set())
        if taken.isdisjoint(step for step, _ in self._named):
            return f"{missing} isn't known from the run before" if self._resumed else why
        self._may_go_on = True
        why = f"{why}, but may have taken its command, so what that command starts may be running"
        self.untidy.append(why)
        return why

    @property
    def _ends_something(self) -> bool:
        """Whether the running step stops a job, by a number that the machine gave."""
        numbers = [self.seen.get(step, {}).get(field, "") for step, field in self._named]
        return bool(numbers) and all(numbers) and not self._over.issuperset(numbers)

    @property
    def _named(self) -> list[tuple[str, str]]:
        return numbers_named(self.step.command) if isinstance(self.step, TypeCommand) else []


def at_of(step: AnyStep) -> tuple[str, ...]:
    """The prompts and displays at which the step types; empty if it types nothing, or anywhere."""
    return step.at if isinstance(step, StepAtPlace) else ()


def typing_of(step: Step | None, machine: Machine) -> Typing:
    """How the machine takes what this step types: as at the first of its prompts."""
    at = step.at if isinstance(step, StepAtPlace) else ()
    return machine.typing_for(at[0] if at else "")


def within_of(step: AnyStep) -> int:
    """The step's time limit in microseconds; 0 for a step that waits for nothing."""
    return 0 if isinstance(step, Pause | GiveCaption) else step.within_us


def until_of(step: AnyStep) -> tuple[str, ...]:
    """The names of what the step waits for; any one of them ends the wait."""
    if isinstance(step, TypeCommand | TypeSecret | PressKey | Wait):
        return step.until
    return (step.display,) if isinstance(step, ReadDisplay) else ()
