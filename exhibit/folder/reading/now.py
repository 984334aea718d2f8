"""Reads [now] of machine.toml: which readings tell visitors how busy the machine is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from exhibit.decisions.machine.description import Reading, StatusDisplay
from exhibit.facts.parts_and_cards import NowReadings
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import intended_name, places_of

_NUMBERS: Final = ("share", "transfers", "errors")


def read_now(table: Table, displays: Mapping[str, StatusDisplay]) -> NowReadings:
    """Read [now]. Adds mistakes to the table."""
    known = {
        f"{display.name}.{reading.name}": reading
        for display in displays.values()
        for reading in display.readings
    }
    found = {key: _readings(table, key, known, key in _NUMBERS) for key in (*_NUMBERS, "jobs")}
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
