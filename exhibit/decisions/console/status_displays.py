"""Reads status displays: when a frame has ended, and the values on it."""

from __future__ import annotations

from exhibit.decisions.console.signs import trouble_raised
from exhibit.decisions.display.choice import AnyDisplay
from exhibit.decisions.display.wire import Control, Csi, Item, Text
from exhibit.decisions.machine.description import Machine, Reading, StatusDisplay, Trouble
from exhibit.facts.kinds import AnyFact, LandmarkReached, ReadingTaken

_CURSOR_ADDRESS = frozenset("Hf")
_ERASE_DISPLAY = "J"
_ERASE_ALL = 2
_LINE_FEED = Control(10)


class Displays:
    """Watches the screen of one machine for the displays that its folder describes.

    `standing` is the display that is showing: it has shown a whole frame, and hasn't been erased or printed
    over since. None if there is no such display.
    """

    def __init__(self, machine: Machine) -> None:
        # If the titles of several fit, the one with the most text of its own counts.
        self._displays = sorted(machine.displays, key=lambda display: -display.title.own_text)
        self._troubles = tuple(trouble for trouble in machine.troubles if trouble.display)
        self._raised: set[str] = set()
        """The troubles on the last frame. Each is reported once for as long as it stays there."""
        self._frames = dict.fromkeys((display.name for display in machine.displays), 0)
        self._heard_us = 0
        # The longest of all, so that no display is read when only half a frame has come.
        self._quiet_us = max(
            (d.ends_after_quiet_us for d in machine.displays if d.ends_after_quiet_us is not None),
            default=None,
        )
        self._painted = False
        """Since the last frame something was painted at a place on the screen, not just printed."""
        self._next_line = False
        """Since the last frame a line has ended and nothing was painted: new text overwrites the frame."""
        self._overwritten: LandmarkReached | None = None
        """The display that such text is overwriting, until its line has ended: it may be an interruption."""
        self.standing: LandmarkReached | None = None
        self._was = self._erased = ""
        """The display that was showing before it was damaged, and one that was erased to be painted anew."""

    @property
    def damaged(self) -> str:
        """The display that is known to have been showing, but was printed over or painted wrongly; or ""."""
        return self._was if self.standing is None else ""

    def heard(self, at_us: int) -> None:
        """Something was received, whatever it was: the line isn't quiet."""
        self._heard_us = at_us

    def take(self, item: Item, screen: AnyDisplay) -> list[AnyFact]:
        """Call after `item` has acted on the screen. Returns the facts about a frame that ended with it."""
        if not isinstance(item, Csi):
            self._printed(item)
            return []
        if not self._displays or item.private:
            return []
        if item.final == _ERASE_DISPLAY:
            self._painted = True
            if item.params[0] == _ERASE_ALL:
                self._erased, self._was = self._was, ""
                self.standing = self._overwritten = None
        if item.final not in _CURSOR_ADDRESS:
            return []
        self._painted, self._next_line = True, False
        place = (screen.cursor.row + 1, screen.cursor.column + 1)
        return self._read_first(screen, [d for d in self._displays if d.ends_at == place])

    def _printed(self, item: Item) -> None:
        """Takes an item that isn't a control sequence.

        A frame's own text is painted at places; text on a new line after the frame isn't part of a display.
        """
        if type(item) is Text:
            if self._next_line and item.text.strip():
                self._overwritten = self.standing or self._overwritten
                self.standing = None
        elif item == _LINE_FEED and not self._painted:
            self._next_line = True

    def line_ended(self) -> None:
        """A line has ended that was no interruption, or a blank one."""
        if self.standing is None:
            self._overwritten = None

    def interrupted(self) -> None:
        """What was printed last was an interruption: whatever put the display there is still at work."""
        self.standing = self.standing or self._overwritten
        self._overwritten = None
        self._next_line = False

    def quiet_due_us(self) -> int | None:
        """When a frame that ends by quiet will have ended if nothing more comes; None if there is none."""
        if self._quiet_us is None or not self._painted:
            return None
        return self._heard_us + self._quiet_us

    def quiet(self, screen: AnyDisplay, at_us: int) -> list[AnyFact]:
        """Call at the time that `quiet_due_us` gave. Returns the facts about the frame that has ended."""
        due_us = self.quiet_due_us()
        if due_us is None or at_us < due_us:
            return []
        self._painted = False
        return self._read_first(screen, [d for d in self._displays if d.ends_after_quiet_us is not None])

    def gone(self) -> None:
        """No display is showing any more: a prompt settled, a key was pressed, or the line was lost."""
        self._painted = False
        self.standing = self._overwritten = None
        self._was = self._erased = ""
        self._raised.clear()

    def _read_first(self, screen: AnyDisplay, displays: list[StatusDisplay]) -> list[AnyFact]:
        """The facts about the first display whose title is on the screen, if it is one of these."""
        rows = screen.text_rows() if displays else []
        for display in self._displays if displays else []:
            title = rows[display.title_row - 1] if display.title_row <= len(rows) else ""
            fields = display.title.match(title)
            if fields is not None:
                if display not in displays:
                    return []  # the more particular one's frame hasn't ended yet
                self.standing = LandmarkReached(landmark=display.name, line=title.strip(), fields=fields)
                self._was, self._erased = display.name, ""
                return [*self._readings(display, rows), *self._troubles_on(display, rows), self.standing]
            if display not in displays:
                continue
            if self.standing is not None and self.standing.landmark == display.name:
                self.standing = None
            if self._erased == display.name:
                self._was = display.name
        return []

    def _readings(self, display: StatusDisplay, rows: list[str]) -> list[AnyFact]:
        self._painted = self._next_line = False
        self._frames[display.name] += 1
        frame = self._frames[display.name]
        return [fact for reading in display.readings for fact in _taken(display.name, frame, reading, rows)]

    def _troubles_on(self, display: StatusDisplay, rows: list[str]) -> list[AnyFact]:
        raised: list[AnyFact] = []
        for trouble in self._troubles:
            if trouble.display != display.name:
                continue
            row = _row_of(trouble, rows)
            if row is not None and trouble.name not in self._raised:
                raised_now = trouble_raised(trouble, row)
                raised.append(raised_now)
            (self._raised.add if row is not None else self._raised.discard)(trouble.name)
        return raised


def _row_of(trouble: Trouble, rows: list[str]) -> str | None:
    """The row that shows the trouble; None if no row does."""
    for row in rows[trouble.first_row - 1 : trouble.last_row]:
        if trouble.pattern.match(row) is not None:
            return row.strip()
    return None


def _taken(display: str, frame: int, reading: Reading, rows: list[str]) -> list[AnyFact]:
    matched = [
        (number, fields)
        for number, row in enumerate(rows[reading.first_row - 1 : reading.last_row], reading.first_row)
        if (fields := reading.pattern.match(row)) is not None
    ]
    places = [number for number, _ in matched]
    if reading.kind == "table":
        table = [fields for _, fields in matched]
        unread = [
            number
            for number, row in enumerate(rows[reading.first_row - 1 : reading.last_row], reading.first_row)
            if row.strip() and number not in places
        ]
        return [
            ReadingTaken(
                display=display, frame=frame, name=reading.name, table=table, rows=places, unread=unread
            )
        ]
    if not matched:
        return []
    text = matched[0][1]["value"]
    value: int | float | str = text
    if reading.kind == "number":
        value = float(text) if "." in text else int(text)
    return [ReadingTaken(display=display, frame=frame, name=reading.name, value=value, rows=places[:1])]
