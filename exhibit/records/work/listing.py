"""What was written down, as lines for people and as JSON."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from exhibit.facts.kinds import PackEntered, ReadingMeasured, WorkDone
from exhibit.output.printable import as_unicode
from exhibit.records.work.reading import WrittenDown


def lines_of(found: WrittenDown) -> list[str]:
    """What was done, what was measured, and the packs: a line for each, and what can't be read."""
    lines = [
        *_under("Work", (f"  {one.at[:10]} {one.at[11:16]}  {work_words(one)}" for one in found.work)),
        *_under(
            "Measured", (f"  {one.at[:10]} {one.at[11:16]}  {measured_words(one)}" for one in found.measured)
        ),
        *_under("Packs", (f"  {pack_words(one)}" for one in found.packs)),
    ]
    damaged = [f"{path} can't be read, or not all of it." for path in found.damaged]
    return [*(lines or ["Nothing was written down."]), *damaged]


def as_json_text(found: WrittenDown) -> str:
    """The same as one line of JSON, with the facts as they stand in the record."""
    return msgspec.json.encode(
        {
            "work": found.work,
            "measured": found.measured,
            "packs": found.packs,
            "damaged": [as_unicode(f"{path}") for path in found.damaged],
        }
    ).decode()


def work_words(one: WorkDone) -> str:
    """A piece of work in a line: "lower-drive, board A12: swapped, from the donor (engineer 1; sheet 7)"."""
    what = f"{one.part}, {one.board}" if one.board else one.part
    come = f", from {one.came_from}" if one.came_from else ""
    beside = [one.by, *([f"drawing {one.drawing}"] if one.drawing else [])]
    beside += [f"{len(one.photographs)} photographs"] if one.photographs else []
    beside += ["a note"] if one.note else []
    return f"{what}: {one.act}{come} ({'; '.join(beside)})"


def measured_words(one: ReadingMeasured) -> str:
    """A measured value in a line."""
    where = f" at {one.part}" if one.part else ""
    return f"{one.what}{where}: {one.value:g} {one.unit} ({one.by}{'; a note' if one.note else ''})"


def pack_words(one: PackEntered) -> str:
    """A pack in a line, with what isn't known said as such."""
    kind = "original" if one.original else f"copy of {one.copy_of}" if one.copy_of else "copy"
    copies = f"copies {', '.join(one.copies)}" if one.copies else "no copy known"
    verified = f"verified {one.verified}" if one.verified else "never verified"
    hours = f"{one.hours:g} h" if one.hours is not None else "hours unknown"
    errors = f"{one.errors} errors" if one.errors is not None else "errors unknown"
    kept = f"kept {one.kept}" if one.kept else "kept where isn't said"
    holds = one.holds or "contents not said"
    return f"{one.label}: {holds}; {kind}; {copies}, {verified}; {hours}, {errors}; {kept} ({one.at[:10]})"


def _under(head: str, lines: Iterator[str]) -> list[str]:
    found = list(lines)
    return [head, *found, ""] if found else []
