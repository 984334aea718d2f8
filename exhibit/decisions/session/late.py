"""What becomes of a step whose time is up: waited on, typed again, left out, asked about, or failed."""

from __future__ import annotations

from typing import Final

from exhibit.decisions.machine.script import AnyStep, TypeCommand
from exhibit.decisions.session.script_run import ScriptRun, at_of, until_of, within_of
from exhibit.decisions.session.states import State
from exhibit.facts import kinds
from exhibit.facts.session_facts import WhatThen

QUIET: Final = "quiet"
ECHO: Final = "the echo of what was typed"
_XON: Final = "the machine to let something be typed (XON)"
"""What a step may have waited for besides what its script names."""


class Lateness:
    """Counts for one step what it was given already."""

    def __init__(self, step: AnyStep) -> None:
        self._step = step
        self._waited_on = False
        self._again = 0

    def decide(self, state: State, standing: str) -> WhatThen:
        """What becomes of it now. `standing`: the prompt or display that stands, or nothing.

        A command is only typed again where its own prompt stands, settled, so that nothing else can be
        answered by it. What is half typed isn't.
        """
        late = self._step.late
        if late.then == "wait on":
            given, self._waited_on = self._waited_on, True
            return "stop" if given else "wait on"
        if late.then != "again":
            return late.then
        ready = state == "waiting" and isinstance(self._step, TypeCommand)
        if not ready or standing not in at_of(self._step) or self._again == late.times:
            return "stop"
        self._again += 1
        return "again"


def overdue(
    run: ScriptRun, state: State, last_lines: list[str], then: WhatThen, *, blocked_by_xoff: bool
) -> kinds.StepOverdue:
    """The fact of it. `blocked_by_xoff`: the machine kept the step from typing."""
    return kinds.StepOverdue(
        **run.where,
        waited_for=[_XON] if blocked_by_xoff else _waited_for(run.step, state),
        within_us=within_of(run.step),
        last_lines=last_lines,
        then=then,
    )


def _waited_for(step: AnyStep, state: State) -> list[str]:
    """What did not come."""
    if state == "at prompt":
        return list(at_of(step)) or [QUIET]
    if state == "typing":
        return [ECHO]
    if state == "asking":
        return ["a person to confirm"]
    return list(until_of(step))


def answer_to(made: kinds.RequestMade, asked: bool) -> kinds.AnyFact:
    """What becomes of a person's word on a late step. `asked`: whether somebody is asked for it now."""
    if not asked:
        why = f"nobody is being asked what becomes of the step {made.step} now"
        return kinds.RequestRefused(request=made.request, why=why)
    answer: kinds.LateAnswer = "wait on" if made.request == "wait on" else "leave out"
    return kinds.LateAnswered(step=made.step, answer=answer, by=made.by)
