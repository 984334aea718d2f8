"""Reads the parts of machine.toml: what visitors can look at, how it is drawn and which cables join it."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import Final, get_args

from exhibit.decisions.machine.description import Pack
from exhibit.facts.parts_and_cards import Opening, OpeningKind, PartDrawn, PartShape, PartState
from exhibit.folder.reading.mistakes import Subpath, any_of
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.values import ValueMistake, intended_name
from exhibit.folder.reading.wear import MarksDraft

SHAPES: Final[tuple[PartShape, ...]] = get_args(PartShape)
STATES: Final[tuple[PartState, ...]] = ("working", "being restored", "kept for spares", "not said")
OPENINGS: Final[tuple[OpeningKind, ...]] = get_args(OpeningKind)
COUNTED: Final[tuple[OpeningKind, ...]] = ("lamps", "switches")
"""What an opening can say the number of."""
CUT: Final = "cut"
"""Follows the kind of an opening that the machine doesn't have, and which is cut into the drawing."""
NONE: Final = "none"
LONGEST_PLATE: Final = 24
"""Characters: more can't be drawn as large as an engraved name."""
MOST_OPENINGS: Final = 6
_SIZES: Final[dict[PartShape, tuple[str, str]]] = {
    "cabinet": ("60 cm", "170 cm"),
    "drive": ("60 cm", "90 cm"),
    "desk": ("80 cm", "110 cm"),
    "terminal": ("55 cm", "110 cm"),
    "printer": ("75 cm", "105 cm"),
    "chest": ("60 cm", "100 cm"),
    "tape": ("60 cm", "170 cm"),
}
"""How wide and how high each shape is drawn if nothing is written."""
_SHAPE_OF: Final[dict[str, PartShape]] = {
    **dict.fromkeys(("console", "desk"), "desk"),
    **dict.fromkeys(("disc", "disk", "drive"), "drive"),
    "terminal": "terminal",
    "printer": "printer",
    "tape": "tape",
}
"""The usual shape of a part by the last word of its name."""
_OPENING: Final = re.compile(r"([a-z]+)(?: ([0-9]{1,3}))?(?: (cut))?")
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


@dataclass(frozen=True)
class PartDraft:
    """What a part says that only other tables and files can know."""

    table: Table
    name: str
    tested: LocatedTexts
    picture: str
    """The name of a file in the folder; empty if there is none."""


def opening(text: str) -> Opening:
    """Return the opening that a text such as "core cut" or "lamps 24" describes. Raises ValueMistake."""
    found = _OPENING.fullmatch(text)
    kind = intended_name(found[1] if found else text.split(" ")[0], OPENINGS)
    if found is None or found[1] not in OPENINGS:
        ending = f" {CUT}" if text.endswith(f" {CUT}") else ""
        write = f'"{kind}{ending}"' if kind else any_of([f'"{one}"' for one in OPENINGS])
        raise ValueMistake(f'"{text}" is not an opening that can be drawn', write)
    kind = next(one for one in OPENINGS if one == found[1])
    if found[2] is not None and (kind not in COUNTED or int(found[2]) == 0):
        raise ValueMistake(
            f'the number in "{text}" says nothing: only lamps and switches are counted, from 1', f'"{kind}"'
        )
    return Opening(kind=kind, real=found[3] is None, count=int(found[2] or 0))


def _usual_openings(shape: PartShape, *, on_paper: bool, is_tested: bool, has_share: bool) -> list[str]:
    """Return what a part of this shape has in nearly every machine, and openings for what is known of it."""
    console = "paper" if on_paper else "screen"
    usual: dict[PartShape, list[str]] = {
        "drive": ["disc"],
        "tape": ["tape"],
        "printer": ["paper"],
        "desk": [console],
        "terminal": [console],
    }
    return [
        *usual.get(shape, []),
        *(["core cut"] if is_tested else []),
        *(["gauge cut"] if has_share else []),
    ]


def _usual_share(root: Table, name: str) -> str:
    """Return the only reading that says how busy the processor is, for the part of that name."""
    readings = root.table("now", optional=True).data.get("share")
    if name.split("-")[-1] != "processor" or not isinstance(readings, list) or len(readings) != 1:
        return NONE
    return readings[0] if isinstance(readings[0], str) and readings[0] else NONE


def _read_openings(table: Table, usual: list[str]) -> list[Opening]:
    openings: list[Opening] = []
    for text, below in table.texts("openings", '["disc"]', default=usual):
        try:
            one = opening(text)
        except ValueMistake as mistake:
            table.wrong(below, mistake.what, mistake.write_instead)
            continue
        if any(other.kind == one.kind for other in openings):
            table.wrong(
                below,
                f'a part is drawn with one opening of each kind, but "{one.kind}" stands here twice',
                "the other openings alone",
            )
        openings.append(one)
    if len(openings) > MOST_OPENINGS:
        table.wrong(
            "openings", f"there is room for {MOST_OPENINGS} openings on the front of a part", "fewer openings"
        )
    return openings


def _or_nothing(text: str) -> str:
    return "" if text == NONE else text


def read_parts(root: Table) -> tuple[dict[str, PartDrawn], list[MarksDraft], list[PartDraft]]:
    """Read the tables [parts.NAME], in their order from left to right. Adds mistakes to the tables."""
    parts: dict[str, PartDrawn] = {}
    marks: list[MarksDraft] = []
    drafts: list[PartDraft] = []
    on_paper = root.table("display").data.get("kind") == "paper"
    joins: list[tuple[Table, str, str, Subpath]] = []
    for name, table in root.named_tables("parts"):
        joined = table.texts("joins", '["console"]', default=[])
        joins += [(table, name, other, below) for other, below in joined]
        shape = table.choice("shape", SHAPES, default=_SHAPE_OF.get(name.split("-")[-1], "cabinet"))
        width, height = _SIZES[shape]
        share = _or_nothing(table.text("share", "board.load", default=_usual_share(root, name)))
        tested = table.texts("tested", '["core-sound"]', default=[])
        usual = _usual_openings(shape, on_paper=on_paper, is_tested=bool(tested), has_share=bool(share))
        parts[name] = PartDrawn(
            shape=shape,
            cabinet=table.name("cabinet", "processor", default=name),
            width_cm=table.read("width", "60 cm", 1, length_cm, default=width),
            height_cm=table.read("height", "160 cm", 1, length_cm, default=height),
            state=table.choice("state", STATES, default="not said"),
            joins=[other for other, _ in joined],
            plate=_read_plate(table),
            openings=_read_openings(table, usual),
            share=share,
            transfers=_or_nothing(table.text("transfers", "board.lower-transfers", default=NONE)),
        )
        picture = _or_nothing(table.text("picture", f"pictures/{name}.svg", default=NONE))
        drafts.append(PartDraft(table, name, tested, picture))
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
    return parts, marks, drafts


def _read_plate(table: Table) -> str:
    plate = _or_nothing(table.text("plate", "WHIMBREL", default=NONE))
    if len(plate) > LONGEST_PLATE:
        what = f"plate has {len(plate)} characters, and no more than {LONGEST_PLATE} can be drawn"
        table.wrong("plate", what, f'plate = "{plate[:LONGEST_PLATE].strip()}"')
    return plate


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
