"""Turns a screen's whole state into plain JSON values for a keyframe, and back."""

from typing import Any

from exhibit.decisions.display.grid import Rows
from exhibit.decisions.display.modes import FROM_MARGIN, INSERTING, NEW_LINE, WRAPPING, Modes, SavedCursor
from exhibit.decisions.display.rendition import Row, Run
from exhibit.facts.errors import RecordingFault

_MODES = {"inserting": INSERTING, "new line": NEW_LINE, "from margin": FROM_MARGIN, "wrapping": WRAPPING}


def snapshot_of(glass: Modes) -> dict[str, Any]:
    """Everything that the effect of further input can depend on. Blank rows are left out."""
    return {
        "size": [glass.lines, glass.columns],
        "rows": _kept_rows(glass.buffer),
        "cursor": [glass.cursor.y, glass.cursor.x, glass.cursor.hidden],
        "style": glass.style,
        "margins": list(glass.margins) if glass.margins else None,
        "modes": [name for name, mode in _MODES.items() if mode in glass.mode],
        "tab_stops": sorted(glass.tabstops),
        "sets": list(glass.sets),
        "shifted": glass.charset,
        "saved": list(glass.saved),
        "repeatable": glass.repeatable,
        "aside": [_kept_rows(glass.aside[0]), list(glass.aside[1])] if glass.aside else None,
        "bells": glass.bells,
    }


def restore_to(glass: Modes, kept: dict[str, Any]) -> None:
    """Gives glass the state of a snapshot. Raises RecordingFault if their sizes differ."""
    if kept["size"] != [glass.lines, glass.columns]:
        rows, columns = kept["size"]
        raise RecordingFault(
            f"A keyframe holds a screen of {rows} x {columns}; this one is {glass.lines} x {glass.columns}.",
            "So the recording can't be shown from there.",
            "Delete the folder of keyframes; it is made again from the recording.",
        )
    glass.buffer = _loaded(kept["rows"], glass.lines)
    glass.margins = None
    if kept["margins"]:  # this moves the cursor, so the cursor is restored after it
        glass.set_margins(*(number + 1 for number in kept["margins"]))
    glass.cursor.y, glass.cursor.x, glass.cursor.hidden = kept["cursor"]
    glass.style = kept["style"]
    for name, mode in _MODES.items():
        glass.switch(mode, name in kept["modes"])
    glass.tabstops = set(kept["tab_stops"])
    first_set, second_set = kept["sets"]
    glass.sets = (first_set, second_set)
    glass.charset = kept["shifted"]
    glass.saved = _saved(kept["saved"])
    glass.repeatable = kept["repeatable"]
    aside = kept["aside"]
    glass.aside = (_loaded(aside[0], glass.lines), _saved(aside[1])) if aside else None
    glass.bells = kept["bells"]
    glass.dirty = set(range(glass.lines))


def _kept_rows(buffer: Rows) -> dict[str, Row]:
    return {str(number): row for number, row in enumerate(buffer.rows()) if row}


def _loaded(rows: dict[str, Any], lines: int) -> Rows:
    buffer = Rows(lines)
    for number, row in rows.items():
        buffer.load(int(number), tuple(Run(*run) for run in row))
    return buffer


def _saved(kept: list[Any]) -> SavedCursor:
    row, column, style, (first_set, second_set), shifted, from_margin = kept
    return SavedCursor(row, column, style, (first_set, second_set), shifted, from_margin)
