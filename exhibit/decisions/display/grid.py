"""The rows of a screen as pyte's operations use them, and the cells that are put into them.

Rows and columns count from 0. A place that was never used isn't stored; it counts as a plain blank.
"""

from itertools import repeat

from exhibit.decisions.display.rendition import BLANK, Cell, Row, row_of


class Line(dict[int, Cell]):
    """One row: column -> cell. shown caches its Row; it is None after a change."""

    __slots__ = ("shown",)

    def __init__(self) -> None:
        self.shown: Row | None = ()

    def __missing__(self, column: int) -> Cell:
        return BLANK

    def row(self) -> Row:
        """What this line shows; the same object until the line changes."""
        if self.shown is None:
            self.shown = row_of(list(map(self.get, range(max(self, default=-1) + 1), repeat(BLANK))))
        return self.shown


class Rows:
    """All rows of a screen by number: pyte's buffer, with the methods that pyte's operations call.

    No row is ever missing. Getting a row by its number counts as changing it.
    """

    def __init__(self, count: int) -> None:
        self._lines = [Line() for _ in range(count)]

    def __getitem__(self, number: int) -> Line:
        line = self._lines[number]
        line.shown = None
        return line

    def __setitem__(self, number: int, line: Line) -> None:
        self._lines[number] = line

    def __contains__(self, number: int) -> bool:
        return True

    def pop(self, number: int, default: None = None) -> Line:
        """Removes a row and puts a blank one in its place."""
        line, self._lines[number] = self._lines[number], Line()
        return line

    def clear(self) -> None:
        """Blanks all rows."""
        self._lines = [Line() for _ in self._lines]

    def scroll_up(self, top: int, bottom: int) -> None:
        """Removes the row `top` and inserts a blank one at `bottom`."""
        del self._lines[top]
        self._lines.insert(bottom, Line())

    def rows(self) -> list[Row]:
        """What the rows show."""
        return [line.row() for line in self._lines]

    def load(self, number: int, row: Row) -> None:
        """Replaces what the row shows."""
        line = self[number]
        line.clear()
        line.update(enumerate(Cell(character, run.style) for run in row for character in run.text))


class Cells(dict[str, Cell]):
    """Character -> its cell in one style, made when first needed."""

    def __init__(self, style: int) -> None:
        super().__init__()
        self._style = style

    def __missing__(self, character: str) -> Cell:
        cell = self[character] = Cell(character, self._style)
        return cell
