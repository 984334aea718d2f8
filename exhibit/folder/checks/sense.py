"""Runs the checks of whether a folder makes sense, once each file was read and each name looked up."""

from __future__ import annotations

from collections.abc import Callable

from exhibit.decisions.machine.script import HOME
from exhibit.folder.checks.by_hand.emergencies import check_emergencies
from exhibit.folder.checks.by_hand.panel import check_panel
from exhibit.folder.checks.by_hand.safe_order import check_safe_order, check_who_may
from exhibit.folder.checks.captioned import check_confirmed, check_uncaptioned
from exhibit.folder.checks.characters import check_characters
from exhibit.folder.checks.hints import check_hints
from exhibit.folder.checks.jobs import check_jobs
from exhibit.folder.checks.late_steps import check_late_steps
from exhibit.folder.checks.parts import check_parts
from exhibit.folder.checks.paths import check_paths
from exhibit.folder.checks.patterns import check_keys, check_patterns, check_presses
from exhibit.folder.checks.references import Drafts
from exhibit.folder.checks.times import check_machine_times, check_times
from exhibit.folder.checks.words import check_words
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.step_drafts import ScriptDraft, StepDraft
from exhibit.folder.reading.troubles import CALL, CAUTION, CAUTIONS, NO_CAUTION, SAFE_TO_LEAVE

_SCRIPT_CHECKS: tuple[Callable[[ScriptDraft, MachineDraft], None], ...] = (
    check_paths,
    check_times,
    check_jobs,
    check_presses,
)


def check_sense(drafts: Drafts) -> None:
    """Add a mistake for each thing that makes no sense, and advice on each thing that could be better."""
    machine = drafts.machine
    if machine is not None:
        check_patterns(machine)
        check_characters(machine)
        check_keys(machine)
        check_machine_times(machine)
        check_parts(machine)
    scripts = [script for name, script in drafts.scripts.items() if script is not None and name != HOME]
    for script in [*scripts, *(drafts.home.each_way() if drafts.home is not None else [])]:
        for step in script.all_steps:
            _check_lists(step)
        check_late_steps(script)
        if machine is not None:
            for check in _SCRIPT_CHECKS:
                check(script, machine)
        if drafts.captions is not None:
            check_uncaptioned(script, drafts)
    check_panel(drafts)
    check_emergencies(drafts.languages)
    check_safe_order(drafts)
    drafts.roles = check_who_may(drafts)
    check_confirmed(drafts)
    check_hints(drafts)
    check_words(drafts.languages)
    if machine is not None and drafts.all_readable:
        _unused(machine, drafts)
        _without_caution(machine)
        _without_what_follows(machine)


def _check_lists(step: StepDraft) -> None:
    for listed in step.lists.values():
        seen: set[str] = set()
        for name, below in listed:
            if name in seen:
                step.table.wrong(below, f'"{name}" is listed twice', "nothing; delete this one")
            seen.add(name)


def _without_caution(machine: MachineDraft) -> None:
    """Add advice where words send people to a drive, perhaps, and nobody has decided what to take care of."""
    by_hand = [("a trouble", table) for table in machine.trouble_tables.values()]
    by_hand += [("an exerciser", table) for _, table in machine.exercisers.values()]
    for what, table in by_hand if machine.packs else []:
        if CAUTION not in table:
            table.advise(
                (),
                f"{what} may send somebody to a drive, and {table.title} doesn't say what to take care of",
                f'{CAUTION} = "spinning", an entry of [{CAUTIONS}], or {CAUTION} = "{NO_CAUTION}"',
            )


def _without_what_follows(machine: MachineDraft) -> None:
    """Add advice if nobody has decided for a trouble whether to leave the machine, or whom to call.

    Without drives a machine has little that can hurt while nobody is there, and the usual answers do.
    """
    if not machine.packs:
        return
    for key, what, write in (
        (SAFE_TO_LEAVE, "whether the machine can be left alone meanwhile", '"yes", "no" or "unknown"'),
        (CALL, "whom to call", '"keyholder", "engineer" or "nobody"'),
    ):
        without = [name for name, table in machine.trouble_tables.items() if key not in table]
        if without:
            machine.table.advise(
                ("troubles", without[0]),
                f"{len(without)} of the troubles, {without[0]} among them, don't say {what}",
                f"{key} = {write}, in [troubles.{without[0]}], or in [troubles] for all of them",
            )


def _unused(machine: MachineDraft, drafts: Drafts) -> None:
    """Add advice on what is never used. A prompt or a line may be there only to be recorded."""
    steps = [step for script in filter(None, drafts.scripts.values()) for step in script.all_steps]
    commands = " ".join(step.texts.get("type", "") for step in steps)
    pressed = {step.texts.get("press") for step in steps}
    checked = {step.texts.get("pack") for step in steps}
    for name in machine.keys:
        if name not in pressed:
            machine.table.advise(("keys", name), f'no step presses the key "{name}"', "nothing; delete it")
    for name in machine.calendars:
        if f"date: {name}}}" not in commands and f"date:{name}}}" not in commands:
            what = f'no command contains a date of the calendar "{name}"'
            write = f'"{{date: {name}}}" in a command, or delete this table'
            machine.table.advise(("calendars", name), what, write)
    for name in machine.packs:
        if name not in checked:
            what = f'no step asks a person to confirm that the pack "{name}" is mounted'
            machine.table.advise(("packs", name), what, f'pack = "{name}" in a step, or delete this table')
    if not machine.never and "commands" in machine.table.table("never"):
        machine.table.advise(
            ("never", "commands"),
            "no command is listed that must never be typed at this machine",
            'commands = ["WIPE {...}"], or whatever would spoil a disc',
        )
