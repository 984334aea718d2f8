"""One run of a script: which step it is at, what the machine gave, what could not be tidied up."""

from __future__ import annotations

from collections.abc import Mapping

from exhibit.decisions.filling import numbers_named
from exhibit.decisions.script import (
    AnyStep,
    PressKey,
    ReadDisplay,
    Script,
    StepAtPlace,
    TypeCommand,
    TypeSecret,
    Wait,
)
from exhibit.facts.kinds import Outcome


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
        self.seen: dict[str, Mapping[str, str]] = {}
        """By step: the fields of what it waited for."""
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
        self.tidying, self.index, self.untidy = True, 0, []

    def end(self, outcome: Outcome, why: str) -> None:
        """It won't end as `done`. What was said first stands, but a failure outdoes a stop."""
        if self.outcome == "done" or (self.outcome == "stopped" and outcome == "failed"):
            self.outcome, self.why = outcome, why

    def came(self, fields: Mapping[str, str]) -> None:
        """What the step waited for came."""
        self.seen[self.step.name] = fields
        if isinstance(self.step, TypeCommand):
            self._done.add(self.step.command)

    @property
    def left_out_elsewhere(self) -> bool:
        """Whether the step is left out where the console stands at something else than it is for."""
        step = self.step
        if isinstance(step, ReadDisplay):
            return step.only_if_there
        return isinstance(step, StepAtPlace) and (self.tidying or step.only_if_there)

    def was_done(self) -> bool:
        """Whether this step would end once more what a step before it has ended."""
        command = self.step.command if isinstance(self.step, TypeCommand) else ""
        return bool(numbers_named(command)) and command in self._done

    def has_something_to_end(self) -> bool:
        """Whether this step names what the machine began for us, so that leaving it out matters."""
        named = numbers_named(self.step.command) if isinstance(self.step, TypeCommand) else []
        return bool(named) and all(field in self.seen.get(step, {}) for step, field in named)


def at_of(step: AnyStep) -> tuple[str, ...]:
    """Where the console must stand before the step types."""
    return step.at if isinstance(step, StepAtPlace) else ()


def until_of(step: AnyStep) -> tuple[str, ...]:
    """What the step waits for."""
    if isinstance(step, TypeCommand | TypeSecret | PressKey | Wait):
        return step.until
    return (step.display,) if isinstance(step, ReadDisplay) else ()
