"""One run of a script: which step it is at, what the machine gave, what could not be tidied up."""

from __future__ import annotations

from collections.abc import Mapping

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
    StepAtPlace,
    TypeCommand,
    TypeSecret,
    Wait,
)
from exhibit.facts.kinds import LastRecordingRead, Outcome


class ScriptRun:
    """Begins at the script's first step. `why` says what ended it early, and is empty until then."""

    def __init__(self, script: Script) -> None:
        self.script = script
        self.index = 0
        self.tidying = False
        self.outcome: Outcome = "done"
        self.why = ""
        self.untidy: list[str] = []
        """What the tidy-up could not do."""
        self._may_go_on = False
        """What the script began may go on: a step of the tidy-up that ends it wasn't done."""
        self._tidied_again = False
        self.seen: dict[str, Mapping[str, str]] = {}
        """By step: the fields of what it waited for."""
        self._unanswered: TypeCommand | None = None
        """The command that was given up after its RETURN: the machine may have taken it."""
        self._done: set[str] = set()
        """The commands, as the script has them, whose steps were done."""

    @property
    def by(self) -> str:
        """Who types."""
        return f"script {self.script.name}"

    @property
    def steps(self) -> tuple[AnyStep, ...]:
        """Those of the script, or of its tidy-up."""
        return self.script.tidy_up if self.tidying else self.script.steps

    @property
    def at_end(self) -> bool:
        """Whether no step is left."""
        return self.index == len(self.steps)

    @property
    def step(self) -> AnyStep:
        """The step that runs."""
        return self.steps[self.index]

    @property
    def where(self) -> dict[str, str]:
        """Script and step, for a fact."""
        return {"script": self.script.name, "step": self.step.name}

    def begin_tidy_up(self) -> None:
        """From its first step, also when it had begun before."""
        self.tidying, self.index, self.untidy, self._may_go_on = True, 0, [], False

    def tidies_again(self) -> bool:
        """Whether the tidy-up, at its end, is to be gone through anew: once, where something may go on."""
        again = self._may_go_on and not self._tidied_again
        self._tidied_again |= again
        return again

    def fail_tidying(self, why: str) -> None:
        """The step of the tidy-up that runs failed. The rest is tried all the same."""
        self.untidy.append(f"the step {self.step.name} failed, because {why}")
        self._may_go_on |= self._ends_something

    def resume(self, left_open: LastRecordingRead) -> None:
        """Goes on with what another run of this script left open."""
        self.why = "it was left unfinished"
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
        """The step that gives a number and may have been done in the second that the recording lacks."""
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

    def end(self, outcome: Outcome, why: str) -> None:
        """It won't end as `done`. What was said first stands, but a failure outdoes a stop."""
        if self.outcome == "done" or (self.outcome == "stopped" and outcome == "failed"):
            self.outcome, self.why = outcome, why

    def give_up_unanswered(self) -> None:
        """The step that runs is given up after its RETURN had gone out."""
        if isinstance(self.step, TypeCommand) and not self.tidying:
            self._unanswered = self.step

    def came_late(self, name: str, fields: Mapping[str, str]) -> None:
        """Something came while it is being tidied up: perhaps what the step waited for that was given up."""
        given_up = self._unanswered
        if given_up is not None and name in given_up.until:
            self.seen.setdefault(given_up.name, fields)

    def came(self, fields: Mapping[str, str]) -> None:
        """What the step waited for came."""
        self.seen[self.step.name] = fields
        if isinstance(self.step, TypeCommand):
            self._done.add(self.step.command)

    @property
    def skipped_elsewhere(self) -> bool:
        """Whether the step is left out where the console stands at something else than it is for."""
        step = self.step
        if isinstance(step, ReadDisplay):
            return step.only_if_there
        return isinstance(step, StepAtPlace) and (self.tidying or step.only_if_there)

    def was_done(self) -> bool:
        """Whether this step would end once more what a step before it has ended."""
        command = self.step.command if isinstance(self.step, TypeCommand) else ""
        return bool(numbers_named(command)) and command in self._done

    def skip_at(self, landmark: str) -> str:
        """Why the step is left out where the console stands at something else than it is for.

        A step that names no number of the machine's was for another place. One that does was to end
        what was begun, and that may be going on.
        """
        why = f"the console stands at {landmark}"
        if self._ends_something:
            self._may_go_on = True
            self.untidy.append(f"the step {self.step.name} was left out, because {why}")
        return why

    def skip_unknown(self, missing: str) -> str:
        """Why a step of the tidy-up is left out that names a number which the machine never gave."""
        why = f"the machine never gave {missing}"
        if self._unanswered is not None and self._unanswered.name in {step for step, _ in self._named}:
            self._may_go_on = True
            self.untidy.append(f"{why}, but may have taken its command")
        return why

    @property
    def _ends_something(self) -> bool:
        """Whether the step that runs ends what was begun, by a number that the machine gave."""
        return bool(self._named) and all(field in self.seen.get(step, {}) for step, field in self._named)

    @property
    def _named(self) -> list[tuple[str, str]]:
        return numbers_named(self.step.command) if isinstance(self.step, TypeCommand) else []


def at_of(step: AnyStep) -> tuple[str, ...]:
    """Where the console must stand before the step types."""
    return step.at if isinstance(step, StepAtPlace) else ()


def within_of(step: AnyStep) -> int:
    """Its time limit; 0 for a step that waits for nothing."""
    return 0 if isinstance(step, Pause | GiveCaption) else step.within_us


def until_of(step: AnyStep) -> tuple[str, ...]:
    """What the step waits for."""
    if isinstance(step, TypeCommand | TypeSecret | PressKey | Wait):
        return step.until
    return (step.display,) if isinstance(step, ReadDisplay) else ()
