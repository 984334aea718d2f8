"""Reads the tell-tales of machine.toml: lamps and sounds by which people see and hear what it is doing."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final

from exhibit.facts.visitor_words import MachineState, TellTaleKind
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.values import ValueMistake

KEY: Final = "tell_tales"
KINDS: Final[tuple[TellTaleKind, ...]] = ("lamps", "sound")
STATES: Final[tuple[MachineState, ...]] = ("idle", "busy", "seeking", "starting")
MOST_LAMPS: Final = 48
_LAMPS: Final = re.compile(r"[o*x~]+(?:[ /][o*x~]+)*")


@dataclass
class TellTaleDraft:
    """A tell-tale as its table says it, and that table, to which mistakes are added later on."""

    table: Table
    kind: TellTaleKind = "lamps"
    state: MachineState = "idle"
    part: str = ""
    lamps: str = ""
    begins: LocatedTexts = field(default_factory=list)
    ends: LocatedTexts = field(default_factory=list)
    at_most_us: int = 1
    confirmed_by: LocatedTexts = field(default_factory=list)


def lamp_pattern(text: str) -> str:
    """A row of lamps such as "oo*x ~~~~". Raises ValueMistake."""
    if not _LAMPS.fullmatch(text):
        what = f'"{text}" is no row of lamps'
        raise ValueMistake(
            what, '"oo*x": o is dark, * lit, x blinks, ~ flickers; a space, or / for a new row'
        )
    if sum(sign in "o*x~" for sign in text) > MOST_LAMPS:
        raise ValueMistake(
            f"more than {MOST_LAMPS} lamps can't be told apart", "the lamps that tell something"
        )
    return text


def read_tell_tales(root: Table) -> dict[str, TellTaleDraft]:
    """Read the tables [tell_tales.NAME]. What is wrong is added to their mistakes."""
    drafts: dict[str, TellTaleDraft] = {}
    for name, table in root.named_tables(KEY):
        draft = drafts[name] = TellTaleDraft(table)
        draft.kind = table.choice("kind", KINDS)
        draft.state = table.choice("state", STATES)
        draft.part = table.name("part", "processor")
        if draft.kind == "lamps" and table.has_option("kind", KINDS):
            draft.lamps = table.read("lamps", "oo*x", "o", lamp_pattern)
        elif draft.kind == "lamps":
            table.allow("lamps")  # what belongs to a kind that can't be read isn't wrong too
        draft.begins = table.texts("begins", '["office-open"]')
        draft.ends = table.texts("ends", '["office-closed"]')
        draft.at_most_us = table.duration("at_most", "4 min")
        draft.confirmed_by = table.texts("confirmed_by", '["opening.press-start"]')
        for key, listed in (
            ("begins", draft.begins),
            ("ends", draft.ends),
            ("confirmed_by", draft.confirmed_by),
        ):
            if key in table and not listed:
                table.wrong(key, f"{key} names nothing", f'{key} = ["opening.press-start"]')
        begun = {text for text, _ in draft.begins}
        for text, below in draft.ends:
            if text in begun:
                table.wrong(below, f'"{text}" begins this state, so it doesn\'t end it', "what ends it")
        table.close()
    return drafts
