"""A screen of rows and columns, driven by the items of wire.

pyte lies behind it, and this is the only module that knows: `Glass` is a pyte screen whose faults
are mended and whose drawing is fast for plain text. Which sequence does what stands in
`screen_controls`, how it is done in `screen_editing` and `grid`.
"""

from collections.abc import Iterable
from typing import Any

import pyte
from pyte import charsets

from exhibit.decisions.display import controls as table
from exhibit.decisions.display.editing import Params, UnknownSequence, count_of
from exhibit.decisions.display.grid import Grid
from exhibit.decisions.display.keeping import restore_to, snapshot_of
from exhibit.decisions.display.modes import (
    INSERTING,
    LINE_SET,
    NEW_LINE,
    PLAIN_SET,
    WRAPPING,
    Modes,
)
from exhibit.decisions.display.rendition import Cell, CursorPlace, Row, row_text
from exhibit.decisions.display.wire import Control, Csi, Escape, FlowGo, FlowStop, Item, Text
from exhibit.facts.display import FormFeed

_DRAWN = charsets.MAPS[LINE_SET]
LINE_DRAWING = _DRAWN[0x5F:0x7F]
"""All that the line drawing set has beside ASCII."""
SETS = {
    PLAIN_SET: charsets.LAT1_MAP,
    LINE_SET: charsets.LAT1_MAP[:0x60] + _DRAWN[0x60:0x68] + "\u2424" + _DRAWN[0x69:],
}
"""Plain and line drawing characters. pyte turns some figures and signs into arrows too; that is mended."""


class _Cells(dict[str, Cell]):
    """Character -> its cell in one style, made when first wanted."""

    def __init__(self, style: int) -> None:
        super().__init__()
        self._style = style

    def __missing__(self, character: str) -> Cell:
        cell = self[character] = Cell(character, self._style)
        return cell


class _Palette(dict[int, _Cells]):
    """Style -> its cells."""

    def __missing__(self, style: int) -> _Cells:
        cells = self[style] = _Cells(style)
        return cells


class Glass(Modes, pyte.Screen):
    """A pyte screen, mended: pyte's cursor, modes, tab stops and character sets, our own rows."""

    def __init__(self, rows: int, columns: int, wrap: bool, tab_columns: int, form_feed: FormFeed) -> None:
        self.wraps_at_start = wrap
        self.tab_columns = tab_columns
        self.form_feed_does: FormFeed = form_feed
        self.palette = _Palette()
        self.bells = 0
        super().__init__(columns, rows)
        self.reset()

    def reset(self) -> None:
        """To the state at switching on."""
        super().reset()
        self.grid = Grid(self.lines)
        self.aside = None
        step = self.tab_columns
        self.tabstops = set(range(step, self.columns, step)) if step else set()
        self.soft_reset()

    # Characters

    def draw(self, data: str) -> None:
        """Puts the characters at the cursor, as many at a time as fit the row."""
        text = data
        if (chosen := self.sets[self.charset]) != PLAIN_SET:
            text = data.translate(SETS[chosen])
        cells = self.palette[self.style].__getitem__
        cursor, columns, inserting = self.cursor, self.columns, INSERTING in self.mode
        column, start, end = cursor.x, 0, len(text)
        while start < end:
            if column >= columns:
                if WRAPPING in self.mode:
                    column = 0
                    self.index()
                else:  # all the rest is put in the last column, where the last one shows
                    column, start = columns - 1, end - 1
            stop = min(end, start + columns - column)
            if inserting:
                self.grid.insert_blanks(cursor.y, column, stop - start, columns)
            line = self.grid.to_change(cursor.y)
            line.update(enumerate(map(cells, text[start:stop]), column))
            self.dirty.add(cursor.y)
            column += stop - start
            start = stop
        cursor.x = column

    def repeat(self, params: Params) -> None:
        """The character before this sequence, again and again. Past a full screen only the place counts."""
        count = count_of(params)
        full = self.lines * self.columns
        if count > full:
            count = full + (count - full) % self.columns
        if self.repeatable:
            self.draw(self.repeatable * count)

    # Control codes

    def linefeed(self) -> None:
        self.index()
        if NEW_LINE in self.mode:
            self.cursor.x = 0

    def form_feed(self) -> None:
        if self.form_feed_does == "line feed":
            self.linefeed()
        elif self.form_feed_does == "new sheet":
            self.erase_display((2,))
            self.place(0, 0)

    def bell(self, *args: Any) -> None:
        self.bells += 1


