"""A printing terminal, on which nothing is ever erased. It has the same interface as a screen.

The paper only moves forward, but CR and BS move the carriage back over what was printed, and what is
struck then lies on top. The same character twice is bold, an underline with another character
underlines it, and anything else is overstruck: the last character shows, and all are kept.
"""

from collections.abc import Iterable
from functools import lru_cache
from typing import Any

from exhibit.decisions.display.rendition import BLANK, Cell, CursorPlace, Row, Style, row_of, row_text
from exhibit.decisions.display.wire import Control, Csi, Escape, Item, Text
from exhibit.facts.display import FormFeed
from exhibit.facts.errors import RecordingFault

_BEL, _BS, _HT, _LF, _VT, _FF, _CR = 0x07, 0x08, 0x09, 0x0A, 0x0B, 0x0C, 0x0D
_UNDERLINE = "_"

MOST_STRIKES = 8
"""How many characters to remember in one place. More than that is a blot, and the first ones are dropped."""


@lru_cache(maxsize=4096)
def _cell_of(struck: str) -> Cell:
    """What the characters struck in one place look like together."""
    inked = struck.replace(_UNDERLINE, "")
    if not struck:
        return BLANK
    if not inked:
        return Cell(_UNDERLINE, int(Style.BOLD) if len(struck) > 1 else 0)
    style = int(Style.UNDERLINE) if len(inked) < len(struck) else 0
    if len(set(inked)) > 1:
        style |= int(Style.OVERSTRUCK)
    elif len(inked) > 1:
        style |= int(Style.BOLD)
    return Cell(inked[-1], style)


class _PrintedRow:
    """struck[column] holds the characters struck there, in order; a blank leaves no ink."""

    def __init__(self, struck: list[str]) -> None:
        self.struck = struck
        self.shown: Row | None = None

    def strike(self, column: int, text: str) -> None:
        self.shown = None
        struck = self.struck
        if column >= len(struck):
            struck.extend([""] * (column - len(struck)))
            struck.extend("" if character == " " else character for character in text)
            return
        struck.extend([""] * (column + len(text) - len(struck)))
        for place, character in enumerate(text, column):
            if character != " ":
                struck[place] = (struck[place] + character)[-MOST_STRIKES:]

    def row(self) -> Row:
        if self.shown is None:
            self.shown = row_of([_cell_of(struck) for struck in self.struck])
        return self.shown


