"""The line that is being printed, as a person reads it: overwritten, rubbed out, never wrapped."""

from __future__ import annotations

from exhibit.decisions.pattern import MOST_COLUMNS
from exhibit.decisions.wire import Control, Csi, Item, Text

_BS, _LF, _VT, _FF, _CR = 8, 10, 11, 12, 13
_MOVES_ELSEWHERE = frozenset("ABEFHJLMSTdfr")
"""Control sequences after which what comes is no longer the line that stood before (ECMA-48 8.3)."""


class PrintedLine:
    """Builds lines from items. Wrapping at the right edge doesn't end a line; a new line does."""

    def __init__(self) -> None:
        self.text = ""
        self.column = 0

    def take(self, item: Item) -> str | None:
        """Lets the item act. Returns the line that it ended, if it ended one.

        A sequence that moves to another place of the screen throws the line away: what is painted
        on a screen isn't a line that was printed.
        """
        if isinstance(item, Text):
            self._write(item.text)
        elif isinstance(item, Control):
            if item.code in (_LF, _VT, _FF):
                ended, self.text = self.text, ""
                # Without a RETURN the next line starts under the end of this one (ECMA-48 8.3.74);
                # for reading it starts at its beginning.
                self.column = 0
                return ended
            if item.code == _CR:
                self.column = 0
            elif item.code == _BS:
                self.column = max(0, self.column - 1)
        elif isinstance(item, Csi) and not item.private:
            self._take_sequence(item)
        return None

    def _write(self, text: str) -> None:
        text = text[: max(0, MOST_COLUMNS - self.column)]
        if self.column == len(self.text):
            self.text += text
        else:
            padded = self.text.ljust(self.column)
            self.text = padded[: self.column] + text + padded[self.column + len(text) :]
        self.column += len(text)

    def _take_sequence(self, item: Csi) -> None:
        count = max(1, item.params[0]) if item.params else 1
        if item.final == "C":
            self.column = min(MOST_COLUMNS, self.column + count)
        elif item.final == "D":
            self.column = max(0, self.column - count)
        elif item.final == "G":
            self.column = min(MOST_COLUMNS, count - 1)
        elif item.final == "K" and (not item.params or item.params[0] == 0):
            self.text = self.text[: self.column]
        elif item.final in _MOVES_ELSEWHERE:
            self.clear()

    def clear(self) -> None:
        """Forgets the line."""
        self.text = ""
        self.column = 0
