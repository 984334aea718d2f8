"""What lines are looked for, as a condition in SQL.

Of a text, FTS5 gives the few lines that may have it, which are then looked at. A text that very many lines
may have is looked for line by line, in order, as a pattern is: so the first of them are there at once.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

from exhibit.records.index.local_times import local_ms_of

MOST_THREES: Final = 40
"""So many of a text's three characters in a row are looked up."""
FEW_LINES: Final = 5_000
"""Up to so many lines that may have a text are looked at alone."""


@dataclass
class Search:
    """A condition on lines (the table `said` as t), its values, and the functions of a text that it uses."""

    where: list[str] = field(default_factory=list)
    given: list[object] = field(default_factory=list)
    functions: dict[str, Callable[[str], bool]] = field(default_factory=dict)
    threes: str = ""
    """What FTS5 looks up; empty if it can't help."""

    def may_be_few(self, database: sqlite3.Connection) -> bool:
        """Whether FTS5 says that only few lines can have the text. Raises sqlite3.Error."""
        if not self.threes:
            return False
        count = database.execute(
            "SELECT count(*) FROM (SELECT 1 FROM said_text WHERE said_text MATCH ? LIMIT ?)",
            (self.threes, FEW_LINES + 1),
        ).fetchone()
        return bool(count[0] <= FEW_LINES)


def search_for(
    text: str,
    pattern: str,
    kind: Collection[str],
    step: str,
    since: datetime | None,
    until: datetime | None,
) -> Search:
    """The arguments are those of Index.find. Raises re.error for a pattern that is none."""
    search = Search()
    if text:
        folded = text.casefold()
        search.threes = _threes(text)
        search.where.append("holds(t.text)")
        search.functions["holds"] = lambda line: folded in line.casefold()
    if pattern:
        matches = re.compile(pattern, re.MULTILINE).search
        search.where.append("matches(t.text)")
        search.functions["matches"] = lambda line: matches(line) is not None
    if kind:
        search.where.insert(0, f"t.kind IN ({', '.join('?' * len(kind))})")
        search.given += kind
    if step:
        search.where.insert(0, "(t.step = ? OR substr(t.step, instr(t.step, '.') + 1) = ?)")
        search.given[:0] = [_bindable(step)] * 2
    for moment, sign in ((since, ">="), (until, "<")):
        if moment is not None:
            search.where.insert(0, f"t.local_ms {sign} ?")
            search.given.insert(0, local_ms_of(moment))
    return search


def _bindable(text: str) -> str:
    return text.encode("utf-8", "replace").decode()


def _threes(text: str) -> str:
    """What FTS5 looks up: each three characters in a row, of a long text some; empty if there are none."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return ""  # a name of a file or an argument that isn't text: no line has it
    threes = {text[place : place + 3]: None for place in range(len(text) - 2)}
    return " AND ".join(
        '"' + three.replace('"', '""') + '"' for three in [*threes][:MOST_THREES] if "\0" not in three
    )
