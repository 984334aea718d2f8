"""Reads the tell-tales of machine.toml: lamps and sounds that show people what the machine is doing."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final

from exhibit.facts.visitor_words import MachineState, TellTaleKind
from exhibit.folder.reading.languages import Beside, read_beside
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.values import ValueMistake

KEY: Final = "tell_tales"
KINDS: Final[tuple[TellTaleKind, ...]] = ("lamps", "sound")
STATES: Final[tuple[MachineState, ...]] = ("idle", "busy", "seeking", "starting")
MOST_LAMPS: Final = 48
_LAMPS: Final = re.compile(r"[o*x~]+(?:[ /][o*x~]+)*")


@dataclass
class TellTaleDraft:
    """A tell-tale as read, and its table, to which mistakes are added later."""

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
    """Return a row of lamps such as "oo*x ~~~~" unchanged. Raises ValueMistake."""
    if not _LAMPS.fullmatch(text):
        write = '"oo*x", say: o is dark, * lit, x blinking, ~ flickering; a space is a gap, and / a new row'
        raise ValueMistake(f'"{text}" does not describe lamps', write)
    if sum(sign in "o*x~" for sign in text) > MOST_LAMPS:
        what = f"there are more than {MOST_LAMPS} lamps, too many to tell apart"
        raise ValueMistake(what, "only the lamps that mean something")
    return text


def read_tell_tales(root: Table, beside: list[Beside]) -> dict[str, TellTaleDraft]:
    """Read the tables [tell_tales.NAME]. Adds mistakes to the tables."""
    drafts: dict[str, TellTaleDraft] = {}
    for name, table in root.named_tables(KEY, optional=True):
        draft = drafts[name] = TellTaleDraft(table)
        read_beside(table, name, {"words": "tell_tales", "see_or_feel": "see_or_feel"}, beside)
        draft.kind = table.choice("kind", KINDS)
        draft.state = table.choice("state", STATES)
        draft.part = table.name("part", "processor")
        if draft.kind == "lamps" and table.written("kind") in KINDS:
            draft.lamps = table.read("lamps", "oo*x", "o", lamp_pattern)
        elif draft.kind == "lamps":
            table.allow("lamps")  # the unknown kind is mistake enough; lamps may belong to it
        draft.begins = table.texts("begins", '["office-open"]', at_least_one=True)
        draft.ends = table.texts("ends", '["office-closed"]', at_least_one=True)
        draft.at_most_us = table.duration("at_most", "4 min")
        draft.confirmed_by = table.texts("confirmed_by", '["opening.press-start"]', at_least_one=True)
        begins = {text for text, _ in draft.begins}
        for text, below in draft.ends:
            if text in begins:
                what = f'"{text}" begins this state, so it can\'t also end it'
                table.wrong(below, what, "what ends the state")
        table.close()
    return drafts