class Paper:
    """The last keep_rows rows of an endless sheet.

    Rows are numbered from the first ever printed; first_row is the number of rows()[0].
    sheet_starts() returns the numbers of the kept rows that begin a new sheet.
    Sequences have no meaning here: each is counted in unknown_sequences and does nothing.
    """

    def __init__(
        self,
        columns: int,
        *,
        keep_rows: int = 200,
        wrap: bool = True,
        tab_columns: int = 8,
        form_feed: FormFeed = "new sheet",
    ) -> None:
        self.columns = columns
        self.keep_rows = keep_rows
        self.wrap = wrap
        self.tab_columns = tab_columns
        self.form_feed: FormFeed = form_feed
        self.unknown_sequences = 0
        self.bells = 0
        self.first_row = 0
        self._rows = [_PrintedRow([])]
        self._column = 0
        self._sheets: list[int] = []
        self._dirty = {0}

    def apply(self, items: Iterable[Item]) -> None:
        """Prints the items, in order. It never raises for what a machine sends."""
        for item in items:
            if isinstance(item, Text):
                self._print(item.text)
            elif isinstance(item, Control):
                self._control(item.code)
            elif isinstance(item, Csi | Escape):
                self.unknown_sequences += 1

    def _print(self, text: str) -> None:
        start, end = 0, len(text)
        while start < end:
            if self._column >= self.columns:
                if self.wrap:
                    self._next_row()
                    self._column = 0
                else:  # the carriage is at its right stop, so each character is struck over the one before
                    self._column = self.columns - 1
            stop = min(end, start + self.columns - self._column)
            self._rows[-1].strike(self._column, text[start:stop])
            self._dirty.add(self._last_number)
            self._column += stop - start
            start = stop

    def _control(self, code: int) -> None:
        if code == _CR:
            self._column = 0
        elif code in (_LF, _VT) or (code == _FF and self.form_feed == "line feed"):
            self._next_row()
        elif code == _BS:
            self._column = max(0, self._column - (1 if self.wrap else self._steps_back()))
        elif code == _HT and self.tab_columns and self._column < self.columns:
            next_stop = (self._column // self.tab_columns + 1) * self.tab_columns
            self._column = min(next_stop, self.columns - 1)
        elif code == _FF and self.form_feed == "new sheet":
            self._new_sheet()
        elif code == _BEL:
            self.bells += 1

    def _steps_back(self) -> int:
        """How far BS moves back: a carriage stopped at the right is on the last column, not past it."""
        return 2 if self._column >= self.columns else 1

    @property
    def _last_number(self) -> int:
        return self.first_row + len(self._rows) - 1

    def _next_row(self) -> None:
        self._column = min(self._column, self.columns - 1)
        self._rows.append(_PrintedRow([]))
        self._dirty.add(self._last_number)
        if len(self._rows) > self.keep_rows:
            del self._rows[0]
            self._dirty.discard(self.first_row)
            self.first_row += 1
            if self._sheets and self._sheets[0] < self.first_row:
                del self._sheets[0]

    def _new_sheet(self) -> None:
        """Goes to the top of the next sheet, unless this one is still blank."""
        number = self._last_number
        is_fresh = not self._rows[-1].struck and (number == 0 or number in self._sheets[-1:])
        if not is_fresh:
            self._next_row()
            number = self._last_number
        if number not in self._sheets[-1:]:
            self._sheets.append(number)

    def rows(self) -> list[Row]:
        """The kept rows, oldest first. Unchanged rows are the same objects as last time."""
        return [row.row() for row in self._rows]

    def text_rows(self) -> list[str]:
        """The kept rows as bare text; of characters struck over each other, the last one."""
        return [row_text(row).rstrip(" ") for row in self.rows()]

    def overstrikes(self, number: int) -> dict[int, str]:
        """Column -> all characters struck there, in order, for columns with more than one."""
        struck = self._rows[number - self.first_row].struck
        return {column: characters for column, characters in enumerate(struck) if len(characters) > 1}

    def sheet_starts(self) -> list[int]:
        """Numbers of the kept rows that begin a new sheet."""
        return list(self._sheets)

    @property
    def cursor(self) -> CursorPlace:
        """Where the next character will be struck; past the last column, that column is reported."""
        return CursorPlace(len(self._rows) - 1, min(self._column, self.columns - 1), True)

    def take_dirty(self) -> set[int]:
        """Row numbers (rows()[number - first_row]) that changed since the last call."""
        dirty, self._dirty = self._dirty, set()
        return dirty

    def snapshot(self) -> dict[str, Any]:
        """The whole state as plain JSON values: further input has the same effect after restore().

        What take_dirty() would return is not part of it.
        """
        return {
            "columns": self.columns,
            "first_row": self.first_row,
            "rows": [
                ["".join(struck[-1:] or " " for struck in row.struck), self._kept_overstrikes(row)]
                for row in self._rows
            ],
            "column": self._column,
            "sheets": list(self._sheets),
            "unknown_sequences": self.unknown_sequences,
            "bells": self.bells,
        }

    def _kept_overstrikes(self, row: _PrintedRow) -> dict[str, str]:
        return {str(place): struck for place, struck in enumerate(row.struck) if len(struck) > 1}

    def restore(self, kept: dict[str, Any]) -> None:
        """Takes on the state of a snapshot() of paper of the same width, after which all rows are dirty.

        Raises RecordingFault if the widths differ.
        """
        if kept["columns"] != self.columns:
            raise RecordingFault(
                f"A keyframe holds paper of {kept['columns']} columns, and this paper has {self.columns}.",
                "So the recording can't be shown from there.",
                "Delete the folder of keyframes; it is made again from the recording.",
            )
        self._rows = []
        for text, overstrikes in kept["rows"]:
            struck = ["" if character == " " else character for character in text]
            for place, characters in overstrikes.items():
                struck[int(place)] = characters
            self._rows.append(_PrintedRow(struck))
        self.first_row = kept["first_row"]
        self._column = kept["column"]
        self._sheets = list(kept["sheets"])
        self.unknown_sequences = kept["unknown_sequences"]
        self.bells = kept["bells"]
        self._dirty = set(range(self.first_row, self.first_row + len(self._rows)))
