"""The console as a page mirrors it: rows by number, each with the fact at which it last changed.

It is cheap to fold and pays for rows only when a page asks: what the display marks as changed is
taken at the first question after the change, and bears the number of the fact reached by then. A
page that has everything up to an earlier fact therefore gets the row, and no other page needs it.
"""

from __future__ import annotations

from collections import deque
from itertools import islice
from typing import Any

import msgspec

from exhibit.decisions.console.printed import PrintedLine
from exhibit.decisions.display.choice import AnyDisplay, display_for
from exhibit.decisions.display.paper import Paper
from exhibit.decisions.display.rendition import Row, Style, style_names
from exhibit.decisions.display.wire import Wire
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import CarriedOver, RecordingOpened, to_bytes

LINES_KEPT = 200
CHARACTERS_KEPT = 8_000
"""Printed lines of a screen to which a visitor can scroll back: bounded, for each new page gets them all."""


LINES_LOOKED_AT = 8
"""So many printed lines may have come behind the one that is looked for: it was recognised at once."""


class Place(msgspec.Struct, frozen=True):
    """Where on the console a line stands: its number among those printed, or its row; from 1, or 0."""

    number: int = 0
    row: int = 0
    line: str = ""


NOWHERE = Place()


def squeezed(line: str) -> str:
    """The line with one blank for several, and none at its ends, as patterns see it."""
    return " ".join(line.split())


