"""A screen of rows and columns, driven by the items of `wire`.

It is built on pyte, which no other module imports: `Glass` is a pyte screen with some operations corrected or
made faster. `controls` says why for each of them, and which sequence calls which operation; `editing` has the
operations that pyte lacks.
"""

from collections.abc import Iterable
from functools import cache, lru_cache, partial
from typing import Any

import pyte
from pyte import charsets

from exhibit.decisions.display import controls as table
from exhibit.decisions.display.editing import UnknownSequence
from exhibit.decisions.display.grid import Cells, Rows
from exhibit.decisions.display.keeping import restore_to, snapshot_of
from exhibit.decisions.display.modes import FROM_MARGIN, INSERTING, LINE_SET, WRAPPING, Modes
from exhibit.decisions.display.rendition import BLANK, Cell, CursorPlace, Row, row_text
from exhibit.decisions.display.wire import Control, Csi, Escape, FlowGo, FlowStop, Item, Text
from exhibit.facts.display import FormFeed

_DRAWN = charsets.MAPS[LINE_SET]
LINE_DRAWING = _DRAWN[0x60:0x68] + "\u2424" + _DRAWN[0x69:0x7F]
"""What the line drawing set has besides ASCII: pyte's characters, with the symbol for a new line."""
_DRAWING = dict(zip(range(0x60, 0x7F), LINE_DRAWING, strict=True))

_cells = cache(Cells)


class Glass(Modes, pyte.Screen):
    """A corrected pyte screen. `controls.REASONS` says why each operation here or in Modes is overridden.

    Erased places are plain, because a console has no background colour to fill them with. So our style is
    separate from pyte's cursor.attrs, which never change.
    """

    buffer: Rows  # type: ignore[assignment]

    def __init__(self, rows: int, columns: int, wrap: bool, tab_columns: int, form_feed: FormFeed) -> None:
        self.wraps_at_start = wrap
        self.tab_columns = tab_columns
        self.form_feed_does = form_feed
        self.bells = 0
        super().__init__(columns, rows)
        self.reset()

    @property
    def default_char(self) -> Any:
        return BLANK

    def reset(self) -> None:
        """Returns to the state at power-on."""
        super().reset()
        self.cursor.attrs = self.default_char
        self.buffer = Rows(self.lines)
        self.aside = None
        step = self.tab_columns
        self.tabstops = set(range(step, self.columns, step)) if step else set()
        self.soft_reset()

    def draw(self, data: str) -> None:
        """Puts the characters at the cursor, as many at a time as fit in the row."""
        text = data.translate(_DRAWING) if self.sets[self.charset] == LINE_SET else data
        cells = _cells(self.style).__getitem__
        cursor, columns, inserting = self.cursor, self.columns, INSERTING in self.mode
        column, start, end = cursor.x, 0, len(text)
        if column + end <= columns and not inserting:  # nearly always
            if end == 1:  # nearly all that a slow line brings
                self.buffer[cursor.y][column] = cells(text)
            else:
                self.buffer[cursor.y].update(enumerate(map(cells, text), column))
            self.dirty.add(cursor.y)
            cursor.x = column + end
            return
        while start < end:
            if column >= columns:
                if WRAPPING in self.mode:
                    column = 0
                    self.index()
                else:  # all the rest would go into the last column, so only the last character shows
                    column, start = columns - 1, end - 1
            stop = min(end, start + columns - column)
            if inserting:
                cursor.x = column
                self.insert_characters(stop - start)
            self.buffer[cursor.y].update(enumerate(map(cells, text[start:stop]), column))
            self.dirty.add(cursor.y)
            column += stop - start
            start = stop
        cursor.x = column

    def bell(self, *args: Any) -> None:
        self.bells += 1

    # Moving

    def index(self) -> None:
        self.settle()
        top, bottom = self.region()
        if self.cursor.y == bottom:
            self.buffer.scroll_up(top, bottom)
            self.dirty.update(range(top, bottom + 1))
        elif self.cursor.y < self.lines - 1:
            self.cursor.y += 1

    def reverse_index(self) -> None:
        self.settle()
        super().reverse_index()

    def cursor_up(self, count: int | None = None) -> None:
        self.settle()
        if self.cursor.y < self.region()[0]:
            self.cursor.y = max(self.cursor.y - (count or 1), 0)
        else:
            super().cursor_up(count)

    def cursor_down(self, count: int | None = None) -> None:
        self.settle()
        if self.cursor.y > self.region()[1]:
            self.cursor.y = min(self.cursor.y + (count or 1), self.lines - 1)
        else:
            super().cursor_down(count)

    def cursor_position(self, line: int | None = None, column: int | None = None) -> None:
        top, bottom = self.region() if FROM_MARGIN in self.mode else (0, self.lines - 1)
        self.cursor.y = min(top + (line or 1) - 1, bottom)
        self.cursor.x = min((column or 1), self.columns) - 1

    def cursor_to_line(self, line: int | None = None) -> None:
        self.cursor_position(line, self.cursor.x + 1)

    def tab(self) -> None:
        if self.cursor.x < self.columns:
            super().tab()
            self.settle()  # pyte can go to a stop beyond the last column, set while a wrap was pending

    # Shifting and erasing

    def insert_lines(self, count: int | None = None) -> None:
        self.settle()
        super().insert_lines(count)

    def delete_lines(self, count: int | None = None) -> None:
        self.settle()
        super().delete_lines(count)

    def insert_characters(self, count: int | None = None) -> None:
        self.settle()
        super().insert_characters(count)
        self.buffer[self.cursor.y].pop(self.columns, None)

    def delete_characters(self, count: int | None = None) -> None:
        self.settle()
        super().delete_characters(count)

    def erase_characters(self, count: int | None = None) -> None:
        self.settle()
        super().erase_characters(count)

    def erase_in_display(self, how: int = 0, *args: Any, **kwargs: Any) -> None:
        if how == 3:  # erases rows that have scrolled away, and we keep none
            return
        row = self.cursor.y
        for number in (range(row + 1, self.lines), range(row), range(self.lines))[how]:
            self.buffer.pop(number)
        super().erase_in_display(how)

    def alignment_display(self) -> None:
        """Fills the screen with E in the current style, and goes home."""
        for number in range(self.lines):
            self.buffer[number].update(dict.fromkeys(range(self.columns), Cell("E", self.style)))
        self.dirty.update(range(self.lines))
        self.cursor_position()

    # Margins and modes

    def set_margins(self, top: int | None = None, bottom: int | None = None) -> None:
        super().set_margins(top or 1, bottom or self.lines)

    def set_mode(self, *modes: int, **kwargs: Any) -> None:
        self.switch_modes(super().set_mode, modes, True, **kwargs)

    def reset_mode(self, *modes: int, **kwargs: Any) -> None:
        self.switch_modes(super().reset_mode, modes, False, **kwargs)


