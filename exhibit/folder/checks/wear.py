"""Checks what the files of a folder say about wear: marks of parts, exercisers, packs and limits."""

from __future__ import annotations

from exhibit.decisions.machine.wear_rules import Exerciser
from exhibit.decisions.session.limits import UNATTENDED
from exhibit.facts.units import MIN_US
from exhibit.folder.checks.references import Drafts
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.scripts import BY_HAND
from exhibit.folder.reading.step_drafts import ScriptDraft, StepDraft
from exhibit.folder.reading.tables import HARMLESS
from exhibit.folder.reading.values import intended_name
from exhibit.folder.reading.wear import LimitsDraft, MarksDraft


def check_wear(drafts: Drafts, limits: LimitsDraft | None) -> None:
    """Add a mistake for each unknown mark, impossible exerciser, and limit that a script always exceeds."""
    machine = drafts.machine
    if machine is None:
        return
    for marks in machine.marks:
        _check_marks(marks, machine, drafts)
    begun: dict[tuple[str, str], str] = {}
    for exerciser, table in machine.exercisers.values():
        # With the same line, the command that was typed decides which one has started.
        signs = exerciser.begun, exerciser.typed.text
        if begun.setdefault(signs, exerciser.name) != exerciser.name and exerciser.begun:
            what = f'"{exerciser.begun}" already shows that {begun[signs]} has started'
            table.wrong("begun", what, "a line from [lines] that shows the start of this exerciser only")
    for script in filter(None, drafts.scripts.values()):
        wanted_us = sum(_check_step(step, script, machine) for step in script.all_steps)
        if limits is not None:
            _check_fits(script, wanted_us, limits)


def _check_marks(marks: MarksDraft, machine: MachineDraft, drafts: Drafts) -> None:
    for listed in (marks.started, marks.stopped):
        for name, below in listed:
            if "." in name:
                problem = _problem_with_step(name, drafts)
            else:
                known = [*machine.lines, *machine.interruptions]
                near = intended_name(name, known)
                problem = None
                if name.strip() and name not in known:
                    what = f'no line or interruption is named "{name}"'
                    problem = what, f'"{near}"' if near else "a line, an interruption, or SCRIPT.STEP"
            if problem is not None:
                marks.table.wrong(below, *problem)
    started = {name for name, _ in marks.started}
    for name, below in marks.stopped:
        if name in started:
            what = f'"{name}" is also in started, so the {marks.part} would never count as stopped'
            marks.table.wrong(below, what, "what shows that the part was stopped")


def _problem_with_step(name: str, drafts: Drafts) -> tuple[str, str] | None:
    """Return what is wrong with a mark SCRIPT.STEP and what to write instead; None if nothing is."""
    script_name, _, step_name = name.partition(".")
    if script_name not in drafts.scripts:
        near = intended_name(script_name, drafts.scripts)
        return f'no script is named "{script_name}"', f'"{near or "opening"}.{step_name}"'
    script = drafts.scripts[script_name]
    if script is None:
        return None
    by_hand = [step.name for step in script.steps if step.kind in BY_HAND]
    if step_name in by_hand:
        return None
    near = intended_name(step_name, by_hand) or (by_hand[0] if by_hand else "STEP")
    return f'"{name}" is not a step that a person confirms', f'"{script_name}.{near}"'


def _check_step(step: StepDraft, script: ScriptDraft, machine: MachineDraft) -> int:
    """Check one step. Return for how many microseconds it keeps an exerciser running, else 0."""
    if step.kind == "pack" and script.name in UNATTENDED:
        pack = machine.packs.get(step.texts.get("pack", ""))
        if pack is not None and pack.original:
            step.table.wrong(
                "pack",
                f'"{pack.name}" is an original pack, and while one is mounted nothing runs unattended',
                "a copy of it, or move this step to a script that an engineer attends",
            )
    if step.kind != "type":
        return 0
    known = [one for one, _ in machine.exercisers.values() if one.typed is not HARMLESS and one.begun]
    command = step.texts.get("type", "")
    _check_begun(step, command, known)
    for exerciser in known:
        fields = exerciser.typed.match(command)
        if fields is not None and (longest_us := _check_exerciser(step, script, exerciser, fields, machine)):
            return longest_us
    return 0


def _check_begun(step: StepDraft, command: str, known: list[Exerciser]) -> None:
    """Add a mistake if the step waits for the start of an exerciser that its command doesn't start."""
    for name in dict.fromkeys(name for name, _ in step.until) if command else ():
        begins = [one for one in known if one.begun == name]
        if begins and all(one.typed.match(command) is None for one in begins):
            forms = " or ".join(f'"{one.typed.text}"' for one in begins)
            step.table.wrong(
                "type",
                f"this starts {' or '.join(one.name for one in begins)}, but doesn't fit {forms}, "
                "so nobody knows how long it runs",
                f"a command that fits {forms}",
            )


def _check_exerciser(
    step: StepDraft, script: ScriptDraft, exerciser: Exerciser, fields: dict[str, str], machine: MachineDraft
) -> int:
    """Check a step that starts this exerciser. Return for how many microseconds it keeps it running."""
    waits = any(name == exerciser.begun for name, _ in step.until)
    if not waits and step.until:
        step.table.wrong(
            "until",
            f'this starts {exerciser.name}, but doesn\'t wait for "{exerciser.begun}"',
            f'until = ["{exerciser.begun}"]',
        )
    packs = [pack for pack in machine.packs.values() if pack.drive == exerciser.writes]
    if exerciser.writes in machine.parts and not any(pack.may_be_written for pack in packs):
        step.table.wrong(
            "type",
            f"{exerciser.name} writes on {exerciser.writes}, but no pack for that drive may be written on",
            "an exerciser that doesn't write, or add a work pack to [packs]",
        )
    lasts_us = exerciser.lasts_us(fields)
    return script.within_us if lasts_us is None else lasts_us


def _check_fits(script: ScriptDraft, wanted_us: int, limits: LimitsDraft) -> None:
    for key, most_us in (
        ("exercise_an_hour", limits.limits.hour_us),
        ("exercise_a_day", limits.limits.day_us),
        ("exercise_a_year", limits.limits.year_us),
    ):
        if most_us is not None and wanted_us > most_us:
            minutes = f"{wanted_us / MIN_US:g} min"
            limits.table.wrong(
                key,
                f"{script.name} runs exercisers for {minutes} in all, so it could never begin",
                f'{key} = "{minutes}" or more, or fewer minutes in {script.name}.toml',
            )