class ConsoleView:
    """What stands on the machine's display."""

    def __init__(self, opened: RecordingOpened, seq: int) -> None:
        self._wire = Wire(opened.eighth_bit, parity=opened.parity)
        self._display: AnyDisplay = display_for(opened.display)
        self._rows_sent: dict[int, tuple[int, list[Any]]] = {}
        self._cursor: list[Any] = []
        self._cursor_seq = seq
        self._sheet: dict[str, Any] = {}
        self._sheet_seq = seq
        self._begun_seq = seq
        self._is_paper = opened.display.kind == "paper"
        self._line = PrintedLine(opened.display.tab_columns)
        self._number = 0
        self._kept_characters = 0
        self._printed: deque[tuple[int, int, str]] = deque()
        """Whole lines: the fact that brought each, its number, its text."""

    def receive(self, text: str, seq: int) -> None:
        """The machine sent these bytes (as fact `seq` writes them)."""
        items = self._wire.feed(to_bytes(text))
        self._display.apply(items)
        if self._is_paper:
            return  # its rows are what was printed
        for item in items:
            line = self._line.take(item)
            if line is not None and line.strip():
                self._keep(seq, line.rstrip())

    def _keep(self, seq: int, line: str) -> None:
        self._number += 1
        self._printed.append((seq, self._number, line))
        self._kept_characters += len(line)
        while len(self._printed) > LINES_KEPT or self._kept_characters > CHARACTERS_KEPT:
            self._kept_characters -= len(self._printed.popleft()[2])

    def place_of(self, line: str) -> Place:
        """Where this line, which has just been printed or stands at the end, is on the console."""
        wanted = squeezed(line)
        if not wanted:
            return NOWHERE
        if not self._is_paper:
            for number, text in [(self._number + 1, self._line.text), *self._last_printed()]:
                if squeezed(text) == wanted:
                    return Place(number=number, line=wanted)
        rows = self._display.text_rows()
        here = self._display.cursor.row
        for index in (*range(here, -1, -1), *range(here + 1, len(rows))):
            if squeezed(rows[index]) == wanted:
                return Place(row=index + self._display.first_row + 1, line=wanted)
        return NOWHERE

    def place_of_row(self, number: int) -> Place:
        """What stands on this row of the display, from 1."""
        rows = self._display.text_rows()
        if not 1 <= number <= len(rows):
            return NOWHERE
        return Place(row=number + self._display.first_row, line=squeezed(rows[number - 1]))

    def _last_printed(self) -> list[tuple[int, str]]:
        last = islice(reversed(self._printed), LINES_LOOKED_AT)
        return [(number, text) for _, number, text in last]

    def text_rows(self) -> list[str]:
        """The rows as bare text, from the top."""
        return self._display.text_rows()

    def batch(self, after_seq: int, seq: int) -> dict[str, Any]:
        """What changed after fact `after_seq`; `seq` is the fact reached by now."""
        self._take_changes(seq)
        changed: dict[str, Any] = {}
        rows = {number: row for number, (at, row) in self._rows_sent.items() if at > after_seq}
        if rows:
            changed["rows"] = rows
        if self._cursor_seq > after_seq:
            changed["cursor"] = self._cursor
        if self._sheet_seq > after_seq:
            changed |= self._sheet
        printed = [[number, text] for at, number, text in self._printed if at > after_seq]
        if printed:
            changed["printed"] = printed
        return changed

    def snapshot(self) -> dict[str, Any]:
        """As plain JSON values."""
        printed = [[number, text] for _, number, text in self._printed]
        line = {"text": self._line.text, "column": self._line.column}
        shown = {"wire": self._wire.snapshot(), "display": self._display.snapshot()}
        return {**shown, "printed": printed, "line": line}

    def restore(self, kept: dict[str, Any], seq: int) -> None:
        """Go on from a snapshot taken at fact `seq`, of a console of the same recording."""
        self._wire.restore(kept["wire"])
        self._display.restore(kept["display"])
        self._rows_sent.clear()
        self._cursor, self._sheet = [], {}
        self._begun_seq = seq
        self._printed = deque((seq, number, text) for number, text in kept["printed"])
        self._kept_characters = sum(len(text) for _, _, text in self._printed)
        self._number = self._printed[-1][1] if self._printed else 0
        self._line.text, self._line.column = kept["line"]["text"], kept["line"]["column"]

    def carry_over(self, fact: CarriedOver, seq: int) -> None:
        """Goes on from what the recording before this one kept. What can't be read leaves a blank display."""
        blank = self.snapshot()
        try:
            wire, display = msgspec.json.decode(fact.wire), msgspec.json.decode(fact.display)
            line = {"text": fact.printed, "column": len(fact.printed)}
            self.restore({**blank, "wire": wire, "display": display, "line": line}, seq)
        except (msgspec.DecodeError, RecordingFault, KeyError, TypeError, ValueError, AttributeError):
            self.restore(blank, seq)

    def _take_changes(self, seq: int) -> None:
        rows = self._display.rows()
        first = self._display.first_row
        dirty = self._display.take_dirty()
        if not self._rows_sent:
            dirty = set(range(first, first + len(rows)))
        seq = max(seq, self._begun_seq)
        for number in dirty:
            if 0 <= number - first < len(rows):
                sent = self._runs(number, rows[number - first])
                had = self._rows_sent.get(number)
                if had is None or had[1] != sent:
                    self._rows_sent[number] = (seq, sent)
        sheet = {"first_row": first, "sheet_starts": self._sheet_starts()}
        if sheet != self._sheet:
            self._sheet, self._sheet_seq = sheet, seq
            for gone in [number for number in self._rows_sent if number < first]:
                del self._rows_sent[gone]
        place = self._display.cursor
        cursor = [place.row + first, place.column, place.visible]
        if cursor != self._cursor:
            self._cursor, self._cursor_seq = cursor, seq

    def _runs(self, number: int, row: Row) -> list[Any]:
        """[text, looks] for each run; characters struck over each other come one by one, with all of them."""
        struck = (
            self._display.overstrikes(number)
            if isinstance(self._display, Paper) and any(run.style & Style.OVERSTRUCK for run in row)
            else {}
        )
        runs: list[Any] = []
        column = 0
        for run in row:
            looks = " ".join(style_names(run.style))
            if run.style & Style.OVERSTRUCK and struck:
                for offset, character in enumerate(run.text):
                    runs.append([character, looks, struck.get(column + offset, character)])
            else:
                runs.append([run.text, looks])
            column += len(run.text)
        return runs

    def _sheet_starts(self) -> list[int]:
        return self._display.sheet_starts() if isinstance(self._display, Paper) else []
