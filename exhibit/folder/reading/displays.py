"""Reads status displays: when a frame ends, which values are on it, and which say how busy the machine is."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import partial
from typing import Final, Literal

from exhibit.decisions.machine.description import Reading, StatusDisplay
from exhibit.decisions.machine.fitting import shortest
from exhibit.decisions.machine.pattern import Pattern
from exhibit.facts.display import Display
from exhibit.facts.parts_and_cards import NowReadings
from exhibit.folder.reading.story import CaptionsBeside
from exhibit.folder.reading.tables import HARMLESS, SHORT, Table
from exhibit.folder.reading.values import (
    AT_THE_TOP,
    frame_end,
    intended_name,
    key_or_none,
    pattern_of,
    places_of,
    row_range,
)

_NUMBERS_NOW: Final = ("share", "transfers", "errors")
"""The keys of [now] that name numbers; `jobs` names tables."""
_READINGS: Final[tuple[Literal["number", "text", "table"], ...]] = ("number", "text", "table")
_ROWS_BEFORE: Final = re.compile(r"rows? ([0-9]+(?: to [0-9]+)?): ")
_FIT: Final = {"number": ("number",), "text": ("word", "text", "number")}
"""The kinds of place that a reading of each kind can have."""


def read_status_display(name: str, table: Table, display: Display, told: CaptionsBeside) -> StatusDisplay:
    """Read one status display of the machine. Adds mistakes to the table."""
    rows = display.rows
    title_row = table.integer("title_row", 1, rows, 1, default=1)
    title = table.pattern("title", "STATUS {...}")
    fits_a_row(table, "title", title, display)
    ends_at, ends_after_quiet_us = table.read("frame_ends", "row 24 column 1", AT_THE_TOP, frame_end)
    if ends_at is not None and not (ends_at[0] <= rows and ends_at[1] <= display.columns):
        table.wrong(
            "frame_ends",
            f"the display has only {rows} rows of {display.columns} columns",
            'frame_ends = "row 24 column 1", or another place on the display',
        )
    paint_again = table.read("paint_again", "control L", b"", key_or_none, default="none")
    if b" " < paint_again < b"\x7f":
        what = "this key types a character, which would become the beginning of a command"
        table.wrong("paint_again", what, 'paint_again = "control L", or another key that types nothing')
    named = table.named_tables("readings", optional=True, short=SHORT)
    readings = tuple(_read_reading(name, key, below, display, told) for key, below in named)
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


def _read_reading(shown_on: str, name: str, table: Table, display: Display, told: CaptionsBeside) -> Reading:
    rows = display.rows
    first, last = table.read("rows", "3", (1, 1), row_range, default=_rows_before(table))
    if last > rows:
        table.wrong("rows", f"the display has only {rows} rows", f'rows = "{min(first, rows)}"')
    pattern = table.read(
        "line", "LOAD {value: number} PER CENT", HARMLESS, partial(_line, table.written("rows"))
    )
    fits_a_row(table, "line", pattern, display)
    kind = table.choice("kind", _READINGS, default=_shown(pattern))
    if pattern is not HARMLESS and table.is_sure("kind"):
        _check_places(table, kind, places_of(pattern.text))
        if kind != "table" and first != last:
            table.wrong("rows", f"a {kind} takes one row", f'rows = "{first}"')
    told.read_changes(table, shown_on, name)
    table.close()
    return Reading(name=name, kind=kind, first_row=first, last_row=last, pattern=pattern)


def _rows_before(table: Table) -> str | None:
    """Return the rows that the line begins with, as in "row 3: LOAD {value: number}", or None."""
    found = _ROWS_BEFORE.match(f"{table.data.get('line')}")
    return found[1] if found else None


def _line(rows: str, text: str) -> Pattern:
    """Return the pattern of a reading's line, without the rows if it begins with these."""
    found = _ROWS_BEFORE.match(text)
    return pattern_of(text[found.end() :] if found and found[1] == rows else text, True)


def _shown(pattern: Pattern) -> Literal["number", "text", "table"] | None:
    """Return the kind of reading that the line describes; None if that isn't clear from its places."""
    places = places_of(pattern.text)
    if list(places) == ["value"]:
        return "number" if places["value"] == "number" else "text"
    return "table" if len(places) > 1 and "value" not in places else None


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
        fit = "number" if kind == "number" else "one word"
        what = f"a {kind} needs exactly one place, which is named value and has the kind {fit}"
        table.wrong("line", what, f'line = "LOAD {{value: {fit}}} ..."')


def read_now(table: Table, displays: Mapping[str, StatusDisplay]) -> NowReadings:
    """Read [now]. Adds mistakes to the table."""
    known = {
        f"{display.name}.{reading.name}": reading
        for display in displays.values()
        for reading in display.readings
    }
    found = {key: _readings(table, key, known, key in _NUMBERS_NOW) for key in (*_NUMBERS_NOW, "jobs")}
    # What a program is called is the only longer text of its row, if there is one.
    texts = {
        column
        for name in found["jobs"]
        for column, kind in places_of(known[name].pattern.text).items()
        if kind == "text"
    }
    usual = next(iter(texts)) if len(texts) == 1 else None
    job_name = table.text("job_name", "name", default=usual if found["jobs"] else "none")
    for name in found["jobs"]:
        columns = list(places_of(known[name].pattern.text))
        if job_name and columns and job_name not in columns:
            write = f'job_name = "{intended_name(job_name, columns) or columns[0]}"'
            table.wrong("job_name", f'the table {name} has no column "{job_name}"', write)
    table.close()
    return NowReadings(**found, job_name=job_name)


def _readings(table: Table, key: str, known: Mapping[str, Reading], number: bool) -> list[str]:
    wanted = [name for name, reading in known.items() if (reading.kind == "number") == number]
    good = []
    for name, below in table.texts(key, '["board.load"]', default=[]):
        if name in wanted:
            good.append(name)
        else:
            kind = "number" if number else "table"
            near = intended_name(name, wanted)
            write = f'"{near}"' if near else f"one of: {', '.join(wanted)}"
            what = f'there is no reading "{name}" of kind {kind}'
            table.wrong(below, what, write if wanted else f"{key} = []")
    return good
