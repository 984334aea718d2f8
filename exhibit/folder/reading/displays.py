"""Reads the status displays of machine.toml: when a frame has ended, and what stands on it."""

from __future__ import annotations

from typing import Final, Literal

from exhibit.decisions.machine.description import Reading, StatusDisplay
from exhibit.decisions.machine.fitting import shortest
from exhibit.decisions.machine.pattern import Pattern
from exhibit.facts.display import Display
from exhibit.folder.reading.tables import HARMLESS, Table
from exhibit.folder.reading.values import AT_THE_TOP, frame_end, places_of, row_range

_READINGS: Final[tuple[Literal["number", "text", "table"], ...]] = ("number", "text", "table")
_FIT: Final = {"number": ("number",), "text": ("word", "text", "number")}
"""The kinds of place that a reading of each kind may have."""


def read_status_display(name: str, table: Table, display: Display) -> StatusDisplay:
    """Read one status display of the machine. What is wrong is added to the table's mistakes."""
    rows = display.rows
    title_row = table.integer("title_row", 1, rows, 1)
    title = table.pattern("title", "STATUS {...}")
    fits_a_row(table, "title", title, display)
    ends_at, ends_after_quiet_us = table.read("frame_ends", "row 24 column 1", AT_THE_TOP, frame_end)
    if ends_at is not None and not (ends_at[0] <= rows and ends_at[1] <= display.columns):
        table.wrong(
            "frame_ends",
            f"the display has {rows} rows of {display.columns} columns",
            'frame_ends = "row 24 column 1", a place that it has',
        )
    readings = tuple(_read_reading(key, below, display) for key, below in table.named_tables("readings"))
    table.close()
    return StatusDisplay(
        name=name,
        title_row=title_row,
        title=title,
        ends_at=ends_at,
        ends_after_quiet_us=ends_after_quiet_us,
        readings=readings,
    )


def _read_reading(name: str, table: Table, display: Display) -> Reading:
    rows = display.rows
    kind = table.choice("kind", _READINGS)
    first, last = table.read("rows", "3", (1, 1), row_range)
    if last > rows:
        table.wrong("rows", f"the display has only {rows} rows", f'rows = "{min(first, rows)}"')
    pattern = table.pattern("line", "LOAD {value: number} PER CENT", places_alone=True)
    fits_a_row(table, "line", pattern, display)
    if pattern is not HARMLESS and "kind" in table:
        _check_places(table, kind, places_of(pattern.text))
        if kind != "table" and first != last:
            table.wrong("rows", f"a {kind} stands on one row", f'rows = "{first}"')
    table.close()
    return Reading(name=name, kind=kind, first_row=first, last_row=last, pattern=pattern)


def fits_a_row(table: Table, key: str, pattern: Pattern, display: Display) -> None:
    """Add a pattern of what stands on one row of a screen that is longer than a row to the mistakes."""
    if (least := shortest(pattern)) > display.columns:
        what = f"what fits this has {least} characters or more, and a row of the display {display.columns}"
        table.wrong(key, what, "the row as it stands there")


def _check_places(table: Table, kind: str, places: dict[str, str]) -> None:
    if kind == "table":
        if not places:
            write = 'line = "{job: number} {state: word}"'
            table.wrong("line", "a table's line needs a place for each column", write)
    elif list(places) != ["value"] or places["value"] not in _FIT[kind]:
        fit = _FIT[kind][0]
        what = f"a {kind} needs exactly one place, named value, of kind {fit}"
        table.wrong("line", what, f'line = "LOAD {{value: {fit}}} ..."')
