"""Reads the chapters of a script."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from exhibit.folder.reading.languages import Beside, read_beside
from exhibit.folder.reading.mistakes import check_unique_names
from exhibit.folder.reading.tables import Table

CHAPTERS: Final = "chapters"
TOLD: Final = "told"
CONSOLE: Final = "console"
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
