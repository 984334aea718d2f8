"""Reads the status displays of machine.toml: when a frame ends, and which values are on it."""

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
"""The kinds of place that a reading of each kind can have."""


def read_status_display(name: str, table: Table, display: Display) -> StatusDisplay:
    """Read one status display of the machine. Adds mistakes to the table."""
    rows = display.rows
    title_row = table.integer("title_row", 1, rows, 1)
    title = table.pattern("title", "STATUS {...}")
    fits_a_row(table, "title", title, display)
    ends_at, ends_after_quiet_us = table.read("frame_ends", "row 24 column 1", AT_THE_TOP, frame_end)
    if ends_at is not None and not (ends_at[0] <= rows and ends_at[1] <= display.columns):
        table.wrong(
            "frame_ends",
            f"the display has only {rows} rows of {display.columns} columns",
            'frame_ends = "row 24 column 1", or another place on the display',
        )
    paint_again = b""
    if "paint_again" in table:
        paint_again = table.key_press("paint_again", "control L")
        if b" " < paint_again < b"\x7f":
            what = "this key types a character, which would become the beginning of a command"
            table.wrong("paint_again", what, 'paint_again = "control L", or another key that types nothing')
    readings = tuple(_read_reading(key, below, display) for key, below in table.named_tables("readings"))
    table.close()
    return StatusDisplay(
        name=name,
        title_row=title_row,
        title=title,
        ends_at=ends_at,
        ends_after_quiet_us=ends_after_quiet_us,
        readings=readings,
        paint_again=paint_again,
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
            table.wrong("rows", f"a {kind} takes one row", f'rows = "{first}"')
    table.close()
    return Reading(name=name, kind=kind, first_row=first, last_row=last, pattern=pattern)


def fits_a_row(table: Table, key: str, pattern: Pattern, display: Display) -> None:
    """Add a mistake if the pattern of one row of the screen is longer than a row."""
    if (least := shortest(pattern)) > display.columns:
        what = f"this matches only {least} characters or more, but a row of the display has {display.columns}"
        table.wrong(key, what, "the row as the display shows it")


def _check_places(table: Table, kind: str, places: dict[str, str]) -> None:
    if kind == "table":
        if not places:
            write = 'line = "{job: number} {state: word}"'
            table.wrong("line", "the line of a table needs a place for each column", write)
    elif list(places) != ["value"] or places["value"] not in _FIT[kind]:
        fit = _FIT[kind][0]
        what = f"a {kind} needs exactly one place, which is named value and has the kind {fit}"
        table.wrong("line", what, f'line = "LOAD {{value: {fit}}} ..."')
