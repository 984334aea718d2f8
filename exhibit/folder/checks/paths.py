"""Follows the prompts through a script, and finds steps that are never reached and outcomes not dealt with.

It keeps track of which prompts can be showing. After a hands-on step, a wait for a line, or a status
display, which can end by itself, that is unknown, and nothing is reported. The tidy-up isn't followed,
because any of its steps can be left out.
"""

from __future__ import annotations

from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.scripts import BY_HAND, late_of
from exhibit.folder.reading.step_drafts import ScriptDraft, StepDraft

Showing = frozenset[str] | None
"""The prompts of which one is showing; None if that is unknown."""


def check_paths(script: ScriptDraft, machine: MachineDraft) -> None:
    """Add a mistake for each step that is never done or whose wait is never over, and advice on open ends."""
    showing: Showing = None
    before = ""
    """Which step or landmark left these prompts showing."""
    landmark = frozenset(machine.landmarks.get(script.from_landmark, ()))
    if landmark and landmark <= machine.prompts.keys():
        showing, before = landmark, f'at the landmark "{script.from_landmark}"'
    for step in script.steps:
        showing = _after(step, showing, before, machine)
        if late_of(step, script).then == "leave out":
            showing = None
        if step.kind not in ("pause", "caption"):
            before = f'after "{step.name}"'


def _after(step: StepDraft, showing: Showing, before: str, machine: MachineDraft) -> Showing:
    match step.kind:
        case "type" | "secret" | "press":
            return _at_a_place(step, showing, before, machine)
        case "wait":
            until = _prompts(step, machine)
            if showing and until and not until & showing:
                _report(step, "wait", showing, before, f"waits for {_either(until)} in vain", until)
                return None
            return until
        case "read":
            if showing:
                what = f'waits in vain for a frame of "{step.texts.get("read", "")}"'
                _report(step, "read", showing, before, what, None)
            return None
        case "read_if_shown":
            if showing:
                what = f'is never done, because "{step.texts.get("read_if_shown", "")}" isn\'t showing'
                _report(step, "read_if_shown", showing, before, what, None)
            return showing
        case shape if shape in BY_HAND or not shape:
            return None
    return showing


def _at_a_place(step: StepDraft, showing: Showing, before: str, machine: MachineDraft) -> Showing:
    at = frozenset(name for name, _ in step.lists.get(step.at_key, []))
    until = _prompts(step, machine)
    for name in at & machine.prompts.keys():
        if (step.kind == "secret") != (machine.prompts[name].kind == "secret") and step.kind != "press":
            return until  # `references` reports that this is the wrong kind of prompt
    if showing is None or not at <= {*machine.prompts, *machine.displays}:
        return None if step.only_if_there else until
    if not showing & at:
        if step.only_if_there:
            needed = f"{_either(at)} to be showing" if at else "nothing known to be showing"
            _report(step, step.at_key, showing, before, f"is never done, because it needs {needed}", at)
            return showing
        if at:
            _report(step, step.at_key, showing, before, f"waits for {_either(at)} in vain", at)
        return until
    elsewhere = showing - at
    if step.only_if_there:
        return None if until is None else until | elsewhere
    if elsewhere:
        names = ", ".join(f'"{name}"' for name in sorted(at | elsewhere))
        step.table.advise(
            step.at_key,
            f"{before}, {_either(elsewhere)} can be showing, and this step would then wait in vain",
            f"{step.at_key} = [{names}], or an earlier step with if_at that deals with it",
        )
    return until


def _prompts(step: StepDraft, machine: MachineDraft) -> Showing:
    """Return what is showing when the step is over; None unless it waits only for prompts."""
    names = frozenset(name for name, _ in step.until)
    return names if names and names <= machine.prompts.keys() else None


def _report(
    step: StepDraft, key: str, showing: frozenset[str], before: str, what: str, other: frozenset[str] | None
) -> None:
    step.table.wrong(
        key,
        f'the step "{step.name}" {what}; {before}, {_either(showing)} is showing',
        f"{key} = {_listed(showing)}, or a step in between that leads to {_either(other)}"
        if other
        else "a step in between that leads there, or nothing; delete this step",
    )


def _either(names: frozenset[str]) -> str:
    return " or ".join(f'"{name}"' for name in sorted(names))


def _listed(names: frozenset[str]) -> str:
    return "[" + ", ".join(f'"{name}"' for name in sorted(names)) + "]"
