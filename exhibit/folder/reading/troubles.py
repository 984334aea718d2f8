"""Reads the troubles of machine.toml: what means that something is wrong, and whether it ends a script."""

from __future__ import annotations

from typing import Final

from exhibit.decisions.machine.description import StatusDisplay, Trouble
from exhibit.facts.line_settings import Flow
from exhibit.folder.reading.tables import HARMLESS, Table
from exhibit.folder.reading.values import intended_name, row_range

_HELD_FOR: Final = "held_for"
"""The key of a trouble that isn't printed: the machine holds up what is typed."""
_ON_A_DISPLAY: Final = ("display", "rows")
"""The keys of a trouble that stands on a status display; without them it is a printed line."""


def read_trouble(
    name: str, table: Table, displays: dict[str, StatusDisplay], display_rows: int, flow: Flow
) -> Trouble:
    """Read one trouble, still without its words. What is wrong is added to the table's mistakes."""
    if _is_there(table, _HELD_FOR):
        return _read_held(name, table, flow)
    example = "NOT UNDERSTOOD: {...}"
    pattern = HARMLESS
    if _is_there(table, "line"):
        pattern = table.pattern("line", example)
    else:
        table.wrong((), f"{table.title} lacks line or {_HELD_FOR}", f'line = "{example}"')
    ends_script = table.boolean("ends_script")
    on_a_display = any(_is_there(table, key) for key in _ON_A_DISPLAY)
    display, rows = "", (0, 0)
    if on_a_display:
        display = table.name("display", "board")
        rows = table.read("rows", "5", (1, 1), row_range)
        if display and display not in displays:
            near = intended_name(display, displays) or f"one of: {', '.join(displays)}"
            table.wrong("display", f'no display is named "{display}"', f'display = "{near}"')
        if rows[1] > display_rows:
            what = f"the display has only {display_rows} rows"
            table.wrong("rows", what, f'rows = "{min(rows[0], display_rows)}"')
    table.close()
    return Trouble(
        name=name,
        pattern=pattern,
        ends_script=ends_script,
        display=display,
        first_row=rows[0],
        last_row=rows[1],
        words={},
        do={},
    )


def _is_there(table: Table, key: str) -> bool:
    """Whether the key is, perhaps misspelt: then it is reported as what it was meant to be."""
    return key in table or any(intended_name(other, [key]) for other in table.names())


def _read_held(name: str, table: Table, flow: Flow) -> Trouble:
    blocked_for_us = table.duration(_HELD_FOR, "60 s")
    ends_script = table.boolean("ends_script")
    if flow == "none":
        what = "the line has no flow control, so the machine can't hold up what is typed"
        table.wrong(_HELD_FOR, what, 'flow = "xon/xoff" in [line], or no such trouble')
    table.close()
    return Trouble(
        name=name, pattern=HARMLESS, ends_script=ends_script, blocked_for_us=blocked_for_us, words={}, do={}
    )
