"""Moving the cursor and shifting or erasing what a screen shows: one method a sequence.

Each takes the sequence's parameters, of which 0 means "not given" (ECMA-48 s.5.4.2; a parameter
that is given as 0 means the same here, as terminals do). No method does more work than the display
has places, whatever the parameters say.
"""

from typing import Any

from exhibit.decisions.display.grid import Grid
from exhibit.decisions.display.rendition import Cell

Params = tuple[int, ...]


class UnknownSequence(Exception):
    """What has no meaning on a screen. It is caught and counted where sequences are handed out."""


def count_of(params: Params) -> int:
    """The first parameter as a count."""
    return max(1, params[0])


class Editing:
    """The moving and editing half of screen.Glass; the other half keeps the state.

    cursor.x may be `columns`: a character was put in the last column, and the next one wraps.
    """

    lines: int
    columns: int
    cursor: Any
    margins: Any
    dirty: set[int]
    tabstops: set[int]
    grid: Grid
    style: int

    @property
    def counts_from_margin(self) -> bool:
        """Whether rows are numbered from the top margin, and the cursor is kept within the margins."""
        raise NotImplementedError

    def region(self) -> tuple[int, int]:
        """First and last row that scroll."""
        return self.margins or (0, self.lines - 1)

    def settle(self) -> None:
        """Gives up a wrap that was waiting."""
        self.cursor.x = min(self.cursor.x, self.columns - 1)

    # Moving. At an edge, or at the margin that it comes from within, the cursor stops.

    def place(self, row: int, column: int) -> None:
        """Puts the cursor there, rows counting from the margin if they should."""
        first, last = 0, self.lines - 1
        if self.counts_from_margin:
            first, last = self.region()
        self.cursor.y = max(first, min(first + row, last))
        self.cursor.x = max(0, min(column, self.columns - 1))

    def up(self, params: Params) -> None:
        self.settle()
        top, _ = self.region()
        row = self.cursor.y
        self.cursor.y = max(row - count_of(params), top if row >= top else 0)

    def down(self, params: Params) -> None:
        self.settle()
        _, bottom = self.region()
        row = self.cursor.y
        self.cursor.y = min(row + count_of(params), bottom if row <= bottom else self.lines - 1)

    def down_freely(self, params: Params) -> None:
        self.settle()
        _, bottom = self.region() if self.counts_from_margin else (0, self.lines - 1)
        self.cursor.y = min(self.cursor.y + count_of(params), bottom)

    def right(self, params: Params) -> None:
        self.cursor.x = min(self.cursor.x + count_of(params), self.columns - 1)

    def left(self, params: Params) -> None:
        self.settle()
        self.cursor.x = max(self.cursor.x - count_of(params), 0)

    def up_to_start(self, params: Params) -> None:
        self.up(params)
        self.cursor.x = 0

    def down_to_start(self, params: Params) -> None:
        self.down(params)
        self.cursor.x = 0

    def to_column(self, params: Params) -> None:
        self.cursor.x = min(count_of(params), self.columns) - 1

    def to_row(self, params: Params) -> None:
        self.place(count_of(params) - 1, self.cursor.x)

    def to_place(self, params: Params) -> None:
        self.place(count_of(params) - 1, count_of(params[1:] or (1,)) - 1)

    def index(self) -> None:
        """One row down; at the bottom margin the region scrolls up instead."""
        self.settle()
        top, bottom = self.region()
        if self.cursor.y == bottom:
            self._scroll(top, bottom, 1)
        elif self.cursor.y < self.lines - 1:
            self.cursor.y += 1

    def reverse_index(self) -> None:
        """One row up; at the top margin the region scrolls down instead."""
        self.settle()
        top, bottom = self.region()
        if self.cursor.y == top:
            self._scroll(top, bottom, -1)
        elif self.cursor.y > 0:
            self.cursor.y -= 1

    def next_line(self) -> None:
        self.cursor.x = 0
        self.index()

    def tab(self) -> None:
        """To the next stop or else the last column. A wrap that is waiting goes on waiting."""
        if self.cursor.x < self.columns:
            later = [stop for stop in self.tabstops if stop > self.cursor.x]
            self.cursor.x = min(later, default=self.columns - 1)

    def tabs_on(self, params: Params) -> None:
        for _ in range(min(count_of(params), self.columns)):
            self.tab()

    def tabs_back(self, params: Params) -> None:
        self.settle()
        for _ in range(min(count_of(params), self.columns)):
            self.cursor.x = max((stop for stop in self.tabstops if stop < self.cursor.x), default=0)

    def clear_tabs(self, params: Params) -> None:
        if params[0] == 0:
            self.tabstops.discard(self.cursor.x)
        elif params[0] == 3:
            self.tabstops.clear()
        else:
            raise UnknownSequence

    # Shifting and erasing. What is erased is plain: a console has no colours to leave behind.

    def _scroll(self, top: int, bottom: int, count: int) -> None:
        self.grid.scroll(top, bottom, count)
        self.dirty.update(range(top, bottom + 1))

    def scroll_up(self, params: Params) -> None:
        self._scroll(*self.region(), count_of(params))

    def scroll_down(self, params: Params) -> None:
        if len(params) > 1:
            raise UnknownSequence
        self._scroll(*self.region(), -count_of(params))

    def _shift_rows(self, count: int) -> None:
        """From the cursor's row to the bottom margin; then to line home. Outside the region nothing."""
        self.settle()
        top, bottom = self.region()
        if top <= self.cursor.y <= bottom:
            self._scroll(self.cursor.y, bottom, count)
            self.cursor.x = 0

    def insert_rows(self, params: Params) -> None:
        self._shift_rows(-count_of(params))

    def delete_rows(self, params: Params) -> None:
        self._shift_rows(count_of(params))

    def insert_blanks(self, params: Params) -> None:
        self.settle()
        self.grid.insert_blanks(self.cursor.y, self.cursor.x, count_of(params), self.columns)
        self.dirty.add(self.cursor.y)

    def delete_places(self, params: Params) -> None:
        self.settle()
        self.grid.delete(self.cursor.y, self.cursor.x, count_of(params))
        self.dirty.add(self.cursor.y)

    def erase_places(self, params: Params) -> None:
        self.settle()
        end = min(self.cursor.x + count_of(params), self.columns)
        self.grid.erase(self.cursor.y, self.cursor.x, end)
        self.dirty.add(self.cursor.y)

    def erase_line(self, params: Params) -> None:
        row, column = self.cursor.y, self.cursor.x
        if params[0] == 0:
            self.grid.erase(row, column, self.columns)
        elif params[0] == 1:
            self.grid.erase(row, 0, min(column + 1, self.columns))
        elif params[0] == 2:
            self.grid.clear(row, row + 1)
        else:
            raise UnknownSequence
        self.dirty.add(row)

    def erase_display(self, params: Params) -> None:
        row = self.cursor.y
        if params[0] == 0:
            whole = range(row + 1, self.lines)
        elif params[0] == 1:
            whole = range(row)
        elif params[0] == 2:
            whole = range(self.lines)
        elif params[0] == 3:  # rows that have scrolled away, of which there are none
            return
        else:
            raise UnknownSequence
        self.grid.clear(whole.start, whole.stop)
        self.dirty.update(whole)
        if params[0] != 2:
            self.erase_line(params)

    def alignment_display(self) -> None:
        """Fills the screen with E, in the style of the moment, and goes home."""
        self.grid.fill(Cell("E", self.style), self.columns)
        self.dirty.update(range(self.lines))
        self.place(0, 0)
