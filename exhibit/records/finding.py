"""What `exhibit find` prints: lines and events, each with what `exhibit show` needs to show the moment."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Final

from exhibit.facts.kinds import ALL_KINDS
from exhibit.output.json_lines import json_line
from exhibit.records.index.asking import Index
from exhibit.records.index.building import as_text
from exhibit.records.index.fact_words import NOT_SAID
from exhibit.records.index.local_times import local_ms_of
from exhibit.records.index.notes_words import KEPT_IN, notes_with
from exhibit.records.index.rows import SaidRow

KINDS: Final = (
    "printed",
    "typed",
    "screen",
    "damaged",
    *(name for name, kind in sorted(ALL_KINDS.items()) if kind not in NOT_SAID),
)
"""What a line that is found can be."""


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What is looked for; what is empty doesn't matter (see Index.find)."""

    text: str = ""
    pattern: str = ""
    kinds: tuple[str, ...] = ()
    step: str = ""
    since: datetime | None = None
    until: datetime | None = None
    most: int = 0
    notes: bool = False
    """Whether the words of notes are looked into as well, which are not in the recordings."""
    machine: str | None = None
    practice: bool = False

    @property
    def says_something(self) -> bool:
        """Whether anything was asked for: otherwise all lines would be found."""
        return any((self.text, self.pattern, self.kinds, self.step, self.since, self.until))


def found_in(index: Index, wanted: Wanted, *, as_json: bool) -> Iterator[str]:
    """A line for each thing that is found, as text or as a JSON object."""
    for row in _rows(index, wanted):
        path = as_text(f"{index.folder / row.recording}")
        if as_json:
            yield json_line({"file": path, **asdict(row)})
        else:
            yield f"{shlex.quote(path)} --fact {row.seq}  {_line(row)}"


def _rows(index: Index, wanted: Wanted) -> Iterator[SaidRow]:
    yield from index.find(
        text=wanted.text,
        pattern=wanted.pattern,
        kind=wanted.kinds,
        step=wanted.step,
        since=wanted.since,
        until=wanted.until,
        machine=wanted.machine,
        practice=wanted.practice,
        most=wanted.most,
    )
    if wanted.notes and not wanted.step and wanted.kinds in ((), ("note_made",)):
        search, folded = re.compile(wanted.pattern).search, wanted.text.casefold()
        rows = notes_with(
            index, index.folder / KEPT_IN, lambda text: folded in text.casefold() and search(text) is not None
        )
        yield from (row for row in rows if _within(row, wanted))


def _within(row: SaidRow, wanted: Wanted) -> bool:
    at_ms = local_ms_of(datetime.fromisoformat(row.at)) if row.at else None
    since_ms = local_ms_of(wanted.since) if wanted.since is not None else None
    until_ms = local_ms_of(wanted.until) if wanted.until is not None else None
    if at_ms is None:
        return since_ms is None and until_ms is None
    return (since_ms is None or at_ms >= since_ms) and (until_ms is None or at_ms < until_ms)


def _line(row: SaidRow) -> str:
    at = row.at[:23].replace("T", " ") or "at an unknown time"
    by = f"   by {row.by}" if row.by else ""
    return f"{at}  {row.kind}  {' | '.join(row.text.split(chr(10)))}{by}"
