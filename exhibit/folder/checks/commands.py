"""Checks the commands of scripts: their places, their length, and that none may be what must never be typed.

On its way a character can turn into RETURN, so every beginning of a command counts as a command.
A place stands for any figure.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from exhibit.decisions.machine.description import Calendar
from exhibit.decisions.machine.filling import DATE, PLACE, STEP_FIELD
from exhibit.decisions.machine.fitting import fits_a_beginning, shortest
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.never import LIFTED
from exhibit.folder.reading.scripts import ScriptDraft, StepDraft
from exhibit.folder.reading.values import BY_A_PERSON, NO_BREAK, intended_name, is_break, places_of

FIGURE_CHARACTERS: Final = 6
"""How long a number that the machine gave is taken to be."""


def with_dates(command: str, calendars: Mapping[str, Calendar]) -> str:
    """The command with each {date: CALENDAR} replaced by the way in which that calendar writes a date."""

    def written(place: re.Match[str]) -> str:
        date = DATE.fullmatch(place[1].strip())
        return calendars[date[1]].template if date and date[1] in calendars else place[0]

    return PLACE.sub(written, command)


def _folded(command: str) -> str:
    """The command in capitals, its places left as they are."""
    pieces = re.split(r"(\{[^{}]*\})", command)
    return "".join(piece if piece.startswith("{") else piece.upper() for piece in pieces)


def check_command(step: StepDraft, earlier: Mapping[str, StepDraft], machine: MachineDraft | None) -> None:
    """Report what is wrong with the command that a step types. Its places may name the `earlier` steps."""
    command, table = step.texts.get("type", ""), step.table
    if not command:
        return
    if not command.isascii() or command != command.strip():
        table.wrong(
            "type",
            "a command is letters, figures and signs of ASCII, without a space at either end",
            f'type = "{command.encode("ascii", "ignore").decode().strip()}"',
        )
        return
    if "{" in PLACE.sub("", command) or "}" in PLACE.sub("", command):
        table.wrong("type", "a brace stands alone in the command", 'type = "STOP {begin-shuttle.job}"')
        return
    fit = [_check_place(step, inner, earlier, machine) for inner in PLACE.findall(command)]
    if machine is None or not all(fit):
        return
    command = with_dates(command, machine.calendars)
    length, columns = len(PLACE.sub("9" * FIGURE_CHARACTERS, command)), machine.display.columns
    if length > columns and "columns" in machine.table.table("display"):
        table.wrong(
            "type",
            f"the command can be {length} characters long, and a row has {columns}",
            f"a command of at most {columns} characters",
        )
    elif "columns" in machine.table.table("display"):
        _right_edge(step, machine, length)
    for never in machine.never:
        begun = fits_a_beginning(_as_taken(command, machine), never)
        if begun and never.text != step.lifts:
            table.wrong(
                "type",
                f'the beginning "{begun}" of this command fits "{never.text}", never to be '
                "typed; a character can turn into RETURN on its way",
                "a command that does not begin so",
            )
            return


def check_lifted(closing: ScriptDraft, machine: MachineDraft) -> None:
    """Let the closing's step lift what machine.toml says that it lifts; report it where it can't."""
    lifted = machine.never_lifted
    if lifted is None or not lifted.step or all(never.text != lifted.command for never in machine.never):
        return
    table = machine.table.table(LIFTED)
    step = next((step for step in closing.steps if step.name == lifted.step), None)
    if step is None:
        names = [step.name for step in closing.steps if step.kind == "type"]
        near = intended_name(lifted.step, names)
        in_tidy_up = any(step.name == lifted.step for step in closing.tidy_up)
        what = "is of its tidy-up, which runs whatever happened" if in_tidy_up else "isn't there"
        table.wrong(
            "step",
            f'only a step of {closing.name}.toml lifts anything, and "{lifted.step}" {what}',
            f'step = "{near}"' if near else f"one of: {', '.join(names)}",
        )
        return
    command = with_dates(step.texts.get("type", ""), machine.calendars)
    never = next(never for never in machine.never if never.text == lifted.command)
    if not fits_a_beginning(_as_taken(command, machine), never):
        what = f'the step "{step.name}" types nothing that fits "{lifted.command}", so it lifts nothing'
        table.wrong("step", what, "nothing: leave this table out")
        return
    step.lifts = lifted.command


def _as_taken(command: str, machine: MachineDraft) -> str:
    """The command as the machine takes it."""
    folds = machine.typing is not None and machine.typing.folds_to == "upper case"
    return _folded(command) if folds else command


def _check_place(
    step: StepDraft, inner: str, earlier: Mapping[str, StepDraft], machine: MachineDraft | None
) -> bool:
    """Whether a place of the command can be filled; adds the mistake if not."""
    table, inner = step.table, inner.strip()
    date = DATE.fullmatch(inner)
    if date:
        if machine is not None and date[1] not in machine.calendars:
            near = intended_name(date[1], machine.calendars) or "one of: " + ", ".join(machine.calendars)
            table.wrong("type", f'no calendar is named "{date[1]}"', f"{{date: {near}}}")
            return False
        return True
    found = STEP_FIELD.fullmatch(inner)
    if is_break(inner):
        table.wrong("type", NO_BREAK, BY_A_PERSON)
        return False
    if found is None:
        table.wrong(
            "type",
            f"{{{inner}}} is no place for a date or a number",
            "{date: CALENDAR}, or {STEP.FIELD} for a number that came earlier",
        )
        return False
    name, field = found[1], found[2]
    if name not in earlier:
        near = intended_name(name, earlier)
        table.wrong(
            "type",
            f'no earlier step is named "{name}"',
            f"{{{near}.{field}}}" if near else "{STEP.FIELD} with a step that comes before",
        )
        return False
    return machine is None or _gives_number(step, earlier[name], field, machine)


def _gives_number(step: StepDraft, giver: StepDraft, field: str, machine: MachineDraft) -> bool:
    """Whether all that the other step waits for has the number in it; adds the mistake if not."""
    patterns = {name: pattern for name, pattern in machine.waitable().items() if name not in machine.displays}
    waited = [patterns[name] for name, _ in giver.until if name in patterns]
    if len(waited) < len([name for name, _ in giver.until if name not in machine.displays]):
        return True  # a name is wrong there, which is said there
    for pattern in waited:
        places = places_of(pattern.text)
        if places.get(field) != "number":
            numbers = [name for name, kind in places.items() if kind == "number"]
            near = intended_name(field, numbers)
            write = (
                f"{{{giver.name}.{near}}}"
                if near
                else f'until = a line with {{{field}: number}} in it, in step "{giver.name}"'
            )
            step.table.wrong(
                "type",
                f'"{pattern.text}", for which "{giver.name}" waits, has no number named "{field}"',
                write,
            )
            return False
    if not waited:
        step.table.wrong(
            "type",
            f'"{giver.name}" waits for no line with a number in it',
            "{STEP.FIELD} with a step that waits for one",
        )
        return False
    return True


def _right_edge(step: StepDraft, machine: MachineDraft, length: int) -> None:
    """Report a command that doesn't end on the row on which its prompt stands."""
    columns = machine.display.columns
    prompts = [
        machine.prompts[name] for name, _ in step.lists.get(step.at_key, []) if name in machine.prompts
    ]
    for prompt in sorted(prompts, key=lambda one: -shortest(one.pattern))[:1]:
        room = columns - shortest(prompt.pattern)
        if length <= room:
            return
        what = (
            f'behind the prompt "{prompt.name}" there is room for {room} characters, and the command can be '
            f"{length} long"
        )
        write = f"a command of at most {room} characters"
        if machine.display.wrap:
            step.table.advise("type", f"{what}: whether it comes back right depends on how it wraps", write)
        else:
            step.table.wrong("type", f"{what}: what is beyond the right edge is lost", write)
