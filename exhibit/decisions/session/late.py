"""What to do with a step whose time is up: wait on, type again, leave out, ask a person, or fail."""

from __future__ import annotations

from typing import Final

from exhibit.decisions.machine.script import AnyStep, TypeCommand
from exhibit.decisions.session.script_run import ScriptRun, at_of, until_of, within_of
from exhibit.decisions.session.states import State
from exhibit.facts import kinds
from exhibit.facts.session_facts import WhatThen

QUIET: Final = "quiet"
PROMPT_AGAIN: Final = "the prompt after the cancel key"
ECHO: Final = "the echo of what was typed"
_XON: Final = "the machine's leave to type (XON)"
"""What a step can have waited for besides what its script names."""


class Lateness:
    """Counts how often one step has already been given more time or another attempt."""

    def __init__(self, step: AnyStep) -> None:
        self._step = step
        self._waited_on = False
        self._again = 0

    def decide(self, state: State, standing: str) -> WhatThen:
        """What to do now that time is up. `standing`: the prompt or display that is showing, or "".

        A command is typed again only if its own prompt has settled, so that it can't answer anything else. A
        half-typed one isn't.
        """
        late = self._step.late
        ready = state == "waiting" and isinstance(self._step, TypeCommand) and standing in at_of(self._step)
        if late.then == "again" and ready and self._again < late.times:
            self._again += 1
            return "again"
        then = self.for_a_person
        self._waited_on = self._waited_on or then == "wait on"
        return then

    @property
    def for_a_person(self) -> WhatThen:
        """What to do once the time of a person is up: nothing that a person does is typed again."""
        late = self._step.late
        match late.then:
            case "again":
                return "ask" if late.then_ask else "stop"
            case "wait on":
                return "stop" if self._waited_on else "wait on"
        return late.then


def overdue(
    run: ScriptRun,
    state: State,
    last_lines: list[str],
    then: WhatThen,
    *,
    blocked_by_xoff: bool,
    cancelled: bool,
) -> kinds.StepOverdue:
    """The fact that the step's time is up. `blocked_by_xoff`: the machine kept the step from typing.

    `cancelled`: the cancel key was typed after a command that came back wrong.
    """
    return kinds.StepOverdue(
        **run.where,
        waited_for=[_XON] if blocked_by_xoff else _waited_for(run.step, state, cancelled=cancelled),
        within_us=within_of(run.step),
        last_lines=last_lines,
        then=then,
        at_prompt=state == "at prompt" and isinstance(run.step, TypeCommand),
    )


def _waited_for(step: AnyStep, state: State, *, cancelled: bool) -> list[str]:
    """What the step was still waiting for."""
    if state == "at prompt":
        return list(at_of(step)) or [QUIET]
    if state == "typing":
        return [PROMPT_AGAIN if cancelled else ECHO]
    if state == "asking":
        return ["a person to confirm"]
    return list(until_of(step))


def answer_to(made: kinds.RequestMade, asked: bool) -> kinds.AnyFact:
    """The fact that answers a person's word on a late step. `asked`: whether it is being asked about now."""
    if not asked:
        why = f"nobody is being asked what to do about the step {made.step} now"
        return kinds.RequestRefused(request=made.request, why=why)
    answer: kinds.LateAnswer = "wait on" if made.request == "wait on" else "leave out"
    return kinds.LateAnswered(step=made.step, answer=answer, by=made.by)


def vouched(made: kinds.RequestMade, why_not: str, line: str) -> kinds.AnyFact:
    """The fact that answers a person who says that the console shows the step's prompt."""
    if why_not:
        return kinds.RequestRefused(request=made.request, why=why_not)
    return kinds.PromptVouched(step=made.step, by=made.by, line=line)
