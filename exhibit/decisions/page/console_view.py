"""The console as a page mirrors it: rows by number, each with the fact at which it last changed.

Taking in facts is cheap; rows are worked out only when a page asks. The first question after a change
takes the rows that the display marks as changed, and gives them the number of the fact reached by then.
So every page that has the facts up to an earlier one gets the row, and no other page needs it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from itertools import islice
from typing import Any

import msgspec

from exhibit.decisions.console.printed import PrintedLine
from exhibit.decisions.display.choice import AnyDisplay, display_for
from exhibit.decisions.display.paper import Paper
from exhibit.decisions.display.rendition import Row, Style, style_names
from exhibit.decisions.display.wire import Item, Text, Wire
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import CarriedOver, RecordingOpened, to_bytes

LINES_KEPT = 200
CHARACTERS_KEPT = 8_000
"""How much of what a screen printed visitors can scroll back to: bounded, since a new page gets all of it."""


MOST_WAITING = 8_000
"""So many received bytes are gathered at most before they are shown: some four milliseconds of work."""

LINES_SEARCHED = 8
"""How many of the last printed lines to search for a line, which is recognised as soon as it is printed."""


class Place(msgspec.Struct, frozen=True):
    """Where a line is on the console: its number among the printed lines, or its row; from 1, 0 for none."""

    number: int = 0
    row: int = 0
    line: str = ""


NOWHERE = Place()
Piece = tuple[int, int, str]
"""A fact of received bytes: its number, its time, and the bytes."""
TakenPiece = tuple[int, int, list[Item]]
"""The same, and what the bytes came to."""
Follow = Callable[[list[Item], Callable[[], Iterator[TakenPiece]]], None]
"""What is told of gathered bytes: all that they came to, and the same piece by piece if it wants that."""


def single_spaced(line: str) -> str:
    """The line as patterns see it: single spaces, and none at its ends."""
    return " ".join(line.split())


class ConsoleView:
    """What the machine's display shows."""

    def __init__(self, opened: RecordingOpened, seq: int, follow: Follow | None = None) -> None:
        """`follow` is told what was gathered, once it is taken in."""
        self._opened = opened
        self._follow = follow
        self._wire = self._new_wire()
        self._display: AnyDisplay = display_for(opened.display)
        self._rows_sent: dict[int, tuple[int, list[Any]]] = {}
        self._cursor: list[Any] = []
        self._cursor_seq = seq
        self._sheet: dict[str, Any] = {}
        self._sheet_seq = seq
        self._started_seq = seq
        self._is_paper = opened.display.kind == "paper"
        self._line = PrintedLine(opened.display.tab_columns)
        self._number = 0
        self._kept_characters = 0
        self._waiting: list[Piece] = []
        """Received bytes that nobody has asked about yet, and below how many there are."""
        self._waiting_bytes = 0
        self._printed: deque[tuple[int, int, str]] = deque()
        """Whole lines: the fact with which each was printed, its number, its text."""

    def _new_wire(self) -> Wire:
        opened = self._opened
        return Wire(
            opened.eighth_bit,
            parity=opened.parity,
            characters=opened.display.characters,
            adds_line_feed=opened.display.line_end == "return",
        )

    def text_of(self, received: str) -> str:
        """The text in these received bytes, as a fact has them; a blank stands for each other item."""
        items = self._new_wire().feed(to_bytes(received))
        return "".join(item.text if isinstance(item, Text) else " " for item in items)

    def gather(self, text: str, seq: int, at_us: int) -> None:
        """Take in bytes that the machine sent, as fact `seq` records them, once somebody asks for them.

        What they come to doesn't depend on how they were divided into pieces, and together they are quicker.
        """
        self._waiting.append((seq, at_us, text))
        self._waiting_bytes += len(text)
        if self._waiting_bytes > MOST_WAITING:
            self.catch_up()

    def catch_up(self) -> None:
        """Take in what was gathered."""
        if not self._waiting:
            return
        pieces, self._waiting, self._waiting_bytes = self._waiting, [], 0
        before = self._wire.snapshot() if self._follow is not None else {}
        items = self._receive("".join(text for _, _, text in pieces), pieces[-1][0])
        if self._follow is not None:
            self._follow(items, lambda: self._piece_by_piece(before, pieces))

    def _piece_by_piece(self, before: dict[str, Any], pieces: list[Piece]) -> Iterator[TakenPiece]:
        """What each of these pieces came to; the first of them followed this state of the wire."""
        wire = self._new_wire()
        wire.restore(before)
        for seq, at_us, text in pieces:
            yield seq, at_us, wire.feed(to_bytes(text))

    def receive(self, text: str, seq: int) -> list[Item]:
        """Take in bytes that the machine sent, as fact `seq` records them. Returns what they came to."""
        self.catch_up()
        return self._receive(text, seq)

    def _receive(self, text: str, seq: int) -> list[Item]:
        items = self._wire.feed(to_bytes(text))
        self._display.apply(items)
        if self._is_paper:
            return items  # its rows are the printed lines
        for line in self._line.take_all(items):
            if kept := line.rstrip():
                self._keep(seq, kept)
        return items

    def _keep(self, seq: int, line: str) -> None:
        self._number += 1
        self._printed.append((seq, self._number, line))
        self._kept_characters += len(line)
        while len(self._printed) > LINES_KEPT or self._kept_characters > CHARACTERS_KEPT:
            self._kept_characters -= len(self._printed.popleft()[2])

    def place_of(self, line: str) -> Place:
        """Where on the console this line is, which was just printed or is being printed."""
        wanted = single_spaced(line)
        if not wanted:
            return NOWHERE
        self.catch_up()
        if not self._is_paper:
            for number, text in [(self._number + 1, self._line.text), *self._last_printed()]:
                if single_spaced(text) == wanted:
                    return Place(number=number, line=wanted)
        rows = self._display.text_rows()
        here = self._display.cursor.row
        for index in (*range(here, -1, -1), *range(here + 1, len(rows))):
            if single_spaced(rows[index]) == wanted:
                return Place(row=index + self._display.first_row + 1, line=wanted)
        return NOWHERE

    def place_of_row(self, number: int) -> Place:
        """The place of what is on this row of the display, from 1."""
        self.catch_up()
        rows = self._display.text_rows()
        if not 1 <= number <= len(rows):
            return NOWHERE
        return Place(row=number + self._display.first_row, line=single_spaced(rows[number - 1]))

    def _last_printed(self) -> list[tuple[int, str]]:
        last = islice(reversed(self._printed), LINES_SEARCHED)
        return [(number, text) for _, number, text in last]

    def rows_at_cursor(self) -> tuple[str, str]:
        """The row above the cursor, empty if there is none, and the cursor's own."""
        self.catch_up()
        rows, here = self._display.text_rows(), self._display.cursor.row
        return rows[here - 1] if here else "", rows[here] if here < len(rows) else ""

    def text_rows(self) -> list[str]:
        """The rows as bare text, from the top."""
        self.catch_up()
        return self._display.text_rows()

    def batch(self, after_seq: int, seq: int) -> dict[str, Any]:
        """What changed after fact `after_seq`; `seq` is the fact reached by now."""
        self.catch_up()
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
        self.catch_up()
        printed = [[number, text] for _, number, text in self._printed]
        line = {"text": self._line.text, "column": self._line.column}
        shown = {"wire": self._wire.snapshot(), "display": self._display.snapshot()}
        return {**shown, "printed": printed, "line": line}

    def restore(self, kept: dict[str, Any], seq: int) -> None:
        """Go on from a snapshot taken at fact `seq`, of a console of the same recording."""
        self._waiting.clear()
        self._waiting_bytes = 0
        self._wire.restore(kept["wire"])
        self._display.restore(kept["display"])
        self._rows_sent.clear()
        self._cursor, self._sheet = [], {}
        self._started_seq = seq
        self._printed = deque((seq, number, text) for number, text in kept["printed"])
        self._kept_characters = sum(len(text) for _, _, text in self._printed)
        self._number = self._printed[-1][1] if self._printed else 0
        self._line.text, self._line.column = kept["line"]["text"], kept["line"]["column"]

    def carry_over(self, fact: CarriedOver, seq: int) -> None:
        """Continue from what the last recording kept. If that can't be read, the display is blank."""
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
        seq = max(seq, self._started_seq)
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
        """A list of [text, style names]; each overstruck position by itself, as [last, style names, all]."""
        struck = (
            self._display.overstrikes(number)
            if isinstance(self._display, Paper) and any(run.style & Style.OVERSTRUCK for run in row)
            else {}
        )
        runs: list[Any] = []
        column = 0
        for run in row:
            styles = " ".join(style_names(run.style))
            if run.style & Style.OVERSTRUCK and struck:
                for offset, character in enumerate(run.text):
                    runs.append([character, styles, struck.get(column + offset, character)])
            else:
                runs.append([run.text, styles])
            column += len(run.text)
        return runs

    def _sheet_starts(self) -> list[int]:
        return self._display.sheet_starts() if isinstance(self._display, Paper) else []