class Screen:
    """What a visitor would see on the glass.

    It types nothing: no query from the machine is answered.

    first_row is 0 always: take_dirty() and rows() count alike (on paper they need not).
    unknown_sequences counts complete sequences without a meaning here; they change nothing.
    bells counts BEL.
    """

    first_row = 0

    def __init__(
        self,
        rows: int,
        columns: int,
        *,
        wrap: bool = True,
        tab_columns: int = 8,
        form_feed: FormFeed = "line feed",
    ) -> None:
        self._glass = Glass(rows, columns, wrap, tab_columns, form_feed)
        self.unknown_sequences = 0
        glass = self._glass
        self._controls = {code: getattr(glass, name) for code, name in table.CONTROLS.items()}
        self._escapes = {key: getattr(glass, name) for key, name in table.ESCAPES.items()}
        self._sequences = {key: getattr(glass, name) for key, name in table.SEQUENCES.items()}

    @property
    def bells(self) -> int:
        return self._glass.bells

    def apply(self, items: Iterable[Item]) -> None:
        """Lets the items act on the screen, in order. It never raises for what a machine sends."""
        glass = self._glass
        for item in items:
            if isinstance(item, Text):
                glass.draw(item.text)
                glass.repeatable = item.text[-1]
            elif not isinstance(item, FlowStop | FlowGo):
                try:
                    self._act(item)
                except Exception:  # what one sequence makes pyte raise must not cost the next one
                    self.unknown_sequences += 1
                glass.repeatable = ""

    def _act(self, item: Control | Csi | Escape) -> None:
        if isinstance(item, Control):
            if (act := self._controls.get(item.code)) is not None:
                act()
        elif isinstance(item, Csi):
            key = item.private + item.intermediates + item.final
            if (do := self._sequences.get(key)) is not None:
                do(item.params)
            elif key not in table.SEQUENCES_WITHOUT_EFFECT:
                raise UnknownSequence
        elif item.intermediates in ("(", ")"):
            self._glass.choose_set(item.intermediates, item.final)
        elif (act := self._escapes.get(item.intermediates + item.final)) is not None:
            act()
        elif item.intermediates + item.final not in table.ESCAPES_WITHOUT_EFFECT:
            raise UnknownSequence

    def rows(self) -> list[Row]:
        """All rows from the top. Unchanged rows are the same objects as last time."""
        return self._glass.grid.rows()

    def text_rows(self) -> list[str]:
        """All rows from the top as bare text, trailing blanks left out."""
        return [row_text(row).rstrip(" ") for row in self.rows()]

    @property
    def cursor(self) -> CursorPlace:
        """Where the cursor stands; past the last column it is reported in the last column."""
        cursor = self._glass.cursor
        return CursorPlace(cursor.y, min(cursor.x, self._glass.columns - 1), not cursor.hidden)

    def take_dirty(self) -> set[int]:
        """Row numbers (rows()[number - first_row]) that may have changed since the last call."""
        dirty, self._glass.dirty = self._glass.dirty, set()
        return dirty

    def snapshot(self) -> dict[str, Any]:
        """The whole state as plain JSON values: any further input acts as if there had been no break.

        What take_dirty() would give is not in it.
        """
        return snapshot_of(self._glass) | {"unknown_sequences": self.unknown_sequences}

    def restore(self, kept: dict[str, Any]) -> None:
        """Takes on a state that snapshot() of a screen of the same size gave; all rows are dirty then.

        Raises RecordingFault if the size is another.
        """
        restore_to(self._glass, kept)
        self.unknown_sequences = kept["unknown_sequences"]
