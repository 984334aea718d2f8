"""Reads what a step has a person do at the machine's front: [[step.panel]], and what state it leaves.

[[step.panel]]
set = "14000200"        # the switches
[[step.panel]]
press = "start"         # a key of [switches.keys]
[[step.panel]]
lamps = "14000200"      # what the lamps must now show
on = "address"          # in a row of [switches.lamps]
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from exhibit.decisions.panel.positions import DoesNotFit, positions
from exhibit.facts.parts_and_cards import PanelAct
from exhibit.folder.reading.panel.switches import START, Front, LampRow
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import intended_name

PANEL: Final = "panel"
LEAVES: Final = "leaves"
PANEL_LOCKED: Final = "panel locked"
AT_REST: Final = "discs at rest"
Left = Literal["panel locked", "discs at rest", ""]
_KINDS: Final = ("set", "load", "press", "lamps")
_EXAMPLES: Final = {"set": "14000200", "load": "14000200", "press": "start", "lamps": "14000200"}
ROW: Final = "on"
"""The key for the row of lamps, if the front has several."""


@dataclass(frozen=True)
class ActDraft:
    """One act as read: its kind is one of set, load, press and lamps."""

    table: Table
    kind: str
    value: str
    row: str = ""


def read_acts(step: Table) -> list[ActDraft]:
    """Read the acts of a step. Adds mistakes to their tables."""
    if not any(intended_name(key, [PANEL]) for key in step.names()):
        return []
    acts = []
    for table in step.tables(PANEL):
        kinds = [kind for kind in _KINDS if kind in table]
        kinds = kinds or [near for key in table.names() if (near := intended_name(key, _KINDS))]
        if not kinds:
            table.allow(*table.names())
            table.wrong((), f"{table.title} doesn't say what to do", f"one of: {', '.join(_KINDS)}")
            continue
        for other in kinds[1:]:
            what = f"an act is only one thing, and this one already has {kinds[0]}"
            table.allow(other)
            table.wrong(other, what, f"a [[step.{PANEL}]] of its own for {other}")
        kind = kinds[0]
        value = table.text(kind, _EXAMPLES[kind])
        row = table.name(ROW, "address") if kind == "lamps" and ROW in table else ""
        table.close()
        acts.append(ActDraft(table, kind, value, row))
    return acts


def read_left(step: Table) -> Left:
    """Read what state a step leaves the machine in, which a person sees to. Adds mistakes to the table."""
    if not any(intended_name(key, [LEAVES]) for key in step.names()):
        return ""
    return step.choice(LEAVES, (PANEL_LOCKED, AT_REST))


def acts_at(front: Front, drafts: Sequence[ActDraft]) -> list[PanelAct]:
    """What these acts are at this front. Adds mistakes for what the front hasn't, or what doesn't fit it."""
    acts: list[PanelAct] = []
    for draft in drafts:
        if not draft.value:
            continue  # which is a mistake already
        if draft.kind == "press":
            if draft.table.look_up(("press",), draft.value, front.keys, "key in [switches.keys]"):
                acts.append(PanelAct(act="press", name=front.keys[draft.value]))
        elif draft.kind == "lamps":
            acts += _lamps(front, draft)
        else:
            acts += _switches(front, draft)
    return acts


def _switches(front: Front, draft: ActDraft) -> list[PanelAct]:
    switches = front.switches
    if not switches.count:
        what = "machine.toml doesn't say how many switches the machine has"
        draft.table.wrong(draft.kind, what, "count in [switches] of machine.toml")
        return []
    row = LampRow("", switches.count, switches.group)
    found = _set_in(front, draft, row, "set")
    if draft.kind == "load" and found:
        if not front.load_key:
            what = "machine.toml doesn't say which key loads what the switches say"
            draft.table.wrong("load", what, 'load = "deposit" in [switches], a key of [switches.keys]')
            return []
        found.append(PanelAct(act="press", name=front.keys.get(front.load_key, "")))
    return found


def _lamps(front: Front, draft: ActDraft) -> list[PanelAct]:
    if not front.lamps:
        what = "machine.toml names no row of lamps"
        draft.table.wrong("lamps", what, '[switches.lamps] with a name, such as address = "ADDRESS"')
        return []
    if not draft.row and len(front.lamps) > 1:
        what = "the front has several rows of lamps, and this doesn't say which"
        draft.table.wrong((), what, f'{ROW} = "{next(iter(front.lamps))}"')
        return []
    name = draft.row or next(iter(front.lamps))
    if not draft.table.look_up((ROW,), name, front.lamps, "row in [switches.lamps]"):
        return []
    return _set_in(front, draft, front.lamps[name], "lamps")


def _set_in(front: Front, draft: ActDraft, row: LampRow, act: Literal["set", "lamps"]) -> list[PanelAct]:
    base = front.switches.base
    value = front.switches.start if draft.value == START else draft.value
    if not value:
        return []  # which is a mistake already
    try:
        at = positions(value, row.count, row.group, base)
    except DoesNotFit as fault:
        draft.table.wrong(draft.kind, f"{fault}", f"{draft.kind} = {fault.write_instead}")
        return []
    return [PanelAct(act=act, name=row.label, value=value, positions=at, by_switch=base == "binary")]
