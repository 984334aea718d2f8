"""How characters look, and the rows that a display shows.

Colour is left out on purpose: the consoles of the time had none, and a page has its own. What is
kept is what carries meaning on one: bold, underline, reverse, blink, concealed, overstruck.
"""

from collections.abc import Iterable
from enum import IntFlag
from typing import NamedTuple


class Style(IntFlag):
    """The looks of a character, to be joined with |. 0 is plain."""

    BOLD = 1
    UNDERLINE = 2
    REVERSE = 4
    BLINK = 8
    CONCEALED = 16
    OVERSTRUCK = 32


class Run(NamedTuple):
    """Neighbouring characters of one style. style is an int of Style bits."""

    text: str
    style: int


Row = tuple[Run, ...]
"""One row from its left edge; blanks without a style at its end are left out. () is an empty row."""


class CursorPlace(NamedTuple):
    """Where the cursor stands. row is an index into rows(), both count from 0."""

    row: int
    column: int
    visible: bool


def row_text(row: Row) -> str:
    """The characters of a row without their styles."""
    return "".join(run.text for run in row)


def style_names(style: int) -> list[str]:
    """The plain words for a style, in one order always: ["bold", "reverse"]."""
    return [member.name.lower() for member in Style if style & member and member.name]


def row_of(cells: Iterable[tuple[str, int]]) -> Row:
    """Joins single characters and their styles, from the left edge on, to a row."""
    runs: list[Run] = []
    text: list[str] = []
    style = 0
    for character, its_style in cells:
        if its_style != style and text:
            runs.append(Run("".join(text), style))
            text.clear()
        style = its_style
        text.append(character)
    runs.append(Run("".join(text), style))
    while runs and not runs[-1].style:
        kept = runs.pop().text.rstrip(" ")
        if kept:
            runs.append(Run(kept, 0))
            break
    return tuple(runs)
