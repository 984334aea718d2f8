"""Items by name and readings by display and name, each with the fact at which it last changed."""

from __future__ import annotations

from typing import Any, Final

from exhibit.facts.wall_times import WallTimes

HIDDEN = "_"
"""What the name of an item begins with that is kept here, but not sent to pages."""

_NONE: Final = (0, None)


class ItemStore:
    """What the page shows at this moment, and since which fact."""

    def __init__(self, clock: WallTimes) -> None:
        self._clock = clock
        self.seq = 0
        """The last fact taken in, at which an item may have changed."""
        self.changed_seq = 0
        """The last fact at which something that pages are shown did change."""
        self.at_us = 0
        self._items: dict[str, tuple[int, Any]] = {}
        self._readings: dict[str, dict[str, tuple[int, Any]]] = {}

    def at(self, seq: int, at_us: int) -> None:
        """From now on, whatever is set is set by this fact."""
        self.seq, self.at_us = seq, at_us

    def set(self, name: str, value: Any) -> None:
        """Give an item this value."""
        self._items[name] = (self.seq, value)
        if not name.startswith(HIDDEN):
            self.changed_seq = self.seq

    def value(self, name: str) -> Any:
        """The item's value; None if it has none."""
        return self._items.get(name, _NONE)[1]

    def take_reading(self, display: str, name: str, taken: dict[str, Any]) -> None:
        """Give a reading this value."""
        self._readings.setdefault(display, {})[name] = (self.seq, taken)
        self.changed_seq = self.seq

    def reading(self, display: str, name: str) -> dict[str, Any]:
        """The reading as last taken; empty if it never was."""
        found: dict[str, Any] = self._readings.get(display, {}).get(name, (0, {}))[1]
        return found

    def readings_of(self, display: str) -> dict[str, tuple[int, Any]]:
        """The readings of this display, each with the fact at which it last changed."""
        return self._readings.get(display, {})

    def readings_past(self, display: str, last_seq: int) -> None:
        """The display's readings that were taken by fact `last_seq` hold no longer."""
        for name, (seq, taken) in self.readings_of(display).items():
            if seq <= last_seq and "past" not in taken:
                self.take_reading(display, name, {**taken, "past": self.now()})

    def now(self) -> str:
        """The date and time of the fact being taken in."""
        return self._clock.wall(self.at_us)

    def wall(self, at_us: int) -> str:
        """The date and time of this moment on the recording's clock."""
        return self._clock.wall(at_us)

    def batch(self, after_seq: int) -> dict[str, Any]:
        """Items and readings that changed after fact `after_seq`."""
        changed: dict[str, Any] = {}
        items = {
            name: value
            for name, (seq, value) in self._items.items()
            if seq > after_seq and not name.startswith(HIDDEN)
        }
        if items:
            changed["items"] = items
        readings: dict[str, Any] = {}
        for display, taken in self._readings.items():
            new = {name: value for name, (seq, value) in taken.items() if seq > after_seq}
            if new:
                readings[display] = new
        if readings:
            changed["readings"] = readings
        return changed

    def snapshot(self) -> dict[str, Any]:
        """As plain JSON values."""
        return {
            "items": {name: value for name, (_, value) in self._items.items()},
            "readings": {
                display: {name: value for name, (_, value) in taken.items()}
                for display, taken in self._readings.items()
            },
        }

    def restore(self, kept: dict[str, Any], seq: int) -> None:
        """Go on from a snapshot; everything counts as changed at fact `seq`."""
        self.seq = self.changed_seq = seq
        self._items = {name: (seq, value) for name, value in kept["items"].items()}
        self._readings = {
            display: {name: (seq, value) for name, value in taken.items()}
            for display, taken in kept["readings"].items()
        }
