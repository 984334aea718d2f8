"""Notices that the machine has fallen silent: something was due from it, and nothing at all has come.

Due are the echo of a typed character, the new line after RETURN, the answer to a key, what a step has waited
for in vain, and the next frame of a status display that repaints itself regularly. Nothing is typed for it.
A machine from which nothing is due isn't called silent.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from exhibit.decisions.commands import Arm, Drop, Tell, WatchCommand
from exhibit.decisions.machine.description import Machine
from exhibit.facts import kinds

NOTHING_HEARD: Final = "nothing heard"
"""The name of the deadline. It says nothing about a script, so it may be armed when a new day begins."""
_INTERVALS_KEPT: Final = 4
_LEAST_INTERVALS: Final = 2
"""So many intervals must be alike before a display counts as one that repaints itself regularly."""


class Silence:
    """Folds the facts of one recording. `shows_display`: whether a status display is showing now."""

    def __init__(self, machine: Machine, shows_display: Callable[[], bool]) -> None:
        typing = machine.typing
        self._within_us = typing.answer_within_us
        self._echoes = typing.echo == "full"
        keys = {typing.cancel, typing.return_key, typing.nudge, *machine.keys.values()} - {b""}
        self._keys = {kinds.to_text(key) for key in keys}
        self._displays = {display.name for display in machine.displays}
        self._shows_display = shows_display
        self._heard_us = 0
        """When something last came; 0 if nothing has."""
        self._due: tuple[int, kinds.DueFrom] | None = None
        """Since when something has been due, and what."""
        self._silent_us: int | None = None
        """Since when the machine has been reported as silent."""
        self._armed = False
        self._asked = False
        """A person was asked to do the running step, so the machine owes nothing if that is late."""
        self._display = ""
        """The display whose frames come, and when the last one did."""
        self._frame_us = 0
        self._intervals: dict[str, list[int]] = {}

    def note(self, entry: kinds.Entry) -> list[WatchCommand]:
        """Takes the next fact; returns what to record and which deadline to set."""
        fact, at_us = entry.fact, entry.at_us
        match fact:
            case kinds.BytesReceived() | kinds.BytesWithheld():
                return [*self._heard(at_us), *self._arm(at_us)]
            case kinds.LineOpened() | kinds.LineLost() | kinds.CarriedOver():
                return self._forget()
            case kinds.BytesTyped(bytes=text, secret=secret):
                self._display = ""
                if not secret and (self._echoes or text in self._keys):
                    self._is_due(at_us, "typing")
            case kinds.LandmarkReached(landmark=name):
                self._frame(name if name in self._displays else "", at_us)
            case kinds.StepStarted():
                self._asked = False
            case kinds.HandsOnAsked():
                self._asked = True
            case kinds.StepOverdue() if not self._asked:
                self._is_due(at_us, "step")
            case kinds.HandsOnConfirmed():
                # Somebody is at the machine, and perhaps has just switched it off or on.
                self._due = self._silent_us = None
            case kinds.PlaceRecognised():
                self._due = None  # where nothing answered, that has been found out
            case kinds.DeadlinePassed(name=name) if name == NOTHING_HEARD:
                self._armed = False
                return [*self._overdue(at_us), *self._arm(at_us)]
            case _:
                return []
        return self._arm(at_us)

    def _heard(self, at_us: int) -> list[WatchCommand]:
        silent_us, self._silent_us = self._silent_us, None
        heard_us, self._heard_us, self._due = self._heard_us, at_us, None
        return [] if silent_us is None else [Tell(fact=kinds.HeardAgain(silent_us=at_us - heard_us))]

    def _forget(self) -> list[WatchCommand]:
        self._due = self._silent_us = None
        self._display = ""
        armed, self._armed = self._armed, False
        return [Drop(name=NOTHING_HEARD)] if armed else []

    def _is_due(self, at_us: int, what: kinds.DueFrom) -> None:
        if self._due is None:
            self._due = at_us, what

    def _frame(self, display: str, at_us: int) -> None:
        """A frame of this display has ended; "" for a prompt, which ends any display."""
        if display and display == self._display:
            intervals = self._intervals.setdefault(display, [])
            self._intervals[display] = [*intervals, at_us - self._frame_us][-_INTERVALS_KEPT:]
        self._display, self._frame_us = display, at_us

    def _frame_due_us(self) -> int | None:
        """When the next frame must have come; None if none can be expected."""
        intervals = self._intervals.get(self._display, [])
        if not self._display or len(intervals) < _LEAST_INTERVALS or max(intervals) > 2 * min(intervals):
            return None
        return max(self._heard_us, self._frame_us) + max(intervals) if self._shows_display() else None

    def _first_due(self) -> tuple[int, kinds.DueFrom] | None:
        frame_us = self._frame_due_us()
        if frame_us is not None and (self._due is None or frame_us < self._due[0]):
            return frame_us, "display"
        return self._due

    def _arm(self, at_us: int) -> list[WatchCommand]:
        """Sets the deadline if it isn't set: one that is set passes in vain and is then set anew."""
        due = self._first_due()
        if due is None or self._armed or self._silent_us is not None:
            return []
        self._armed = True
        return [Arm(name=NOTHING_HEARD, due_us=max(due[0] + self._within_us, at_us + 1))]

    def _overdue(self, at_us: int) -> list[WatchCommand]:
        due = self._first_due()
        if due is None or self._silent_us is not None or at_us < due[0] + self._within_us:
            return []
        self._silent_us = at_us
        return [Tell(fact=kinds.MachineSilent(heard_us=self._heard_us, due_us=due[0], due=due[1]))]