@lru_cache(maxsize=4096)
def _operation(item: Csi) -> tuple[str, tuple[int, ...]] | None:
    """A sequence's key in table.SEQUENCES and its operation's arguments; None if it has no effect.

    Raises UnknownSequence.
    """
    key = item.private + item.intermediates + item.final
    if key not in table.SEQUENCES:
        if key in table.SEQUENCES_WITHOUT_EFFECT:
            return None
        raise UnknownSequence
    takes = table.SEQUENCES[key][1]
    if isinstance(takes, tuple):
        if item.params[0] not in takes:
            raise UnknownSequence
        return key, item.params[:1]
    if takes == "list":
        return key, item.params
    count = {"nothing": 0, "count": 1, "place": 2}[takes]
    return key, tuple(max(0, param) for param in item.params[:count])


class Screen:
    """What a visitor would see on the glass.

    It types nothing: no query from the machine is answered.

    first_row is always 0, so take_dirty() and rows() count alike (on paper they may not).
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
        self._sequences = {
            key: partial(getattr(glass, name), private=True) if key[0] == "?" else getattr(glass, name)
            for key, (name, _) in table.SEQUENCES.items()
        }

    @property
    def bells(self) -> int:
        return self._glass.bells

    def apply(self, items: Iterable[Item]) -> None:
        """Applies the items to the screen, in order. Never raises, whatever a machine sends."""
        glass, controls = self._glass, self._controls
        for item in items:
            if type(item) is Text:
                glass.draw(item.text)
                glass.repeatable = item.text[-1]
            elif type(item) is not FlowStop and type(item) is not FlowGo:
                try:
                    if type(item) is not Control:
                        self._act(item)
                    elif (act := controls.get(item.code)) is not None:
                        act()
                except Exception:  # what one sequence makes pyte raise must not cost the next one
                    self.unknown_sequences += 1
                glass.repeatable = ""

    def _act(self, item: Csi | Escape) -> None:
        if type(item) is Csi:
            if (found := _operation(item)) is not None:
                key, arguments = found
                self._sequences[key](*arguments)
        elif item.intermediates in ("(", ")"):
            self._glass.define_charset(item.final, item.intermediates)
        elif (act := self._escapes.get(item.intermediates + item.final)) is not None:
            act()
        elif item.intermediates + item.final not in table.ESCAPES_WITHOUT_EFFECT:
            raise UnknownSequence

    def rows(self) -> list[Row]:
        """All rows from the top. Unchanged rows are the same objects as last time."""
        return self._glass.buffer.rows()

    def text_rows(self) -> list[str]:
        """All rows from the top as bare text, without trailing blanks."""
        return [row_text(row).rstrip(" ") for row in self.rows()]

    @property
    def cursor(self) -> CursorPlace:
        """Where the cursor is; past the last column, that column is reported."""
        cursor = self._glass.cursor
        return CursorPlace(cursor.y, min(cursor.x, self._glass.columns - 1), not cursor.hidden)

    def take_dirty(self) -> set[int]:
        """Row numbers (rows()[number - first_row]) that may have changed since the last call."""
        dirty, self._glass.dirty = self._glass.dirty, set()
        return dirty

    def snapshot(self) -> dict[str, Any]:
        """The whole state as plain JSON values: further input has the same effect after restore().

        What take_dirty() would return is not part of it.
        """
        return snapshot_of(self._glass) | {"unknown_sequences": self.unknown_sequences}

    def restore(self, kept: dict[str, Any]) -> None:
        """Takes on the state of a snapshot() of a screen of the same size, after which all rows are dirty.

        Raises RecordingFault if the sizes differ.
        """
        restore_to(self._glass, kept)
        self.unknown_sequences = kept["unknown_sequences"]
