"""What a reading has just done: changed, crossed a number, for the first time today, or stayed as it is.

    changes = ReadingChanges(opened)
    latest = changes.take("board.load", 93, seq, at_us)
    latest.fulfils(trigger)         # the numbers of earlier facts that also show it, or None

Only what was seen counts. While the line was lost or the display was gone, a value neither rose nor stayed.
Something is the first of a day only if all of that day was seen: not if another recording has a part of that
day, nor if the line was lost or the clock was set.
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
"""If two readings are further apart, what the value did between them is unknown (our own choice)."""
MOST_CHANGES: Final = 60
"""The page keeps no more changes of a reading than this. What a stay with more of them rests on can't be
shown, so it has no caption. See because.py."""
_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}(?=T)")


class _History:
    """The history of one reading, as far as it is needed."""

    def __init__(self) -> None:
        self.value: Value | None = None
        self.at_us = 0
        self.changed: list[tuple[int, int, Value]] = []
        """Fact number, time and value of each change that was seen without a gap; bounded."""
        self.dropped = False
        """Whether earlier changes have been dropped."""
        self.firsts: dict[tuple[str, float], str] = {}
        """The day of the last first, by change and number."""
        self.last_stays: dict[tuple[str, float], int] = {}
        """The fact with which the last reported stay began, by change and number."""


class LatestReading:
    """A reading that was just taken, and what it says together with the ones before it."""

    def __init__(self, before: Value | None, value: Value, day: str, history: _History, at_us: int) -> None:
        self.before, self.value = before, value
        self._day, self._history, self._at_us = day, history, at_us

    def fulfils(self, trigger: Trigger) -> list[int] | None:
        """Earlier facts that also show what the trigger waits for, if that has just happened; else None."""
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
        if not self._day or self._history.firsts.get(key) == self._day:
            return None
        self._history.firsts[key] = self._day
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
        for seq, at_us, value in reversed(self._history.changed):
            if not is_so(value):
                goes_back = False
                break
            since = seq, at_us
        key = trigger.change, trigger.number
        if since is None or (goes_back and self._history.dropped):
            return None
        reported = self._history.last_stays.get(key) == since[0]
        if reported or self._at_us - since[1] < trigger.for_us:
            return None
        self._history.last_stays[key] = since[0]
        return [since[0]]


class ReadingChanges:
    """Is given every reading in order, and the facts that say what the date is."""

    def __init__(self, opened: kinds.RecordingOpened | None = None) -> None:
        self._readings: dict[str, _History] = {}
        self._clock = WallTimes()
        self._partly_seen: set[str] = set()
        """Days on which something may have gone unseen."""
        if opened is not None:
            self._clock.set(opened.wall, 0, opened.rate)
            earlier = _DAY.search(opened.previous_file)
            if earlier is not None:
                self._partly_seen.add(earlier.group())
            before = opened.use_before
            if opened.previous_file and before is not None and before.at != opened.wall:
                self._partly_seen.add(before.at[:10])

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> None:
        """Take in a fact that isn't a reading."""
        match fact:
            case kinds.Heartbeat(wall=wall) if wall:
                self._clock.set(wall, at_us)
            case kinds.ClockStepped(wall=wall) if wall:
                was = self.day(at_us)
                self._clock.set(wall, at_us)
                if self.day(at_us) != was:
                    self._partly_seen |= {was, self.day(at_us)}
            case kinds.LineLost():
                self._partly_seen.add(self.day(at_us))
                for reading in self._readings.values():
                    reading.value, reading.changed, reading.dropped = None, [], False

    def take(self, name: str, value: Value, seq: int, at_us: int) -> LatestReading:
        """Take in a value of `name`, which is DISPLAY.READING."""
        history = self._readings.setdefault(name, _History())
        before = history.value
        if at_us - history.at_us > LONGEST_GAP_US:
            history.changed, history.dropped = [], False
        if before != value or not history.changed:
            history.changed.append((seq, at_us, value))
            history.dropped = history.dropped or len(history.changed) > MOST_CHANGES
            del history.changed[:-MOST_CHANGES]
        history.value, history.at_us = value, at_us
        day = self.day(at_us)
        return LatestReading(before, value, "" if day in self._partly_seen else day, history, at_us)

    def day(self, at_us: int) -> str:
        """The local date of the museum's computer at that time; "" if the recording doesn't say."""
        return self._clock.wall(at_us)[:10]


_CHANGES: Final[dict[str, Callable[[LatestReading, Trigger], list[int] | None]]] = {
    "changes": LatestReading._changes,
    "rises": LatestReading._rises,
    "falls": LatestReading._falls,
    "crosses upwards": LatestReading._upwards,
    "crosses downwards": LatestReading._downwards,
    "first change today": LatestReading._first_change,
    "first above today": LatestReading._first_above,
    "stays unchanged": LatestReading._unchanged,
    "stays above": LatestReading._above,
    "stays below": LatestReading._below,
}
CHANGES: Final = tuple(_CHANGES)
