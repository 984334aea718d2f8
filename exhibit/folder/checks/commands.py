"""Checks the commands of scripts: their places, their length, and that none of them is forbidden by [never].

A character can turn into RETURN on its way to the machine, so every beginning of a command counts as a
command too. A place stands for any number.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from exhibit.decisions.display.characters import is_typed, shown_for
from exhibit.decisions.machine.description import Calendar
from exhibit.decisions.machine.filling import DATE, PLACE, STEP_FIELD
from exhibit.decisions.machine.fitting import fits_a_beginning, shortest
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.mistakes import one_of
from exhibit.folder.reading.never import LIFTED
from exhibit.folder.reading.step_drafts import ScriptDraft, StepDraft
from exhibit.folder.reading.values import BY_A_PERSON, NO_BREAK, intended_name, is_break, places_of

FIGURE_CHARACTERS: Final = 6
"""The assumed length of a number that the machine gives."""


def with_dates(command: str, calendars: Mapping[str, Calendar]) -> str:
    """Return the command with each {date: CALENDAR} replaced by that calendar's form of a date."""

    def form_of_date(place: re.Match[str]) -> str:
        date = DATE.fullmatch(place[1].strip())
        return calendars[date[1]].template if date and date[1] in calendars else place[0]

    return PLACE.sub(form_of_date, command)


def _folded(command: str) -> str:
    """Return the command in capitals, with its places unchanged."""
    pieces = re.split(r"(\{[^{}]*\})", command)
    return "".join(piece if piece.startswith("{") else piece.upper() for piece in pieces)


def check_command(step: StepDraft, earlier: Mapping[str, StepDraft], machine: MachineDraft | None) -> None:
    """Add a mistake if a step's command is wrong. Its places can refer to the steps in `earlier`."""
    command, table = step.texts.get("type", ""), step.table
    if not command:
        return
    if command != command.strip():
        what = "a command is typed without a space at either end"
        table.wrong("type", what, f'type = "{command.strip()}"')
        return
    characters = machine.display.characters if machine is not None else "utf-8"
    strange = next((c for c in PLACE.sub("", command) if not is_typed(c, characters)), "")
    if strange and strange not in "{}":
        what = f'the machine\'s keyboard has no key for "{strange}", since its characters are "{characters}"'
        shown = strange.translate(shown_for(characters))
        write = command.replace(strange, shown if is_typed(shown, characters) else "")
        table.wrong("type", what, f'type = "{write}"')
        return
    if "{" in PLACE.sub("", command) or "}" in PLACE.sub("", command):
        what = "a brace in the command has no partner"
        table.wrong("type", what, 'a place in braces, as in type = "STOP {begin-shuttle.job}"')
        return
    can_be_filled = [_check_place(step, inner, earlier, machine) for inner in PLACE.findall(command)]
    if machine is None or not all(can_be_filled):
        return
    command = with_dates(command, machine.calendars)
    length, columns = len(PLACE.sub("9" * FIGURE_CHARACTERS, command)), machine.display.columns
    if length > columns and "columns" in machine.table.table("display"):
        table.wrong(
            "type",
            f"the command can be {length} characters long, but a row has only {columns}",
            f"a command of at most {columns} characters",
        )
    elif "columns" in machine.table.table("display"):
        _check_right_edge(step, machine, length)
    for never in machine.never:
        beginning = fits_a_beginning(_folded_by(machine, command), never)
        if beginning and never.text != step.lifts:
            table.wrong(
                "type",
                f'the beginning "{beginning}" of this command fits "{never.text}", which must never be '
                "typed; a character can turn into RETURN on its way",
                "a command that doesn't begin like that",
            )
            return


def check_lifted(closing: ScriptDraft, machine: MachineDraft) -> None:
    """Let a step of the closing type the command in [never_lifted]; add a mistake if it can't."""
    lifted = machine.never_lifted
    if lifted is None or not lifted.step or all(never.text != lifted.command for never in machine.never):
        return
    table = machine.table.table(LIFTED)
    step = next((step for step in closing.steps if step.name == lifted.step), None)
    if step is None:
        names = [step.name for step in closing.steps if step.kind == "type"]
        near = intended_name(lifted.step, names)
        in_tidy_up = any(step.name == lifted.step for step in closing.tidy_up)
        what = (
            f'"{lifted.step}" is a step of the tidy-up, which runs whatever happened'
            if in_tidy_up
            else f'{closing.name}.toml has no step "{lifted.step}", and no other script can type the command'
        )
        table.wrong("step", what, f'step = "{near}"' if near else f"one of: {', '.join(names)}")
        return
    command = with_dates(step.texts.get("type", ""), machine.calendars)
    never = next(never for never in machine.never if never.text == lifted.command)
    if not fits_a_beginning(_folded_by(machine, command), never):
        what = f'the step "{step.name}" types nothing that fits "{lifted.command}", so it needs no permission'
        table.wrong("step", what, "nothing; delete this table")
        return
    step.lifts = lifted.command


