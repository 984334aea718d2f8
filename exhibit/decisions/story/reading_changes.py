"""What a reading has just done: changed, crossed a number, for the first time today, or stayed as it is.

    changes = ReadingChanges(opened)
    then = changes.take("board.load", 93, entry)
    then.came_true(trigger)         # the numbers of the facts that show it, or None

Only what was seen is told. A value that nobody could see, because the line was lost or the display
away, neither rose nor stayed. That something is the first of a day is told only on a day that was seen
whole: not where another recording has some of that day, nor after the line was lost or the clock was set.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from exhibit.decisions.machine.script import Trigger
from exhibit.facts import kinds
from exhibit.facts.wall_times import WallTimes

Value = int | float | str
LONGEST_GAP_US: Final = 60 * 1_000_000
"""Between two readings further apart nobody knows what the value did (our own choice)."""
MOST_CHANGES: Final = 60
"""Of a value that changes oftener while it stays above a number nothing is told: the page keeps no more
readings, and what it can't show isn't told. See because.py."""
_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}(?=T)")


class _Reading:
    """One reading's history, as far as it is needed."""

    def __init__(self) -> None:
        self.value: Value | None = None
        self.at_us = 0
        self.changed: list[tuple[int, int, Value]] = []
        """Number, time and value of each change that was seen without a gap, bounded."""
        self.cut = False
        """Earlier ones have been dropped."""
        self.firsts: dict[tuple[str, float], str] = {}
        """The day on which a first was told, by the change and its number."""
        self.stays_shown: dict[tuple[str, float], int] = {}
        """The fact with which the stay began that was told last, by the change and its number."""


class Then:
    """What one reading, taken just now, comes to."""

    def __init__(self, before: Value | None, value: Value, day: str, kept: _Reading, at_us: int) -> None:
        self.before, self.value = before, value
        self._day, self._kept, self._at_us = day, kept, at_us

    def came_true(self, trigger: Trigger) -> list[int] | None:
        """What the trigger waits for has just come: earlier facts that show it too. None: it hasn't."""
        return _CHANGES[trigger.change](self, trigger)

    def _number(self, value: Value | None) -> float | None:
        return None if value is None or isinstance(value, str) else float(value)

    def _changes(self, trigger: Trigger) -> list[int] | None:
        return None if self.before is None or self.before == self.value else []

    def _rises(self, trigger: Trigger) -> list[int] | None:
        before, value = self._number(self.before), self._number(self.value)
        return [] if before is not None and value is not None and value > before else None

    def _falls(self, trigger: Trigger) -> list[int] | None:
        before, value = self._number(self.before), self._number(self.value)
        return [] if before is not None and value is not None and value < before else None

    def _upwards(self, trigger: Trigger) -> list[int] | None:
        before, value = self._number(self.before), self._number(self.value)
        if before is None or value is None:
            return None
        return [] if before < trigger.number <= value else None

    def _downwards(self, trigger: Trigger) -> list[int] | None:
        before, value = self._number(self.before), self._number(self.value)
        if before is None or value is None:
            return None
        return [] if before >= trigger.number > value else None

    def _first_change(self, trigger: Trigger) -> list[int] | None:
        return self._first(trigger) if self._changes(trigger) is not None else None

    def _first_above(self, trigger: Trigger) -> list[int] | None:
        value = self._number(self.value)
        return self._first(trigger) if value is not None and value >= trigger.number else None

    def _first(self, trigger: Trigger) -> list[int] | None:
        key = trigger.change, trigger.number
        if not self._day or self._kept.firsts.get(key) == self._day:
            return None
        self._kept.firsts[key] = self._day
        return []

    def _unchanged(self, trigger: Trigger) -> list[int] | None:
        return self._stays(trigger, lambda value: value == self.value)

    def _above(self, trigger: Trigger) -> list[int] | None:
        return self._stays(trigger, lambda value: not isinstance(value, str) and value >= trigger.number)

    def _below(self, trigger: Trigger) -> list[int] | None:
        return self._stays(trigger, lambda value: not isinstance(value, str) and value < trigger.number)

    def _stays(self, trigger: Trigger, is_so: Callable[[Value], bool]) -> list[int] | None:
        since: tuple[int, int] | None = None
        goes_back = True
        for seq, at_us, value in reversed(self._kept.changed):
            if not is_so(value):
                goes_back = False
                break
            since = seq, at_us
        key = trigger.change, trigger.number
        if since is None or (goes_back and self._kept.cut):
            return None
        shown_before = self._kept.stays_shown.get(key) == since[0]
        if shown_before or self._at_us - since[1] < trigger.for_us:
            return None
        self._kept.stays_shown[key] = since[0]
        return [since[0]]


class ReadingChanges:
    """Sees every reading in order, and the facts that tell the date."""

    def __init__(self, opened: kinds.RecordingOpened | None = None) -> None:
        self._readings: dict[str, _Reading] = {}
        self._clock = WallTimes()
        self._half_seen: set[str] = set()
        """Days of which something may not have been seen."""
        if opened is not None:
            self._clock.set(opened.wall, 0, opened.rate)
            earlier = _DAY.search(opened.previous_file)
            if earlier is not None:
                self._half_seen.add(earlier.group())
            before = opened.use_before
            if opened.previous_file and before is not None and before.at != opened.wall:
                self._half_seen.add(before.at[:10])

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> None:
        """See a fact that isn't a reading."""
        match fact:
            case kinds.Heartbeat(wall=wall) if wall:
                self._clock.set(wall, at_us)
            case kinds.ClockStepped(wall=wall) if wall:
                was = self.day(at_us)
                self._clock.set(wall, at_us)
                if self.day(at_us) != was:
                    self._half_seen |= {was, self.day(at_us)}
            case kinds.LineLost():
                self._half_seen.add(self.day(at_us))
                for reading in self._readings.values():
                    reading.value, reading.changed, reading.cut = None, [], False

    def take(self, name: str, value: Value, seq: int, at_us: int) -> Then:
        """This value was read off DISPLAY.READING."""
        kept = self._readings.setdefault(name, _Reading())
        before = kept.value
        if at_us - kept.at_us > LONGEST_GAP_US:
            kept.changed, kept.cut = [], False
        if before != value or not kept.changed:
            kept.changed.append((seq, at_us, value))
            kept.cut = kept.cut or len(kept.changed) > MOST_CHANGES
            del kept.changed[:-MOST_CHANGES]
        kept.value, kept.at_us = value, at_us
        day = self.day(at_us)
        return Then(before, value, "" if day in self._half_seen else day, kept, at_us)

    def day(self, at_us: int) -> str:
        """The local date of the museum's computer then; "" where no recording told it."""
        return self._clock.wall(at_us)[:10]


_CHANGES: Final[dict[str, Callable[[Then, Trigger], list[int] | None]]] = {
    "changes": Then._changes,
    "rises": Then._rises,
    "falls": Then._falls,
    "crosses upwards": Then._upwards,
    "crosses downwards": Then._downwards,
    "first change today": Then._first_change,
    "first above today": Then._first_above,
    "stays unchanged": Then._unchanged,
    "stays above": Then._above,
    "stays below": Then._below,
}
CHANGES: Final = tuple(_CHANGES)
