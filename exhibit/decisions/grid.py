"""The character positions of a screen: sparse rows of cells, and how they are shifted and erased.

Rows and columns count from 0. A position that was never written, or was erased, is not stored: it
is a plain blank, so erasing makes rows smaller and nothing here costs more than one display.
"""

from exhibit.decisions.rendition import BLANK, Cell, Row, row_of


class Line(dict[int, Cell]):
    """One row: column -> cell. shown is its Row as last rendered, None after a change."""

    __slots__ = ("shown",)

    def __init__(self) -> None:
        super().__init__()
        self.shown: Row | None = None

    def row(self) -> Row:
        """What this line shows; the same object until the line changes."""
        if self.shown is None:
            if self:
                get = self.get
                self.shown = row_of([get(column, BLANK) for column in range(max(self) + 1)])
            else:
                self.shown = ()
        return self.shown


class Grid(dict[int, Line]):
    """Row number -> line, for the rows that hold something."""

    def __missing__(self, number: int) -> Line:
        line = self[number] = Line()
        return line

    def row(self, number: int) -> Row:
        """What that row shows."""
        line = self.get(number)
        return line.row() if line is not None else ()

    def scroll(self, top: int, bottom: int, count: int) -> None:
        """Moves rows top to bottom (both included) up by count, or down if it is negative."""
        lines = [self.pop(number, None) for number in range(top, bottom + 1)]
        if count > 0:
            lines = lines[count:]
        else:
            top -= count
            lines = lines[: max(0, len(lines) + count)]
        for number, line in enumerate(lines, top):
            if line is not None:
                self[number] = line

    def erase(self, number: int, start: int, end: int) -> None:
        """Blanks columns start to end (end not included)."""
        line = self.get(number)
        if line is None:
            return
        for column in range(start, end):
            line.pop(column, None)
        line.shown = None

    def insert_blanks(self, number: int, at: int, count: int, columns: int) -> None:
        """Shifts the rest of the row from `at` on to the right; what passes the edge is lost."""
        line = self.get(number)
        if line is None:
            return
        shifted = [
            (column if column < at else column + count, cell)
            for column, cell in line.items()
            if column < at or column + count < columns
        ]
        line.clear()
        line.update(shifted)
        line.shown = None

    def delete(self, number: int, at: int, count: int) -> None:
        """Takes out `count` positions from `at` on and closes the gap; blanks come in at the end."""
        line = self.get(number)
        if line is None:
            return
        shifted = [
            (column if column < at else column - count, cell)
            for column, cell in line.items()
            if not at <= column < at + count
        ]
        line.clear()
        line.update(shifted)
        line.shown = None

    def load(self, number: int, row: Row) -> None:
        """Makes the row show this, and nothing else."""
        self.pop(number, None)
        if row:
            cells = (Cell(character, run.style) for run in row for character in run.text)
            self[number].update(enumerate(cells))
