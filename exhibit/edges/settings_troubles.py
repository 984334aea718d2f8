"""Reads the troubles of machine.toml: what means that something is wrong, and whether it ends a script."""

from __future__ import annotations

from typing import Final

from exhibit.decisions.machine import StatusDisplay, Trouble
from exhibit.edges.settings_tables import Table
from exhibit.edges.settings_values import meant, row_range

_ON_A_DISPLAY: Final = ("display", "rows")
"""The keys of a trouble that stands on a status display; without them it is a printed line."""


def read_trouble(name: str, table: Table, displays: dict[str, StatusDisplay], display_rows: int) -> Trouble:
    """Read one trouble, still without its words. What is wrong is added to the table's mistakes."""
    pattern = table.pattern("line", "NOT UNDERSTOOD: {...}")
    ends_script = table.truth("ends_script")
    # A misspelt key is reported as what it was meant to be.
    on_a_display = any(
        key in table or any(meant(other, [key]) for other in table.names()) for key in _ON_A_DISPLAY
    )
    display, rows = "", (0, 0)
    if on_a_display:
        display = table.name("display", "board")
        rows = table.read("rows", "5", (1, 1), row_range)
        if display and display not in displays:
            near = meant(display, displays) or f"one of: {', '.join(displays)}"
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