def _folded_by(machine: MachineDraft, command: str) -> str:
    """Return the command in capitals if the machine folds to upper case, else unchanged."""
    typings = [typing for typing in (machine.typing, *machine.typing_at.values()) if typing is not None]
    folds = any(typing.folds_to == "upper case" for typing in typings)
    return _folded(command) if folds else command


def _check_place(
    step: StepDraft, inner: str, earlier: Mapping[str, StepDraft], machine: MachineDraft | None
) -> bool:
    """Whether a place of the command can be filled in; adds a mistake if not."""
    table, inner = step.table, inner.strip()
    date = DATE.fullmatch(inner)
    if date:
        if machine is not None and date[1] not in machine.calendars:
            near = intended_name(date[1], machine.calendars)
            name = near or one_of(machine.calendars, "calendar")
            table.wrong("type", f'no calendar is named "{date[1]}"', f"{{date: {name}}}")
            return False
        return True
    found = STEP_FIELD.fullmatch(inner)
    if is_break(inner):
        table.wrong("type", NO_BREAK, BY_A_PERSON)
        return False
    if found is None:
        table.wrong(
            "type",
            f"{{{inner}}} is not a place for a date or a number",
            "{date: CALENDAR}, or {STEP.FIELD} for a number that the machine gave earlier",
        )
        return False
    name, field = found[1], found[2]
    if name not in earlier:
        near = intended_name(name, earlier)
        table.wrong(
            "type",
            f'no earlier step is named "{name}"',
            f"{{{near}.{field}}}" if near else "{STEP.FIELD} with an earlier step",
        )
        return False
    return machine is None or _gives_number(step, earlier[name], field, machine)


def _gives_number(step: StepDraft, giver: StepDraft, field: str, machine: MachineDraft) -> bool:
    """Whether everything that the other step waits for contains the number; adds a mistake if not."""
    patterns = {name: pattern for name, pattern in machine.waitable().items() if name not in machine.displays}
    waited = [patterns[name] for name, _ in giver.until if name in patterns]
    if len(waited) < len([name for name, _ in giver.until if name not in machine.displays]):
        return True  # an unknown name among them is reported at that step
    for pattern in waited:
        places = places_of(pattern.text)
        if places.get(field) != "number":
            numbers = [name for name, kind in places.items() if kind == "number"]
            near = intended_name(field, numbers)
            write = (
                f"{{{giver.name}.{near}}}"
                if near
                else f'until = a line that contains {{{field}: number}}, in step "{giver.name}"'
            )
            step.table.wrong(
                "type",
                f'"{giver.name}" waits for "{pattern.text}", which has no number named "{field}"',
                write,
            )
            return False
    if not waited:
        step.table.wrong(
            "type",
            f'"{giver.name}" waits for no line that contains a number',
            "{STEP.FIELD} with a step that waits for one",
        )
        return False
    return True


def _check_right_edge(step: StepDraft, machine: MachineDraft, length: int) -> None:
    """Add a mistake or advice if the command doesn't fit on the row of its prompt."""
    columns = machine.display.columns
    prompts = [
        machine.prompts[name] for name, _ in step.lists.get(step.at_key, []) if name in machine.prompts
    ]
    for prompt in sorted(prompts, key=lambda one: -shortest(one.pattern))[:1]:
        room = columns - shortest(prompt.pattern)
        if length <= room:
            return
        what = (
            f'after the prompt "{prompt.name}" there is room for {room} characters, but the command can be '
            f"{length} long"
        )
        write = f"a command of at most {room} characters"
        if machine.display.wrap:
            step.table.advise("type", f"{what}; whether its echo is right depends on how it wraps", write)
        else:
            step.table.wrong("type", f"{what}, and what is beyond the right edge is lost", write)
