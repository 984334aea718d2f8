"""Reads the chapters of a script, and when the house is open."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from exhibit.facts.visitor_words import Hours, OpenHours
from exhibit.folder.reading.languages import Beside, read_beside
from exhibit.folder.reading.mistakes import check_unique_names
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import ValueMistake

CHAPTERS: Final = "chapters"
TOLD: Final = "told"
CONSOLE: Final = "console"
CLOSED: Final = "none"
EVERY_DAY: Final = "every_day"
_OPEN: Final = re.compile(r"([01]?[0-9]|2[0-3]):([0-5][0-9]) to ([01]?[0-9]|2[0-3]):([0-5][0-9])")
_NO_PICTURE: Final = "none"


@dataclass
class ChapterDraft:
    """A chapter as read, and its table, to which mistakes are added later."""

    table: Table
    name: str = ""
    from_step: str = ""
    picture: str = ""
    """ "console", "plot:NAME" or "part:NAME"; empty for none."""


def read_chapters(script: str, root: Table, beside: list[Beside]) -> list[ChapterDraft]:
    """Read the tables [[chapter]] of a script's file. Adds mistakes to the tables."""
    chapters: list[ChapterDraft] = []
    for table in root.tables("chapter", optional=True):
        chapter = ChapterDraft(table)
        chapter.name = table.name("name", "tides")
        words = {"words": f"{CHAPTERS}.{script}", "told": f"{TOLD}.{script}"}
        read_beside(table, chapter.name, words, beside)
        chapter.from_step = table.name("from", "run-tides")
        picture = table.text("picture", "plot:tide", default=_NO_PICTURE)
        chapter.picture = "" if picture == _NO_PICTURE else picture
        table.close()
        chapters.append(chapter)
    check_unique_names("chapter", chapters)
    return chapters


def read_hours(table: Table) -> Hours | None:
    """Read [hours]; None if nothing is written. Adds mistakes to the table.

    Each key is a kind of day with its hours; the more particular kinds come later in the list.
    """
    every_day = table.read(EVERY_DAY, "10:00 to 17:00", None, open_hours, default=CLOSED)
    table.close()
    return Hours(every_day=every_day) if every_day is not None else None


def open_hours(text: str) -> OpenHours | None:
    """Return the hours of "10:00 to 17:00"; None for "none". Raises ValueMistake."""
    if text == CLOSED:
        return None
    found = _OPEN.fullmatch(text)
    if found is None:
        what = f'"{text}" doesn\'t say when the doors open and close'
        raise ValueMistake(what, f'"10:00 to 17:00", or "{CLOSED}"')
    opens, closes = (f"{int(found[at]):02}:{found[at + 1]}" for at in (1, 3))
    if opens >= closes:
        raise ValueMistake(f'"{text}" ends before it begins', f'"{closes} to {opens}", if that is meant')
    return OpenHours(opens=opens, closes=closes)
