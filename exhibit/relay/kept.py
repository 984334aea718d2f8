"""What a hosted page worker knows of the picture: each answer added to the ones before, by number.

It is what a page in a browser keeps as well (web/visitor/kept.js), but with the fact at which each item last
changed. So a page of another worker, or of one that was killed, gets what it lacks.
"""

from __future__ import annotations

from collections import deque
from typing import Any, Final

from exhibit.decisions.page.console_view import CHARACTERS_KEPT, LINES_KEPT

MOST_PIECES: Final = 8
PIECES_NEW_FOR_S: Final = 2.0
_SHEET: Final = ("first_row", "sheet_starts")
_Values = dict[str, tuple[int, Any]]
"""Values by name, each with the fact at which it last changed."""


class Kept:
    """The picture after the answers so far."""

    def __init__(self) -> None:
        self.seq = 0
        self.items_seq = 0
        self._at = ""
        self._items: _Values = {}
        self._readings: dict[str, _Values] = {}
        self._printed_at: tuple[int, str] = 0, ""
        self._rows: _Values = {}
        self._console: _Values = {}
        self._printed: deque[tuple[int, list[Any]]] = deque()
        self._printed_characters = 0
        self._cable: deque[tuple[float, dict[str, Any]]] = deque(maxlen=MOST_PIECES)

    @property
    def at(self) -> str:
        """The museum's date and time at the last fact."""
        return self._at

    def add(self, batch: dict[str, Any], now_s: float) -> None:
        """Add what is new. `now_s` is this computer's steady clock."""
        seq = self.seq = batch["seq"]
        self._at = batch["at"]
        items, readings = batch.get("items", {}), batch.get("readings", {})
        self._items |= _stamped(items, seq)
        for display, taken in readings.items():
            self._readings.setdefault(display, {}).update(_stamped(taken, seq))
        if items or readings:
            self.items_seq = seq
        if printed_at := batch.get("printed_at"):
            self._printed_at = seq, printed_at
        self._add_console(batch.get("console", {}), seq)
        self._cable.extend((now_s, piece) for piece in batch.get("cable", ()))

    def _add_console(self, console: dict[str, Any], seq: int) -> None:
        self._rows |= _stamped(console.get("rows", {}), seq)
        for name in ("cursor", *_SHEET):
            if name in console:
                self._console[name] = seq, console[name]
        if first_row := console.get("first_row"):
            self._rows = {number: row for number, row in self._rows.items() if int(number) >= first_row}
        for line in console.get("printed", ()):
            self._printed.append((seq, line))
            self._printed_characters += len(line[1])
        while len(self._printed) > LINES_KEPT or self._printed_characters > CHARACTERS_KEPT:
            self._printed_characters -= len(self._printed.popleft()[1][1])

    def remember(self, before: Kept) -> None:
        """What was the same before counts as changed when it did: pages that have it needn't get it again."""
        self._items = _as_before(self._items, before._items)
        self._readings = {
            display: _as_before(taken, before._readings.get(display, {}))
            for display, taken in self._readings.items()
        }
        self._rows = _as_before(self._rows, before._rows)
        self._console = _as_before(self._console, before._console)
        if self._printed_at[1] == before._printed_at[1]:
            self._printed_at = before._printed_at
        printed = {line[0]: seq for seq, line in before._printed}
        self._printed = deque((printed.get(line[0], seq), line) for seq, line in self._printed)
        changed = [seq for taken in (self._items, *self._readings.values()) for seq, _ in taken.values()]
        self.items_seq = max(changed, default=0)

    def batch(self, after: int, console: bool, now_s: float) -> dict[str, Any]:
        """What changed after fact `after`, as View.batch gives it."""
        changed: dict[str, Any] = {"seq": self.seq, "at": self._at}
        if items := _newer(self._items, after):
            changed["items"] = items
        readings = {display: _newer(taken, after) for display, taken in self._readings.items()}
        if readings := {display: taken for display, taken in readings.items() if taken}:
            changed["readings"] = readings
        if self._printed_at[0] > after:
            changed["printed_at"] = self._printed_at[1]
        if not console:
            return changed
        shown = _newer(self._console, after)
        if rows := _newer(self._rows, after):
            shown["rows"] = rows
        if printed := [line for seq, line in self._printed if seq > after]:
            shown["printed"] = printed
        if shown:
            changed["console"] = shown
        cable = [one for at_s, one in self._cable if one["seq"] > after and now_s - at_s <= PIECES_NEW_FOR_S]
        if cable:
            changed["cable"] = cable
        return changed


def _stamped(values: dict[str, Any], seq: int) -> _Values:
    return {name: (seq, value) for name, value in values.items()}


def _as_before(now: _Values, before: _Values) -> _Values:
    return {
        name: before[name] if name in before and before[name][1] == one[1] else one
        for name, one in now.items()
    }


def _newer(kept: _Values, after: int) -> dict[str, Any]:
    return {name: value for name, (seq, value) in kept.items() if seq > after}
