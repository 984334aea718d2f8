"""The line being printed, as a person reads it: with overwriting and rubbing out, but never wrapped."""

from __future__ import annotations

from collections.abc import Iterable

from exhibit.decisions.display.wire import Control, Csi, Item, Text
from exhibit.decisions.machine.pattern import MOST_COLUMNS

_BS, _HT, _LF, _VT, _FF, _CR = 8, 9, 10, 11, 12, 13
_MOVES_ELSEWHERE = frozenset("ABEFHJLMSTdfr")
"""Control sequences after which the printed line doesn't continue (ECMA-48 8.3)."""
_MOVES_ALONG = frozenset("CDGK")
"""Control sequences that move along the printed line, or erase in it."""
_MOVES = _MOVES_ELSEWHERE | _MOVES_ALONG
_LEAVES_INK = frozenset(" _")
"""Characters that leave readable what they are struck over on paper."""


def moves_elsewhere(item: Item) -> bool:
    """Whether this sequence moves to another place on the screen, where text isn't part of a printed line."""
    return isinstance(item, Csi) and not item.private and item.final in _MOVES_ELSEWHERE


class PrintedLine:
    """Builds lines from items. Wrapping at the right edge doesn't end a line; a new line does.

    Only the first MOST_COLUMNS of a line are kept. On paper, a blank or an underline hides nothing.
    """

    def __init__(self, tab_columns: int = 8, *, paper: bool = False) -> None:
        self._tab_columns = tab_columns
        self._paper = paper
        self.text = ""
        self.column = 0

    def take(self, item: Item) -> str | None:
        """Takes the next item. Returns the line that it ended, if it ended one.

        A sequence that moves to another place on the screen discards the line.
        """
        if type(item) is Text:
            self._write(item.text)
        elif type(item) is Control:
            return self._control(item.code)
        elif type(item) is Csi and not item.private:
            if item.final in _MOVES_ELSEWHERE:
                self.text, self.column = "", 0
            elif item.final in _MOVES_ALONG:
                self._take_sequence(item)
        return None

    def take_all(self, items: Iterable[Item]) -> list[str]:
        """Takes these items. Returns the lines that they ended, in order."""
        ended = []
        for item in items:
            if type(item) is Text and self.column == len(self.text) < MOST_COLUMNS - len(item.text):
                self.text += item.text
                self.column += len(item.text)
            elif type(item) is Csi and item.final not in _MOVES:
                continue  # many of them only change how text looks
            elif (line := self.take(item)) is not None:
                ended.append(line)
        return ended

    def clear(self) -> None:
        """Discards the line."""
        self.text = ""
        self.column = 0

    def _write(self, text: str) -> None:
        if self.column + len(text) > MOST_COLUMNS:
            text = text[: max(0, MOST_COLUMNS - self.column)]
        if self.column == len(self.text):
            self.text += text
        else:
            line = self.text.ljust(self.column)
            under = line[self.column : self.column + len(text)]
            struck = self._struck(under, text) if self._paper else text
            self.text = line[: self.column] + struck + line[self.column + len(text) :]
        self.column += len(text)

    def _struck(self, under: str, text: str) -> str:
        beyond = text[len(under) :]
        return (
            "".join(old if new in _LEAVES_INK else new for old, new in zip(under, text, strict=False))
            + beyond
        )

    def _control(self, code: int) -> str | None:
        if code in (_LF, _VT, _FF):
            ended = self.text
            # Without a RETURN the next line starts below the end of this one (ECMA-48 8.3.74). A person
            # reads it as starting at the left all the same.
            self.clear()
            return ended
        if code == _CR:
            self.column = 0
        elif code == _BS:
            self.column = max(0, self.column - 1)
        elif code == _HT and self._tab_columns:
            step = self._tab_columns
            self.column = min(MOST_COLUMNS, (self.column // step + 1) * step)
        return None

    def _take_sequence(self, item: Csi) -> None:
        first = max(0, item.params[0])
        count = max(1, first)
        if item.final == "C":
            self.column = min(MOST_COLUMNS, self.column + count)
        elif item.final == "D":
            self.column = max(0, self.column - count)
        elif item.final == "G":
            self.column = min(MOST_COLUMNS, count - 1)
        elif item.final == "K":
            self._erase(first)

    def _erase(self, what: int) -> None:
        """Erases to the end of the line (0), from its beginning (1), or all of it (2): ECMA-48 8.3.41."""
        if what == 0:
            self.text = self.text[: self.column]
        elif what == 1:
            erased = min(self.column + 1, len(self.text))
            self.text = " " * erased + self.text[erased:]
        elif what == 2:
            self.text = ""
