"""The limits for captions, their sources, and how a language's file changes them.

A change is a table [limits.NAME] with a new `value` and a `reason`. It can't be dropped unnoticed: the
published limit then applies again, and whatever exceeds it is reported. A change that nothing needs is
reported too.
"""

from __future__ import annotations

from typing import Final

import msgspec

from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import intended_name

SECTION: Final = "limits"
_HIGHEST: Final = 1000


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """A limit and its source."""

    value: int
    unit: str
    source: str
    is_least: bool = False
    """Whether the value is a minimum; otherwise it is a maximum."""

    def is_broken_by(self, measured: float) -> bool:
        """Whether the measured value is beyond the limit."""
        return measured < self.value if self.is_least else measured > self.value

    def is_stricter_than(self, value: int) -> bool:
        """Whether a limit of `value` would allow something that this one doesn't."""
        return value < self.value if self.is_least else value > self.value


LIMITS: Final = {
    "words-a-minute": Limit(
        value=180, unit="words a minute", source="BBC Subtitle Guidelines, section 4: 160 to 180"
    ),
    "seconds-at-least": Limit(
        value=2,
        unit="s",
        source="Captioning Key of the Described and Captioned Media Program: no caption for less",
        is_least=True,
    ),
    "seconds": Limit(value=10, unit="s", source="Nielsen 1993, chapter 5: as long as attention lasts"),
    "words-a-sentence": Limit(
        value=15, unit="words", source="Gallery Text at the V&A, a ten point guide: under 16 in the first"
    ),
    "characters-a-line": Limit(
        value=45, unit="characters", source="our own choice; broadcast subtitles have 37, BBC section 3.1"
    ),
    "lines": Limit(
        value=3,
        unit="lines",
        source="BBC Subtitle Guidelines, section 3: two, or three if they hide nothing",
    ),
    "characters": Limit(
        value=76,
        unit="characters",
        source="our own choice: two lines beside the drawing, with capitals of 22 arc minutes at 2.5 m",
    ),
    "grade": Limit(
        value=8, unit="school years", source="Serrell, Exhibit Labels, 2015: eighth grade; Flesch-Kincaid"
    ),
    "words-a-label": Limit(value=7, unit="words", source="Serrell, Exhibit Labels, 2015: titles of 1 to 7"),
}
"""The limits by the names that the languages' files use."""


class Changed(msgspec.Struct, frozen=True):
    """A language's change of a limit."""

    value: int
    reason: str


def read_limits(root: Table) -> dict[str, Changed]:
    """Read [limits], which is there only if something is changed. Adds mistakes to the tables."""
    changed: dict[str, Changed] = {}
    for name, table in root.named_tables(SECTION, optional=True):
        limit = LIMITS.get(name)
        if limit is None:
            near = intended_name(name, LIMITS)
            write = f"[limits.{near}]" if near else f"one of: {', '.join(LIMITS)}"
            table.wrong((), f'there is no limit named "{name}"', write)
        value = table.integer("value", 1, _HIGHEST, limit.value if limit else 1)
        changed[name] = Changed(value, table.text("reason", "Our visitors sit, and have time to read"))
        table.close()
    return changed
