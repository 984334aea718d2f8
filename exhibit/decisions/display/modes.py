"""What a screen remembers besides its rows: style, character sets, a saved cursor, the other screen."""

from collections.abc import Callable
from typing import Any, NamedTuple

from exhibit.decisions.display import controls as table
from exhibit.decisions.display.editing import Editing, UnknownSequence
from exhibit.decisions.display.grid import Rows
from exhibit.decisions.display.rendition import style_after

PLAIN_SET, LINE_SET = "B", "0"

INSERTING, NEW_LINE = 4, 20
"""Insertion replacement mode and line feed/new line mode (ECMA-48, 5th ed., s.7.2.10; 4th ed.)."""
FROM_MARGIN, WRAPPING = 6 << 5, 7 << 5
"""Private modes, numbered as pyte keeps them: rows count from the top margin; the right edge wraps."""


class SavedCursor(NamedTuple):
    """What is saved with the cursor and restored with it."""

    row: int = 0
    column: int = 0
    style: int = 0
    sets: tuple[str, str] = (PLAIN_SET, PLAIN_SET)
    shifted: int = 0
    counts_from_margin: bool = False


class Modes(Editing):
    """The part of screen.Glass that remembers; pyte's `mode` is the set of modes that are on."""

    mode: set[int]
    charset: int
    dirty: set[int]
    buffer: Any
    set_margins: Callable[..., None]
    wraps_at_start: bool
    style: int
    sets: tuple[str, str]
    saved: SavedCursor
    bells: int
    aside: tuple[Rows, SavedCursor] | None
    """The main screen while the other one is showing."""

    def soft_reset(self) -> None:
        """Resets modes, margins, style, sets and the saved cursor, but neither the text nor the cursor."""
        self.margins = None
        self.style = 0
        self.sets = (PLAIN_SET, PLAIN_SET)
        self.charset = 0
        self.saved = SavedCursor()
        self.cursor.hidden = False
        for mode, on in ((INSERTING, False), (FROM_MARGIN, False), (WRAPPING, self.wraps_at_start)):
            self.switch(mode, on)
        self.repeatable = ""

    def switch(self, mode: int, on: bool) -> None:
        """Turns a mode on or off, and does nothing else."""
        (self.mode.add if on else self.mode.discard)(mode)

    def select_graphic_rendition(self, *attrs: int) -> None:
        self.style = style_after(self.style, attrs)

    def define_charset(self, code: str, mode: str) -> None:
        """Chooses the set for G0, if mode is "(", or for G1 (ECMA-35 s.14.3.2); unknown sets are plain."""
        chosen = LINE_SET if code == LINE_SET else PLAIN_SET
        self.sets = (chosen, self.sets[1]) if mode == "(" else (self.sets[0], chosen)

    def switch_modes(
        self, by_pyte: Callable[..., None], modes: tuple[int, ...], on: bool, private: bool = False
    ) -> None:
        """Lets pyte switch the modes that it handles, and switches screens. Raises UnknownSequence."""
        by_pytes, without_effect = table.PRIVATE_MODES if private else table.MODES
        unknown = False
        for number in modes:
            if number in by_pytes:
                by_pyte(number, private=private)
            elif private and number in table.SCREEN_MODES:
                self._switch_screen(number, on)
            else:
                unknown |= number not in without_effect
        if unknown:
            raise UnknownSequence

    def _switch_screen(self, number: int, on: bool) -> None:
        if number >= 1048 and on:
            self.save_cursor()
        if number != 1048:
            self._show_other_screen(on)
        if number >= 1048 and not on:
            self.restore_cursor()

    def _show_other_screen(self, on: bool) -> None:
        """Shows a second, blank screen in place of the main one, or the main one again."""
        if on and self.aside is None:
            self.aside = (self.buffer, self.saved)
            self.buffer, self.saved = Rows(self.lines), SavedCursor()
        elif not on and self.aside is not None:
            self.buffer, self.saved = self.aside
            self.aside = None
        self.dirty.update(range(self.lines))

    def save_cursor(self) -> None:
        self.saved = SavedCursor(
            self.cursor.y, self.cursor.x, self.style, self.sets, self.charset, FROM_MARGIN in self.mode
        )

    def restore_cursor(self) -> None:
        """Restores the saved cursor; without one, the cursor goes home and the style is plain."""
        self.cursor.y, self.cursor.x, self.style, self.sets, self.charset, from_margin = self.saved
        self.switch(FROM_MARGIN, from_margin)
        self.ensure_hbounds()
        self.ensure_vbounds()
