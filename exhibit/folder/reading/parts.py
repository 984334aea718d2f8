"""Reads the parts of machine.toml: what visitors can look at, how it is drawn and which cables join it."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Final

from exhibit.decisions.machine.description import Pack
from exhibit.facts.parts_and_cards import PartDrawn, PartShape, PartState, Switches
from exhibit.folder.reading.mistakes import Subpath
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import ValueMistake
from exhibit.folder.reading.wear import MarksDraft

SHAPES: Final[tuple[PartShape, ...]] = ("cabinet", "drive", "desk", "chest")
STATES: Final[tuple[PartState, ...]] = ("working", "being restored", "kept for spares", "not said")
_SIZES: Final[dict[PartShape, tuple[str, str]]] = {
    "cabinet": ("60 cm", "170 cm"),
    "drive": ("60 cm", "90 cm"),
    "desk": ("80 cm", "110 cm"),
    "chest": ("60 cm", "100 cm"),
}
"""How wide and how high each shape is drawn if nothing is written."""
_SHAPE_OF: Final[dict[str, PartShape]] = {
    **dict.fromkeys(("console", "desk"), "desk"),
    **dict.fromkeys(("disc", "disk", "drive", "tape"), "drive"),
}
"""The usual shape of a part by the last word of its name."""
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
        joined = table.texts("joins", '["console"]', default=[])
        joins += [(table, name, other, below) for other, below in joined]
        shape = table.choice("shape", SHAPES, default=_SHAPE_OF.get(name.split("-")[-1], "cabinet"))
        width, height = _SIZES[shape]
        parts[name] = PartDrawn(
            shape=shape,
            cabinet=table.name("cabinet", "processor", default=name),
            width_cm=table.read("width", "60 cm", 1, length_cm, default=width),
            height_cm=table.read("height", "160 cm", 1, length_cm, default=height),
            state=table.choice("state", STATES, default="not said"),
            joins=[other for other, _ in joined],
        )
        started = table.texts("started", '["opening.turn-the-key"]', default=[])
        stopped = table.texts("stopped", '["closing.turn-the-key-off"]', default=[])
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
    count = table.integer("count", 0, 48, 24, default=0)
    group = table.integer("group", 1, 3, 3, default=3)
    start = table.text("start", "14000200", default=None if count else "0")
    digits = -(-count // group)
    first = count - (digits - 1) * group
    fits = len(start) == digits and all(figure in "01234567"[: 2**group] for figure in start)
    if (
        start
        and count
        and table.is_sure("count", "group", "start")
        and (not fits or int(start[0]) >= 2**first)
    ):
        table.wrong(
            "start",
            f'"{start}" can\'t be set with {count} switches in groups of {group}',
            f"{digits} digits, one for each group",
        )
    table.close()
    return Switches(count=count, group=group, start=start)


def read_pack(name: str, table: Table, parts: Collection[str]) -> Pack:
    """Read one removable disc or tape. Adds mistakes to the table."""
    label, drive = table.text("label", "WORK 2"), table.name("drive", "lower-drive")
    may_be_written = table.boolean("may_be_written", default=False)
    original = table.boolean("original")
    if original and may_be_written:
        what = "an original pack must never be written on"
        table.wrong("original", what, "may_be_written = false, or use a copy")
    table.look_up(("drive",), drive, parts, "part")
    pack = Pack(name=name, label=label, drive=drive, may_be_written=may_be_written, original=original)
    table.close()
    return pack
