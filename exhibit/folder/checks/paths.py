"""Follows the console through a script: finds steps that are never come to, and ends that lead nowhere.

What is followed is which prompts may stand. A person at the machine, a line that is waited for and a
status display, which may end by itself, all make it unknown again; then nothing is said. The tidy-up
isn't followed: any step of it may be left out.
"""

from __future__ import annotations

from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.scripts import BY_HAND, ScriptDraft, StepDraft, late_of

Standing = frozenset[str] | None
"""The prompts one of which stands; None where that can't be told."""


def check_paths(script: ScriptDraft, machine: MachineDraft) -> None:
    """Add the steps of the script that are never done, or waited at in vain, to the mistakes."""
    standing: Standing = None
    before = ""
    """Where what stands comes from."""
    landmark = frozenset(machine.landmarks.get(script.from_landmark, ()))
    if landmark and landmark <= machine.prompts.keys():
        standing, before = landmark, f'at the landmark "{script.from_landmark}"'
    for step in script.steps:
        standing = _after(step, standing, before, machine)
        if late_of(step, script).then == "leave out":
            standing = None
        if step.kind not in ("pause", "caption"):
            before = f'after "{step.name}"'


def _after(step: StepDraft, standing: Standing, before: str, machine: MachineDraft) -> Standing:
    match step.kind:
        case "type" | "secret" | "press":
            return _at_a_place(step, standing, before, machine)
        case "wait":
            until = _prompts(step, machine)
            if standing and until and not until & standing:
                _never(step, "wait", standing, before, f"waits for {_either(until)} in vain", until)
            return until
        case "read":
            if standing:
                what = f'waits in vain for a frame of "{step.texts.get("read", "")}"'
                _never(step, "read", standing, before, what, None)
            return None
        case "read_if_shown":
            if standing:
                what = f'is never done: "{step.texts.get("read_if_shown", "")}" doesn\'t stand there'
                _never(step, "read_if_shown", standing, before, what, None)
            return standing
        case shape if shape in BY_HAND or not shape:
            return None
    return standing


def _at_a_place(step: StepDraft, standing: Standing, before: str, machine: MachineDraft) -> Standing:
    at = frozenset(name for name, _ in step.lists.get(step.at_key, []))
    until = _prompts(step, machine)
    for name in at & machine.prompts.keys():
        if (step.kind == "secret") != (machine.prompts[name].kind == "secret") and step.kind != "press":
            return until  # it is for another kind of prompt, which is said elsewhere
    if standing is None or not at <= {*machine.prompts, *machine.displays}:
        return None if step.only_if_there else until
    if not standing & at:
        if step.only_if_there:
            where = f"only where {_either(at)} stands" if at else "only where nothing known stands"
            _never(step, step.at_key, standing, before, f"is never done: it is {where}", at)
            return standing
        if at:
            _never(step, step.at_key, standing, before, f"waits for {_either(at)} in vain", at)
        return until
    elsewhere = standing - at
    if step.only_if_there:
        return None if until is None else until | elsewhere
    if elsewhere:
        names = ", ".join(f'"{name}"' for name in sorted(at | elsewhere))
        step.table.advise(
            step.at_key,
            f"{before} {_either(elsewhere)} may stand, where this step waits in vain",
            f"{step.at_key} = [{names}], or a step before it with if_at for what is to be done there",
        )
    return until


def _prompts(step: StepDraft, machine: MachineDraft) -> Standing:
    """What stands when the step is over; None unless all that it waits for are prompts."""
    names = frozenset(name for name, _ in step.until)
    return names if names and names <= machine.prompts.keys() else None


def _never(
    step: StepDraft, key: str, standing: frozenset[str], before: str, what: str, other: frozenset[str] | None
) -> None:
    step.table.wrong(
        key,
        f'the step "{step.name}" {what}, since {_either(standing)} stands {before}',
        f"{key} = {_listed(standing)}, or a step in between that leads to {_either(other)}"
        if other
        else "a step in between that leads there, or nothing: leave this step out",
    )


def _either(names: frozenset[str]) -> str:
    return " or ".join(f'"{name}"' for name in sorted(names))


def _listed(names: frozenset[str]) -> str:
    return "[" + ", ".join(f'"{name}"' for name in sorted(names)) + "]"
