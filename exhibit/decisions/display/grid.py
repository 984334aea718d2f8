"""The character positions of a screen: sparse rows of cells, and how they are shifted and erased.

Rows and columns count from 0. A position that was never written, or was erased, is not stored: it
is a plain blank, so erasing makes rows smaller and nothing here costs more than one display.
"""

from exhibit.decisions.display.rendition import BLANK, Cell, Row, row_of


class Line(dict[int, Cell]):
    """One row: column -> cell. shown is its Row as last rendered, None after a change."""

    __slots__ = ("shown",)

    def __init__(self) -> None:
        self.shown: Row | None = ()

    def row(self) -> Row:
        """What this line shows; the same object until the line changes."""
        if self.shown is None:
            get = self.get
            self.shown = row_of([get(column, BLANK) for column in range(max(self, default=-1) + 1)])
        return self.shown


class Grid:
    """All rows of a screen, from the top."""

    def __init__(self, rows: int) -> None:
        self._lines = [Line() for _ in range(rows)]

    def to_change(self, number: int) -> Line:
        """That row, for someone who is about to change it."""
        line = self._lines[number]
        line.shown = None
        return line

    def rows(self) -> list[Row]:
        """What the rows show."""
        return [line.row() for line in self._lines]

    def clear(self, start: int, end: int) -> None:
        """Blanks rows start to end (end not included)."""
        for number in range(start, end):
            self._lines[number] = Line()

    def scroll(self, top: int, bottom: int, count: int) -> None:
        """Moves rows top to bottom (both included) up by count, or down if it is negative."""
        lines = self._lines
        new = [Line() for _ in range(min(abs(count), bottom + 1 - top))]
        if count > 0:
            del lines[top : top + len(new)]
            lines[bottom + 1 - len(new) : bottom + 1 - len(new)] = new
        else:
            del lines[bottom + 1 - len(new) : bottom + 1]
            lines[top:top] = new

    def erase(self, number: int, start: int, end: int) -> None:
        """Blanks columns start to end (end not included)."""
        line = self.to_change(number)
        for column in range(start, end):
            line.pop(column, None)

    def insert_blanks(self, number: int, at: int, count: int, columns: int) -> None:
        """Shifts the rest of the row from `at` on to the right; what passes the edge is lost."""
        line = self.to_change(number)
        shifted = [
            (column if column < at else column + count, cell)
            for column, cell in line.items()
            if column < at or column + count < columns
        ]
        line.clear()
        line.update(shifted)

    def delete(self, number: int, at: int, count: int) -> None:
        """Takes out `count` positions from `at` on and closes the gap; blanks come in at the end."""
        line = self.to_change(number)
        shifted = [
            (column if column < at else column - count, cell)
            for column, cell in line.items()
            if not at <= column < at + count
        ]
        line.clear()
        line.update(shifted)

    def fill(self, cell: Cell, columns: int) -> None:
        """Puts the cell into all places of all rows."""
        for number in range(len(self._lines)):
            self.to_change(number).update(dict.fromkeys(range(columns), cell))

    def load(self, number: int, row: Row) -> None:
        """Makes the row show this, and nothing else."""
        line = self.to_change(number)
        line.clear()
        line.update(enumerate(Cell(character, run.style) for run in row for character in run.text))
