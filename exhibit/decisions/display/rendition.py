"""How characters look, and the rows that a display shows.

Colour is left out on purpose: the consoles of the time had none, and a page has its own. Styles that
carried meaning are kept: bold, underline, reverse, blink, concealed, overstruck.
"""

from collections.abc import Sequence
from enum import IntFlag
from functools import lru_cache
from itertools import groupby
from operator import itemgetter
from typing import NamedTuple


class Style(IntFlag):
    """The styles of a character, combined with |. 0 is plain."""

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
"""One row from its left edge, without plain blanks at its end. () is an empty row."""


class Cell(NamedTuple):
    """One character position. data is its character, style an int of Style bits."""

    data: str
    style: int


BLANK = Cell(" ", 0)

_DATA, _STYLE = itemgetter(0), itemgetter(1)
"""Get a cell's fields in a third of the time that attributes take."""


class CursorPlace(NamedTuple):
    """Where the cursor is. row is an index into rows(); both count from 0."""

    row: int
    column: int
    visible: bool


def row_text(row: Row) -> str:
    """The characters of a row without their styles."""
    return "".join(run.text for run in row)


def style_names(style: int) -> list[str]:
    """The words for a style, always in the same order: ["bold", "reverse"]."""
    return [member.name.lower() for member in Style if style & member and member.name]


def row_of(cells: Sequence[Cell]) -> Row:
    """Joins cells, from the left edge on, into a row."""
    runs = [Run("".join(map(_DATA, same)), style) for style, same in groupby(cells, _STYLE)]
    while runs and not runs[-1].style:
        kept = runs.pop().text.rstrip(" ")
        if kept:
            runs.append(Run(kept, 0))
            break
    return tuple(runs)


_SETS = {
    1: Style.BOLD,
    4: Style.UNDERLINE,
    5: Style.BLINK,
    6: Style.BLINK,
    7: Style.REVERSE,
    8: Style.CONCEALED,
    21: Style.UNDERLINE,
}
_CLEARS = {
    22: Style.BOLD,
    24: Style.UNDERLINE,
    25: Style.BLINK,
    27: Style.REVERSE,
    28: Style.CONCEALED,
}
_COLOURS_WITH_ARGUMENTS = (38, 48, 58)


@lru_cache(maxsize=4096)
def style_after(style: int, params: tuple[int, ...]) -> int:
    """The style after SELECT GRAPHIC RENDITION with these parameters (ECMA-48 s.8.3.117).

    6 (rapid blink) blinks, 21 (double underline) underlines. Colours, faint, italic and fonts
    change nothing; the arguments of 38, 48 and 58 are skipped, or they would be taken for styles.
    """
    waiting = list(reversed(params))
    while waiting:
        param = waiting.pop()
        if param == 0:
            style = 0
        elif param in _SETS:
            style |= int(_SETS[param])
        elif param in _CLEARS:
            style &= ~int(_CLEARS[param])
        elif param in _COLOURS_WITH_ARGUMENTS and waiting:
            for _ in range({5: 1, 2: 3}.get(waiting.pop(), 0)):
                if waiting:
                    waiting.pop()
    return style
