"""Looks up what the files of a folder say of wear, each against the others."""

from __future__ import annotations

from exhibit.decisions.machine.wear_rules import Exerciser
from exhibit.decisions.session.limits import UNATTENDED
from exhibit.facts.units import MIN_US
from exhibit.folder.checks.references import Drafts
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.scripts import BY_HAND, ScriptDraft, StepDraft
from exhibit.folder.reading.tables import HARMLESS
from exhibit.folder.reading.values import intended_name
from exhibit.folder.reading.wear import LimitsDraft, MarksDraft


def check_wear(drafts: Drafts, limits: LimitsDraft | None) -> None:
    """Add marks that lead nowhere, exercisers without a pack or that can't be counted, limits never kept."""
    machine = drafts.machine
    if machine is None:
        return
    for marks in machine.marks:
        _check_marks(marks, machine, drafts)
    begun: dict[str, str] = {}
    for exerciser, table in machine.exercisers.values():
        if begun.setdefault(exerciser.begun, exerciser.name) != exerciser.name and exerciser.begun:
            what = f'"{exerciser.begun}" says already that {begun[exerciser.begun]} has begun'
            table.wrong("begun", what, "a line that says it of this one alone, in [lines]")
    for script in filter(None, drafts.scripts.values()):
        wanted_us = sum(_check_step(step, script, machine) for step in script.all_steps)
        if limits is not None:
            _check_fits(script, wanted_us, limits)


def _check_marks(marks: MarksDraft, machine: MachineDraft, drafts: Drafts) -> None:
    for listed in (marks.started, marks.stopped):
        for name, below in listed:
            if "." in name:
                wrong = _wrong_step(name, drafts)
            else:
                known = [*machine.lines, *machine.interruptions]
                near = intended_name(name, known)
                wrong = None
                if name not in known:
                    what = f'no line or interruption is named "{name}"'
                    wrong = what, f'"{near}"' if near else "a line, an interruption, or SCRIPT.STEP"
            if wrong is not None:
                marks.table.wrong(below, *wrong)
    started = {name for name, _ in marks.started}
    for name, below in marks.stopped:
        if name in started:
            what = f'"{name}" also says that the {marks.part} was started, so it would never be stopped'
            marks.table.wrong(below, what, "what says that it was stopped")


def _wrong_step(name: str, drafts: Drafts) -> tuple[str, str] | None:
    """What is wrong with a mark that is a step, and what to write."""
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
    return f'nobody confirms a step "{name}" by hand', f'"{script_name}.{near}"'


def _check_step(step: StepDraft, script: ScriptDraft, machine: MachineDraft) -> int:
    """Check one step; gives for how long, in microseconds, it sets an exerciser going."""
    if step.kind == "pack" and script.name in UNATTENDED:
        pack = machine.packs.get(step.texts.get("pack", ""))
        if pack is not None and pack.original:
            step.table.wrong(
                "pack",
                f'"{pack.name}" is an original pack, and nothing runs unattended while one is mounted',
                "a copy of it, or this step in a script that is run with an engineer by",
            )
    if step.kind != "type":
        return 0
    for exerciser, _ in machine.exercisers.values():
        if exerciser.typed is not HARMLESS and exerciser.begun:
            longest_us = _check_exerciser(step, script, exerciser, machine)
            if longest_us:
                return longest_us
    return 0


def _check_exerciser(
    step: StepDraft, script: ScriptDraft, exerciser: Exerciser, machine: MachineDraft
) -> int:
    command = step.texts.get("type", "")
    waits = any(name == exerciser.begun for name, _ in step.until)
    fields = exerciser.typed.match(command)
    if fields is None:
        if waits and command:
            step.table.wrong(
                "type",
                f'this begins {exerciser.name}, but is not "{exerciser.typed.text}", '
                "so nobody knows for how long",
                f"a command like {exerciser.typed.text}",
            )
        return 0
    if not waits and step.until:
        step.table.wrong(
            "until",
            f'this begins {exerciser.name}, but does not wait for "{exerciser.begun}"',
            f'until = ["{exerciser.begun}"]',
        )
    packs = [pack for pack in machine.packs.values() if pack.drive == exerciser.writes]
    if exerciser.writes in machine.parts and not any(pack.may_be_written for pack in packs):
        step.table.wrong(
            "type",
            f"{exerciser.name} writes on the {exerciser.writes}, and no pack for it may be written",
            "an exerciser that writes nothing, or a work pack in [packs]",
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
                f"{script.name} begins exercisers for {minutes} in all, so it could never be run",
                f'{key} = "{minutes}" or more, or fewer minutes in {script.name}.toml',
            )
