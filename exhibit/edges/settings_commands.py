"""Checks the commands of scripts: their places, their length, and that none may be what must never be typed.

On its way a character can turn into RETURN, so every beginning of a command counts as a command.
A place stands for any figure. Whether some filling of some beginning fits a pattern is found by walking
through both side by side, as two machines with few states. None is overlooked; numbers and texts are
taken generously (1.1.1 counts as a number).
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Final, NamedTuple

from exhibit.decisions.filling import DATE, PLACE, STEP_FIELD
from exhibit.decisions.machine import Calendar
from exhibit.decisions.pattern import Pattern
from exhibit.edges.settings_machine import MachineDraft
from exhibit.edges.settings_scripts import StepDraft
from exhibit.edges.settings_values import meant, places_of

FIGURE_CHARACTERS: Final = 6
"""How long a number that the machine gave is taken to be."""


class _Some(NamedTuple):
    """One place of a text: a character out of a set, exactly one, at most one, or any number."""

    characters: int
    """A bit for each ASCII character that may stand here."""
    least: int
    repeats: bool


@lru_cache(maxsize=256)
def _set(characters: str) -> int:
    return sum(1 << ord(character) for character in set(characters))


_ANY: Final = _set("".join(map(chr, range(32, 127))))
_NO_SPACE: Final = _ANY & ~_set(" ")
_FIGURES: Final = _set("0123456789")
_LETTERS: Final = _set("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
_FIGURE: Final = [
    _Some(_set("+-"), 0, False),
    _Some(_FIGURES, 1, False),
    _Some(_FIGURES | _set("."), 0, True),
]
_KINDS: Final = {
    "number": _FIGURE,
    "word": [_Some(_NO_SPACE, 1, False), _Some(_NO_SPACE, 0, True)],
    "text": [_Some(_NO_SPACE, 1, False), _Some(_ANY, 0, True)],
    "...": [_Some(_ANY, 0, True)],
}
_DATE_FIGURES: Final = [_Some(_FIGURES, 1, False), _Some(_FIGURES, 0, True)]
_DATE_WORDS: Final = [_Some(_LETTERS, 1, False), _Some(_LETTERS, 0, True)]


@lru_cache(maxsize=4096)
def fits_a_beginning(command: str, never: Pattern) -> str:
    """The beginning of the command that could fit the pattern, however its places are filled.

    Empty if none can. Dates must be as their calendars write them already (`with_dates`).
    """
    said, ends = _of_command(command)
    forbidden = _of_pattern(never.text)
    todo = _skipping(said, forbidden, {(0, 0)})
    reached: set[tuple[int, int]] = set()
    while todo:
        reached |= todo
        onward = set()
        for here, there in todo:
            if here == len(said) or there == len(forbidden):
                continue
            if said[here].characters & forbidden[there].characters:
                nexts = [here + 1, here] if said[here].repeats else [here + 1]
                theres = [there + 1, there] if forbidden[there].repeats else [there + 1]
                onward |= {(a, b) for a in nexts for b in theres}
        todo = _skipping(said, forbidden, onward) - reached
    fitting = [here for here, there in reached if ends[here] and _is_over(forbidden, there)]
    return ends[min(fitting)] if fitting else ""


def _skipping(
    said: list[_Some], forbidden: list[_Some], states: set[tuple[int, int]]
) -> set[tuple[int, int]]:
    """These states and those that are reached without a character."""
    found = set(states)
    todo = list(states)
    while todo:
        here, there = todo.pop()
        nexts = []
        if here < len(said) and not said[here].least:
            nexts.append((here + 1, there))
        if there < len(forbidden) and not forbidden[there].least:
            nexts.append((here, there + 1))
        for state in nexts:
            if state not in found:
                found.add(state)
                todo.append(state)
    return found


def _is_over(forbidden: list[_Some], there: int) -> bool:
    """Whether nothing more need come; a space at the end of a line counts for nothing."""
    space = _set(" ")
    return all(not some.least or some.characters & space for some in forbidden[there:]) and (
        sum(some.least for some in forbidden[there:]) <= 1
    )


@lru_cache(maxsize=256)
def _of_pattern(text: str) -> list[_Some]:
    places: list[_Some] = []
    for index, piece in enumerate(PLACE.split(text.strip())):
        if index % 2:
            kind = piece.partition(":")[2].strip() or "..."
            if kind == "number":  # it may be filled up with spaces
                places.append(_Some(_set(" "), 0, True))
            places += _KINDS[kind]
            continue
        for run in re.findall(r"\s+|\S", piece):
            if run.isspace():
                places += [_Some(_set(" "), 1, False), _Some(_set(" "), 0, True)]
            else:
                places.append(_Some(_set(run) & _ANY, 1, False))
    return places


def _of_command(command: str) -> tuple[list[_Some], list[str]]:
    """What may stand where in a command, and the beginning of it that ends before each place."""
    # A pattern's first place may fit nothing, and leaves the space behind it to be fitted by this one.
    places = [_Some(_set(" "), 0, False)]
    ends = ["", ""]
    begun = ""
    for index, piece in enumerate(PLACE.split(command)):
        if index % 2:
            begun += f"{{{piece}}}"
            more = _DATE_WORDS if piece.strip() == "month name" else _DATE_FIGURES
            more = _FIGURE if STEP_FIELD.fullmatch(piece.strip()) else more
        else:
            more = [_Some(_set(character) & _ANY, 1, False) for character in piece]
        for number, some in enumerate(more):
            places.append(some)
            ends.append(begun if index % 2 else begun + piece[: number + 1])
        begun += "" if index % 2 else piece
    return places, ends


def with_dates(command: str, calendars: Mapping[str, Calendar]) -> str:
    """The command with each {date: CALENDAR} replaced by the way in which that calendar writes a date."""

    def written(place: re.Match[str]) -> str:
        date = DATE.fullmatch(place[1].strip())
        return calendars[date[1]].written if date and date[1] in calendars else place[0]

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
    folds = machine.typing is not None and machine.typing.folds_to == "upper case"
    for never in machine.never:
        begun = fits_a_beginning(_folded(command) if folds else command, never)
        if begun:
            table.wrong(
                "type",
                f'the beginning "{begun}" of this command fits "{never.text}", never to be '
                "typed; a character can turn into RETURN on its way",
                "a command that does not begin so",
            )
            return


def _check_place(
    step: StepDraft, inner: str, earlier: Mapping[str, StepDraft], machine: MachineDraft | None
) -> bool:
    """Whether a place of the command can be filled; adds the mistake if not."""
    table, inner = step.table, inner.strip()
    date = DATE.fullmatch(inner)
    if date:
        if machine is not None and date[1] not in machine.calendars:
            near = meant(date[1], machine.calendars) or "one of: " + ", ".join(machine.calendars)
            table.wrong("type", f'no calendar is named "{date[1]}"', f"{{date: {near}}}")
            return False
        return True
    found = STEP_FIELD.fullmatch(inner)
    if found is None:
        table.wrong(
            "type",
            f"{{{inner}}} is no place for a date or a number",
            "{date: CALENDAR}, or {STEP.FIELD} for a number that came earlier",
        )
        return False
    name, field = found[1], found[2]
    if name not in earlier:
        near = meant(name, earlier)
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
            near = meant(field, numbers)
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
