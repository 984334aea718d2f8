"""Reads [switches] of machine.toml: the switches, keys and lamps of the machine's front."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from exhibit.decisions.panel.positions import DoesNotFit, group_size, positions, usual_base
from exhibit.facts.parts_and_cards import Base, Switches
from exhibit.folder.reading.tables import Table

MOST: Final = 48
START: Final = "start"
"""In place of a value: the one that starts the machine."""
_BASES: Final[tuple[Base, ...]] = ("binary", "octal", "hex")


@dataclass(frozen=True)
class LampRow:
    """A row of lamps: what is engraved beside it, how many there are, and how many stand together."""

    label: str
    count: int
    group: int


@dataclass
class Front:
    """What the machine's front has."""

    switches: Switches = Switches()
    keys: dict[str, str] = field(default_factory=dict)
    """By name, what is engraved beside a key."""
    load_key: str = ""
    """The key that loads what the switches say; empty if there is none."""
    lamps: dict[str, LampRow] = field(default_factory=dict)


def read_front(table: Table) -> Front:
    """Read [switches]. Adds mistakes to the table."""
    count = table.integer("count", 0, MOST, 24, default=0)
    group = table.integer("group", 1, 12, 3, default=3)
    base = table.choice("base", _BASES, default=usual_base(group))
    start = table.text("start", "14000200", default=None if count else "0")
    if base != "binary" and group != group_size(base) and table.is_sure("group", "base"):
        what = f"in {base} a digit takes {group_size(base)} switches, but groups have {group}"
        table.wrong("base", what, f'base = "binary", or group = {group_size(base)}')
    elif count and start and table.is_sure("count", "group", "start", "base"):
        try:
            positions(start, count, group, base)
        except DoesNotFit as fault:
            table.wrong("start", f"{fault}", fault.write_instead)
            start = ""
    front = Front(Switches(count=count, group=group, start=start, base=base))
    if any(key in table for key in ("keys", "load", "lamps")):
        keys = table.table("keys", optional=True)
        front.keys = {name: keys.text(name, "START") for name in keys.names()}
        keys.close()
        if "load" in table:
            front.load_key = table.name("load", "deposit")
            table.look_up(("load",), front.load_key, front.keys, "key in [switches.keys]")
        for name, row in table.named_tables("lamps", optional=True, short="label"):
            front.lamps[name] = LampRow(
                row.text("label", "ADDRESS"),
                row.integer("count", 1, MOST, count or 24, default=count or None),
                row.integer("group", 1, 12, group, default=group),
            )
            row.close()
    table.close()
    return front
