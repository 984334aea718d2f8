"""What a screen remembers beside its rows: modes, margins, style, character sets, a saved cursor."""

from typing import NamedTuple

from exhibit.decisions.display import controls as table
from exhibit.decisions.display.editing import Editing, Params, UnknownSequence, count_of
from exhibit.decisions.display.grid import Grid
from exhibit.decisions.display.rendition import style_after

PLAIN_SET, LINE_SET = "B", "0"

INSERTING, NEW_LINE = 4, 20
"""Insertion replacement mode and line feed/new line mode (ECMA-48, 5th ed., s.7.2.10; 4th ed.)."""
FROM_MARGIN, WRAPPING = 6 << 5, 7 << 5
"""Private modes, numbered as pyte keeps them: rows count from the top margin; the right edge wraps."""


class SavedCursor(NamedTuple):
    """What is kept when the cursor is saved, and taken up again when it is restored."""

    row: int = 0
    column: int = 0
    style: int = 0
    sets: tuple[str, str] = (PLAIN_SET, PLAIN_SET)
    shifted: int = 0
    counts_from_margin: bool = False


class Modes(Editing):
    """The remembering half of screen.Glass; `mode` is the set of modes that are on."""

    mode: set[int]
    charset: int
    wraps_at_start: bool
    sets: tuple[str, str]
    saved: SavedCursor
    bells: int
    repeatable: str
    aside: tuple[Grid, SavedCursor] | None
    """The main screen while the other one shows."""

    def soft_reset(self, params: Params = ()) -> None:
        """Modes, margins, style, sets and the saved cursor; what is shown stays, and the cursor too."""
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
        (self.mode.add if on else self.mode.discard)(mode)

    @property
    def counts_from_margin(self) -> bool:
        return FROM_MARGIN in self.mode

    def choose_style(self, params: Params) -> None:
        self.style = style_after(self.style, params)

    def choose_set(self, which: str, final: str) -> None:
        """( or ) and a final byte choose G0 or G1 (ECMA-35 s.14.3.2); unknown sets are plain."""
        chosen = LINE_SET if final == LINE_SET else PLAIN_SET
        self.sets = (chosen, self.sets[1]) if which == "(" else (self.sets[0], chosen)

    def choose_margins(self, params: Params) -> None:
        """The rows that scroll, from 1; both not given, or too far down: to the last row."""
        top = count_of(params)
        bottom = params[1] if len(params) > 1 and 0 < params[1] <= self.lines else self.lines
        if top < bottom:
            self.margins = (top - 1, bottom - 1)
            self.place(0, 0)

    def set_modes(self, params: Params) -> None:
        self._switch_all(params, True, private=False)

    def reset_modes(self, params: Params) -> None:
        self._switch_all(params, False, private=False)

    def set_private_modes(self, params: Params) -> None:
        self._switch_all(params, True, private=True)

    def reset_private_modes(self, params: Params) -> None:
        self._switch_all(params, False, private=True)

    def _switch_all(self, params: Params, on: bool, private: bool) -> None:
        unknown = False
        for number in params:
            if private:
                unknown |= not self._switch_private(number, on)
            elif number in (INSERTING, NEW_LINE):
                self.switch(number, on)
            else:
                unknown |= number not in table.MODES_WITHOUT_EFFECT
        if unknown:
            raise UnknownSequence

    def _switch_private(self, number: int, on: bool) -> bool:
        """False if there is no such mode."""
        if number == 6:
            self.switch(FROM_MARGIN, on)
            self.place(0, 0)
        elif number == 7:
            self.switch(WRAPPING, on)
        elif number == 25:
            self.cursor.hidden = not on
        elif number in (47, 1047, 1048, 1049):
            if number >= 1048 and on:
                self.save_cursor()
            if number != 1048:
                self.show_other_screen(on)
            if number >= 1048 and not on:
                self.restore_cursor()
        else:
            return number in table.PRIVATE_MODES_WITHOUT_EFFECT
        return True

    def show_other_screen(self, on: bool) -> None:
        """A second, blank screen in place of the main one, or back to what that one showed."""
        if on and self.aside is None:
            self.aside = (self.grid, self.saved)
            self.grid, self.saved = Grid(self.lines), SavedCursor()
        elif not on and self.aside is not None:
            self.grid, self.saved = self.aside
            self.aside = None
        self.dirty.update(range(self.lines))

    def save_cursor(self, params: Params = ()) -> None:
        self.saved = SavedCursor(
            self.cursor.y, self.cursor.x, self.style, self.sets, self.charset, self.counts_from_margin
        )

    def restore_cursor(self, params: Params = ()) -> None:
        """Without a saved one: home and plain."""
        row, column, self.style, self.sets, self.charset, from_margin = self.saved
        self.switch(FROM_MARGIN, from_margin)
        first = self.region()[0] if from_margin else 0
        self.place(row - first, column)
