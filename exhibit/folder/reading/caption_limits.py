"""What captions are held to: each limit, where it comes from, and how a language's file changes one.

A change is a table [limits.NAME] with the new `value` and the `reason`. It can't be dropped unnoticed:
then the published limit holds again, and what is over it is reported. One that nothing needs is reported
too.
"""

from __future__ import annotations

from typing import Final

import msgspec

from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import intended_name

SECTION: Final = "limits"
_HIGHEST: Final = 1000


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """A limit, and whose it is."""

    value: int
    unit: str
    source: str
    is_least: bool = False
    """Less than the value is too little; otherwise more than it is too much."""

    def breaks(self, measured: float) -> bool:
        """Whether what was measured is beyond the limit."""
        return measured < self.value if self.is_least else measured > self.value

    def is_laxer(self, value: int) -> bool:
        """Whether a limit of `value` allows what this one doesn't."""
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
    "seconds": Limit(
        value=10, unit="s", source="Nielsen 1993, chapter 5: the limit for keeping somebody's attention"
    ),
    "words-a-sentence": Limit(
        value=15, unit="words", source="Gallery Text at the V&A, a ten point guide: under 16 in the first"
    ),
    "characters-a-line": Limit(
        value=45, unit="characters", source="our own choice; broadcast subtitles have 37, BBC section 3.1"
    ),
    "lines": Limit(
        value=3,
        unit="lines",
        source="BBC Subtitle Guidelines, section 3: two, and three where nothing is hidden",
    ),
    "grade": Limit(
        value=8, unit="school years", source="Serrell, Exhibit Labels, 2015: eighth grade; Flesch-Kincaid"
    ),
    "words-a-label": Limit(value=7, unit="words", source="Serrell, Exhibit Labels, 2015: titles of 1 to 7"),
}
"""By the name that a language's file uses."""


class Changed(msgspec.Struct, frozen=True):
    """A limit as a language's file has changed it."""

    value: int
    reason: str


def read_limits(root: Table) -> dict[str, Changed]:
    """Read [limits], which is there also where none is changed. What is wrong is added to the mistakes."""
    changed: dict[str, Changed] = {}
    for name, table in root.named_tables(SECTION):
        limit = LIMITS.get(name)
        if limit is None:
            near = intended_name(name, LIMITS)
            write = f"[limits.{near}]" if near else f"one of: {', '.join(LIMITS)}"
            table.wrong((), f'there is no limit named "{name}"', write)
        value = table.integer("value", 1, _HIGHEST, limit.value if limit else 1)
        changed[name] = Changed(value, table.text("reason", "Our visitors sit, and have time to read"))
        table.close()
    return changed
