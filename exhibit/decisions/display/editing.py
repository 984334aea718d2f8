"""What terminals do and pyte doesn't: the operations that pyte has no name for.

A count of 0 means "not given" and is one (ECMA-48 s.5.4.2), as in pyte's own operations. No
operation does more work than the display has places, whatever its parameters say.
"""

from collections.abc import Callable
from typing import Any

from exhibit.facts.display import FormFeed


class UnknownSequence(Exception):
    """What has no meaning on a screen. It is caught and counted where sequences are handed out."""


class Editing:
    """The part of screen.Glass that pyte lacks. What is declared here without a value is pyte's.

    cursor.x may be `columns`: a character was put in the last column, and the next one wraps.
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
        """First and last row that scroll."""
        return self.margins or (0, self.lines - 1)

    def settle(self) -> None:
        """Gives up a wrap that was waiting."""
        self.cursor.x = min(self.cursor.x, self.columns - 1)

    def next_line(self) -> None:
        """NEL, which pyte takes for a line feed."""
        self.carriage_return()
        self.index()

    def form_feed(self) -> None:
        """FF, which pyte takes for a line feed, as the display's settings say."""
        if self.form_feed_does == "line feed":
            self.linefeed()
        elif self.form_feed_does == "new sheet":
            self.erase_in_display(2)
            self.cursor_position()

    def rows_on(self, count: int = 0) -> None:
        """VPR, which pyte takes for a cursor down: no margin stops it unless rows count from there."""
        self.settle()
        self.cursor.y += count or 1
        self.ensure_vbounds()

    def tabs_on(self, count: int = 0) -> None:
        """CHT."""
        for _ in range(min(count or 1, self.columns)):
            self.tab()

    def tabs_back(self, count: int = 0) -> None:
        """CBT: to the first column where there is no stop."""
        self.settle()
        for _ in range(min(count or 1, self.columns)):
            self.cursor.x = max((stop for stop in self.tabstops if stop < self.cursor.x), default=0)

    def scroll_up(self, count: int = 0) -> None:
        """SU: rows go at the top of the region."""
        self._at_top_of_region(self.delete_lines, count)

    def scroll_down(self, count: int = 0, *more: int) -> None:
        """SD: rows come in at the top of the region. With more parameters it is about a mouse."""
        if more:
            raise UnknownSequence
        self._at_top_of_region(self.insert_lines, max(0, count))

    def _at_top_of_region(self, shift: Callable[..., None], count: int) -> None:
        place = self.cursor.y, self.cursor.x
        self.cursor.y = self.region()[0]
        shift(count)
        self.cursor.y, self.cursor.x = place

    def repeat(self, count: int = 0) -> None:
        """REP: the character before, again and again. Past a full screen only the place counts."""
        full = self.lines * self.columns
        if count > full:
            count = full + (count - full) % self.columns
        if self.repeatable:
            self.draw(self.repeatable * (count or 1))
