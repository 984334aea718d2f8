"""Which key homing types next to find out what state the console is in; each at most once in a search."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

import msgspec

from exhibit.decisions.console.console import Console
from exhibit.decisions.console.where import Place
from exhibit.decisions.machine.description import Machine, Typing
from exhibit.decisions.machine.script import AnyStep, PressKey, Script, WayHome
from exhibit.decisions.session.left_open import LeftOpen
from exhibit.decisions.session.script_run import at_of

_UNKNOWN: Final = "the console shows no state that we know"
_LOOKED: Final = "a person has looked, and the machine has sent nothing since"


class Key(msgspec.Struct, frozen=True):
    """A key to type: its name in the recording, what it sends, and why it is typed."""

    name: Literal["nudge", "cancel"]
    data: bytes
    why: str


class HomeKeys:
    """The keys of one machine's search for its place.

    `heard` is whether the machine has sent anything in this search, `answered` whether it has done so since
    the last key. A key isn't typed at a question, which it could answer, unless a person has looked.
    """

    def __init__(
        self,
        machine: Machine,
        way: WayHome,
        scripts: Mapping[str, Script],
        watched: Console,
        left_open: LeftOpen,
    ) -> None:
        self._machine = machine
        self._way = way
        self._scripts = scripts
        self._watched = watched
        self._left_open = left_open
        self._vouched = False
        self.typed: list[Key] = []
        self.heard = self.answered = False

    def begin(self, *, vouched: bool) -> None:
        """A search begins. `vouched`: a person has looked at the machine."""
        self._vouched = vouched
        self.typed = []
        self.heard = self.answered = False

    def take(self, key: Key) -> None:
        """This key is typed now."""
        self.typed.append(key)
        self.answered = False

    @property
    def typing(self) -> Typing:
        """How the machine takes what is typed at the prompt or display that was showing last."""
        return self._left_open.typing

    @property
    def cancelled(self) -> bool:
        """Whether the cancel key was typed."""
        return any(key.name == "cancel" for key in self.typed)

    @property
    def unanswered(self) -> bool:
        """Whether a key that wasn't the cancel key was typed into silence: the machine may keep it."""
        return any(key.name == "nudge" for key in self.typed)

    def cancel(self, why: str) -> Key:
        """The cancel key."""
        return Key("cancel", self.typing.cancel, why)

    def next(self, place: Place | None) -> Key | None:
        """The key to type now; None if there is none. `place`: what the console shows."""
        why = _UNKNOWN if place is None else _LOOKED
        if self.typing.cancel and not self.cancelled and self._may_cancel():
            return self.cancel(why)
        if self.cancelled and self.answered:
            return None
        return self._paint_again() or self._nudge(why)

    def _may_cancel(self) -> bool:
        return (self._vouched and bool(self._left_open.now.question)) or self._cancel_is_in_folder()

    def _paint_again(self) -> Key | None:
        """The key that has a known but damaged display painted anew."""
        name = self._watched.damaged_display or self._left_open.now.display
        if self._watched.standing is not None:
            return None
        for display in self._machine.displays:
            if display.name == name and display.paint_again:
                why = f"the display {name} was showing, and this key has it painted anew"
                return Key("nudge", display.paint_again, why)
        return None

    def _nudge(self, why: str) -> Key | None:
        """The nudge or, if nothing at all was heard, the key that wakes the machine."""
        left = self._left_open
        may_be_open = left.half_known or left.question_possible
        if left.now.question or (may_be_open and not self._vouched):
            return None
        key = Key("nudge", self.typing.nudge, why)
        for silence in self._machine.silences:
            if silence.wake and not self.heard:
                why = f"the machine may be at {silence.landmark}, and this key wakes it"
                key = Key("nudge", silence.wake, why)
        known = {typed.data for typed in self.typed}
        nudged = {self.typing.nudge, *(silence.wake for silence in self._machine.silences)}
        return None if not key.data or known & nudged else key

    def _cancel_is_in_folder(self) -> bool:
        """Whether the folder itself says to press the cancel key here.

        It does if the way home from the open question begins with it, or if the unfinished script's tidy-up
        presses it when no known prompt is showing.
        """
        question = self._left_open.now.question
        if question:
            first = [steps[0] for steps in self._way.ways.values() if steps]
            return any(self.cancels(step) and question in at_of(step) for step in first)
        script = self._scripts.get(self._left_open.now.script)
        steps = script.tidy_up if script is not None else ()
        return any(self.cancels(step) and not at_of(step) for step in steps)

    def cancels(self, step: AnyStep) -> bool:
        """Whether this step presses the cancel key."""
        return isinstance(step, PressKey) and self._machine.keys[step.key] == self.typing.cancel
