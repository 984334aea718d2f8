"""What the Dunlin sends to paint its terminal: 24 rows of 80 columns, controlled as ECMA-48 says."""

import re
from collections import deque
from collections.abc import Iterable, Iterator

ROWS, COLUMNS = 24, 80
TOP, BOTTOM = 3, 21
"""The rows between which what commands print scrolls upwards."""
CLOCK_COLUMN, JOBS_COLUMN = 62, 74
RULE_ROW, PROMPT_ROW, NOTICE_ROW = 22, 23, 24
CLEAR, CLEAR_ROW, REVERSE, PLAIN = "\x1b[2J", "\x1b[K", "\x1b[7m", "\x1b[0m"
KEEP, BACK = "\x1b7", "\x1b8"
"""Remember where the cursor is, and put it back there."""
_SEQUENCE = re.compile(r"\x1b\[[0-9;]*[A-Za-z]|\x1b[0-9]|\r\n|.", re.DOTALL)


def at(row: int, column: int = 1) -> str:
    """Move the cursor."""
    return f"\x1b[{row};{column}H"


SCROLL = f"{at(TOP)}\x1b[M{at(BOTTOM)}\x1b[L"
"""Take the top row out of the middle, and open an empty one at its bottom, where the cursor then is."""


def sequences(text: str) -> list[str]:
    """`text` cut into characters and whole control sequences."""
    return _SEQUENCE.findall(text)


def reversed_row(row: int, text: str) -> str:
    """A whole row in reverse video."""
    return at(row) + REVERSE + text.ljust(COLUMNS)[:COLUMNS] + PLAIN


def notice(text: str) -> str:
    """A notice in the last row, in reverse video."""
    return at(NOTICE_ROW) + CLEAR_ROW + REVERSE + f" {text} "[:COLUMNS] + PLAIN


class Middle:
    """The rows that scroll, kept so that the screen can be painted again."""

    def __init__(self) -> None:
        self._rows: deque[str] = deque(maxlen=BOTTOM - TOP + 1)

    def add(self, text: str) -> str:
        """What shows `text` in a new row."""
        self._rows.append(text)
        return SCROLL + text

    def forget(self) -> None:
        """Begin with empty rows."""
        self._rows.clear()

    def painted(self) -> str:
        """What paints all of it, after the screen was cleared."""
        first = BOTTOM + 1 - len(self._rows)
        return "".join(at(first + place) + text for place, text in enumerate(self._rows))


class Cells:
    """A display of which only the cells that change are painted."""

    def __init__(self) -> None:
        self._shown: dict[tuple[int, int], str] = {}

    def forget(self) -> None:
        """The screen was cleared."""
        self._shown.clear()

    def changed(self, cells: Iterable[tuple[int, int, str]]) -> Iterator[str]:
        """What paints those of `cells` (row, column, text) that changed, from the first letter that did."""
        for row, column, text in cells:
            before = self._shown.get((row, column), "")
            self._shown[row, column] = text
            same = next(
                (n for n, (a, b) in enumerate(zip(before, text, strict=False)) if a != b), len(before)
            )
            if before != text:
                yield at(row, column + same) + text[same:]
