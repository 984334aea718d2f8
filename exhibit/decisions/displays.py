"""Reads status displays: when a frame has ended, and the values that stand on it."""

from __future__ import annotations

from exhibit.decisions.machine import Machine, Reading, StatusDisplay
from exhibit.decisions.paper import Paper
from exhibit.decisions.screen import Screen
from exhibit.decisions.wire import Csi, Item
from exhibit.facts.kinds import AnyFact, LandmarkReached, ReadingTaken

_CURSOR_ADDRESS = frozenset("Hf")
_ERASE_ALL = 2


class Displays:
    """Watches the screen of one machine for the displays that its folder describes.

    `standing` is the name of the display that has shown a whole frame and hasn't been wiped away
    since, or empty.
    """

    def __init__(self, machine: Machine) -> None:
        self._displays = machine.displays
        self._frames = dict.fromkeys((display.name for display in machine.displays), 0)
        self._last_us = 0
        self._quiet_us = min(
            (d.ends_after_quiet_us for d in machine.displays if d.ends_after_quiet_us is not None),
            default=None,
        )
        self._changed_since_frame = False
        self.standing = ""

    def take(self, item: Item, screen: Screen | Paper, at_us: int) -> list[AnyFact]:
        """Call when `item` has acted on the screen. The facts of a frame that has ended with it."""
        if not self._displays:
            return []
        self._last_us = at_us
        self._changed_since_frame = True
        if not isinstance(item, Csi) or item.private:
            return []
        if item.final == "J" and item.params[:1] == (_ERASE_ALL,):
            self.standing = ""
        if item.final in _CURSOR_ADDRESS:
            place = (screen.cursor.row + 1, screen.cursor.column + 1)
            for display in self._displays:
                if display.ends_at == place:
                    return self._read(display, screen)
        return []

    def quiet_due_us(self) -> int | None:
        """When a frame that ends by quiet will have ended, if nothing more comes; None if none can."""
        if self._quiet_us is None or not self._changed_since_frame:
            return None
        return self._last_us + self._quiet_us

    def quiet(self, screen: Screen | Paper, at_us: int) -> list[AnyFact]:
        """Call when the time of `quiet_due_us` has come. The facts of the frame that has ended."""
        due_us = self.quiet_due_us()
        if due_us is None or at_us < due_us:
            return []
        self._changed_since_frame = False
        for display in self._displays:
            if display.ends_after_quiet_us is not None:
                facts = self._read(display, screen)
                if facts:
                    return facts
        return []

    def gone(self) -> None:
        """A prompt stands: whatever display there was is over."""
        self.standing = ""

    def _read(self, display: StatusDisplay, screen: Screen | Paper) -> list[AnyFact]:
        rows = screen.text_rows()
        title = rows[display.title_row - 1] if display.title_row <= len(rows) else ""
        title_fields = display.title.match(title)
        if title_fields is None:
            if self.standing == display.name:
                self.standing = ""
            return []
        self._changed_since_frame = False
        self._frames[display.name] += 1
        facts: list[AnyFact] = []
        for reading in display.readings:
            facts.extend(_taken(display, self._frames[display.name], reading, rows))
        self.standing = display.name
        return [*facts, LandmarkReached(landmark=display.name, line=title.strip(), fields=title_fields)]


def _taken(display: StatusDisplay, frame: int, reading: Reading, rows: list[str]) -> list[AnyFact]:
    found = [
        fields
        for row in rows[reading.first_row - 1 : reading.last_row]
        if (fields := reading.pattern.match(row)) is not None
    ]
    if reading.kind == "table":
        return [ReadingTaken(display=display.name, frame=frame, name=reading.name, table=found)]
    if not found:
        return []
    text = found[0]["value"]
    value: int | float | str = text
    if reading.kind == "number":
        value = float(text) if "." in text else int(text)
    return [ReadingTaken(display=display.name, frame=frame, name=reading.name, value=value)]
