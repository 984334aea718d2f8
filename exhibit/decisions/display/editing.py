"""The operations of a terminal that pyte doesn't have.

A count of 0 means "not given" and counts as 1 (ECMA-48 s.5.4.2), as in pyte's own operations. No
operation does more work than the display has places, whatever its parameters are.
"""

from collections.abc import Callable
from typing import Any

from exhibit.facts.display import FormFeed


class UnknownSequence(Exception):
    """A sequence has no meaning on a screen. `Screen.apply` catches this and counts the sequence."""


class Editing:
    """The part of screen.Glass that pyte lacks. Names declared here without a value are pyte's.

    cursor.x can be `columns`: a character was put in the last column, and the next one wraps.
    """

    lines: int
    columns: int
    cursor: Any
    margins: Any
    tabstops: set[int]
    carriage_return: Callable[..., None]
    index: Callable[..., None]
    linefeed: Callable[..., None]
    tab: Callable[..., None]
    draw: Callable[..., None]
    cursor_position: Callable[..., None]
    ensure_hbounds: Callable[..., None]
    ensure_vbounds: Callable[..., None]
    erase_in_display: Callable[..., None]
    insert_lines: Callable[..., None]
    delete_lines: Callable[..., None]

    form_feed_does: FormFeed
    repeatable: str

    def region(self) -> tuple[int, int]:
        """The first and the last row that scroll."""
        return self.margins or (0, self.lines - 1)

    def settle(self) -> None:
        """Cancels a pending wrap."""
        self.cursor.x = min(self.cursor.x, self.columns - 1)

    def next_line(self) -> None:
        """NEL, which pyte takes for a line feed."""
        self.carriage_return()
        self.index()

    def form_feed(self) -> None:
        """FF, which pyte takes for a line feed: does what the display's settings say."""
        if self.form_feed_does == "line feed":
            self.linefeed()
        elif self.form_feed_does == "new sheet":
            self.erase_in_display(2)
            self.cursor_position()

    def rows_on(self, count: int = 0) -> None:
        """VPR, which pyte takes for a cursor down: a margin stops it only if rows count from there."""
        self.settle()
        self.cursor.y += count or 1
        self.ensure_vbounds()

    def tabs_on(self, count: int = 0) -> None:
        """CHT: to the next tab stops."""
        for _ in range(min(count or 1, self.columns)):
            self.tab()

    def tabs_back(self, count: int = 0) -> None:
        """CBT: to earlier tab stops; to the first column if there is none."""
        self.settle()
        for _ in range(min(count or 1, self.columns)):
            self.cursor.x = max((stop for stop in self.tabstops if stop < self.cursor.x), default=0)

    def scroll_up(self, count: int = 0) -> None:
        """SU: removes rows at the top of the region."""
        self._at_top_of_region(self.delete_lines, count)

    def scroll_down(self, count: int = 0, *more: int) -> None:
        """SD: inserts rows at the top of the region. With more parameters the sequence is about a mouse."""
        if more:
            raise UnknownSequence
        self._at_top_of_region(self.insert_lines, max(0, count))

    def _at_top_of_region(self, shift: Callable[..., None], count: int) -> None:
        place = self.cursor.y, self.cursor.x
        self.cursor.y = self.region()[0]
        shift(count)
        self.cursor.y, self.cursor.x = place

    def repeat(self, count: int = 0) -> None:
        """REP: repeats the last character. Beyond a full screen, only the cursor's final place matters."""
        full = self.lines * self.columns
        if count > full:
            count = full + (count - full) % self.columns
        if self.repeatable:
            self.draw(self.repeatable * (count or 1))
