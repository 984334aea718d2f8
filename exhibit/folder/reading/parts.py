"""Reads the parts of machine.toml: what visitors can look at, how it is drawn and which cables join it."""

from __future__ import annotations

import re
from typing import Final

from exhibit.facts.parts_and_cards import PartDrawn, PartShape, PartState, Switches
from exhibit.folder.reading.tables import Subpath, Table
from exhibit.folder.reading.values import ValueMistake
from exhibit.folder.reading.wear import MarksDraft

SHAPES: Final[tuple[PartShape, ...]] = ("cabinet", "drive", "desk", "chest")
STATES: Final[tuple[PartState, ...]] = ("working", "being restored", "kept for spares")
_LENGTH: Final = re.compile(r"([0-9]{1,4}) cm")
_MOST_CM: Final = 2000


def length_cm(text: str) -> int:
    """Return the whole centimetres of a length such as "60 cm". Raises ValueMistake."""
    found = _LENGTH.fullmatch(text)
    if found is None:
        figures = re.match(r"\s*([0-9]{1,4})", text)
        write = f'"{figures[1]} cm", if centimetres are meant' if figures else '"60 cm"'
        raise ValueMistake(f'"{text}" is not a length in whole centimetres', write)
    if not 1 <= int(found[1]) <= _MOST_CM:
        raise ValueMistake(f'no part has a size of "{text}"', f'a length from "1 cm" to "{_MOST_CM} cm"')
    return int(found[1])


def read_parts(root: Table) -> tuple[dict[str, PartDrawn], list[MarksDraft]]:
    """Read the tables [parts.NAME], in their order from left to right. Adds mistakes to the tables."""
    parts: dict[str, PartDrawn] = {}
    marks: list[MarksDraft] = []
    joins: list[tuple[Table, str, str, Subpath]] = []
    for name, table in root.named_tables("parts"):
        joined = table.texts("joins", '["console"]')
        joins += [(table, name, other, below) for other, below in joined]
        parts[name] = PartDrawn(
            shape=table.choice("shape", SHAPES),
            cabinet=table.name("cabinet", "processor"),
            width_cm=table.read("width", "60 cm", 1, length_cm),
            height_cm=table.read("height", "160 cm", 1, length_cm),
            state=table.choice("state", STATES),
            joins=[other for other, _ in joined],
        )
        started = table.texts("started", '["opening.turn-the-key"]')
        stopped = table.texts("stopped", '["closing.turn-the-key-off"]')
        marks.append(MarksDraft(table, name, started, stopped))
        table.close()
    for table, name, other, below in joins:
        if other == name:
            what = f'the part "{name}" is joined to itself'
            table.wrong(below, what, "the names of other parts to which a cable leads")
        else:
            table.look_up(below, other, parts, "part")
    if root.is_empty("parts"):
        root.wrong("parts", "there are no parts", "[parts.processor], and a table for each other part")
    return parts, marks


def read_switches(table: Table) -> Switches:
    """Read [switches], those that are set to start the machine. Adds mistakes to the table."""
    count = table.integer("count", 0, 48, 24)
    group = table.integer("group", 1, 3, 3)
    start = table.text("start", "14000200")
    digits = -(-count // group)
    first = count - (digits - 1) * group
    fits = len(start) == digits and all(figure in "01234567"[: 2**group] for figure in start)
    if start and count and (not fits or int(start[0]) >= 2**first):
        table.wrong(
            "start",
            f'"{start}" can\'t be set with {count} switches in groups of {group}',
            f"{digits} digits, one for each group",
        )
    table.close()
    return Switches(count=count, group=group, start=start)
