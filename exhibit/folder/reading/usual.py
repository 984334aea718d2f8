"""What the steps of a script have if it isn't written: a name, a limit, and the prompt at which they type."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Protocol

from exhibit.decisions.machine.filling import PLACE, numbers_named
from exhibit.decisions.machine.wear_rules import Exerciser
from exhibit.decisions.story.reading_time import reading_us
from exhibit.facts.units import S_US, UnitMistake, duration_us
from exhibit.folder.reading.tables import LocatedTexts
from exhibit.folder.reading.values import NAME

WHOLE: Final = "20 min"
"""The usual limit of a script."""
AT_CONSOLE: Final = "1 min"
"""The usual limit of a step at the console; a script can have another, as `step_within`."""
IN_PERSON: Final = "10 min"
"""The usual limit of a step that a person does."""
UNKNOWN: Final = ""
"""Stands for a name that can't be known because of another mistake; it is never looked up."""
NO_KEY: Final = "none"
_BY_HAND: Final = ("hands_on", "pack", "pack_out")
_NAMED_AFTER: Final = {
    "pack_out": "{}-out",
    "press": "press-{}",
    "secret": "secret-{}",
    "wait": "wait-for-{}",
    "read": "read-{}",
    "read_if_shown": "read-{}",
    "caption": "show-{}",
}
"""How a step without a name is named after what it does."""
_MOST_WORDS_OF_A_NAME: Final = 4
_FIGURES: Final = "0" * 6


class StepLike(Protocol):
    """What is needed of a step as read."""

    name: str
    kind: str
    in_tidy_up: bool
    texts: dict[str, str]
    lists: dict[str, LocatedTexts]

    @property
    def at_key(self) -> str: ...

    @property
    def until(self) -> LocatedTexts: ...


@dataclass(frozen=True)
class Around:
    """What steps take from the other files if they don't say it."""

    places: Collection[str] | None = ()
    """The prompts and displays of the machine; None if they are unknown."""
    displays: Collection[str] = ()
    part: str | None = UNKNOWN
    """What captions are about."""
    exercisers: Sequence[Exerciser] = ()
    secret: str | None = None
    """The only prompt that asks for a secret, if there is one."""
    nudge: str = NO_KEY
    """The key that makes a prompt appear again."""
    told: Mapping[str, str] = field(default_factory=dict)
    """By prompt or line, the caption that stands beside it."""
    home: list[str] | None = None
    """The prompts and displays of which one is showing when a script begins, if that is known."""


class UsualSteps:
    """What the steps of a script have if it isn't written."""

    def __init__(
        self,
        lists: Collection[Any],
        within: Any,
        step_within: Any,
        around: Around,
    ) -> None:
        """Note the names that are written in these lists of steps.

        within, step_within: the limit of the script and the usual one of its steps, as they are written.
        """
        steps = [step for steps in lists if isinstance(steps, list) for step in steps]
        self._taken = {f"{step.get('name')}" for step in steps if isinstance(step, dict)}
        self._within, self._step_within = f"{within}", f"{step_within}"
        self.around = around
        self._busy: dict[str, str] = {}
        """By step and line, the part that a job keeps busy."""
        self.typed_at: list[str] | None = None
        """The prompts of which one was showing when the last command was typed."""
        self.showing: list[str] | None = around.home
        """The prompts and displays of which one is showing after the last step; None if that is unknown."""

    def name(self, data: Mapping[str, Any], kind: str) -> str:
        """Return a name for a step, after what it does; no two steps get the same."""
        value = data.get(kind)
        if isinstance(value, list) and value:
            value = value[-1 if kind == "type" else 0]
        named = as_name(value) if isinstance(value, str) else ""
        name = _NAMED_AFTER.get(kind, "{}").format(named) if named else kind or "step"
        if kind == "type" and (exerciser := self.started(value)) is not None:
            name = f"begin-{exerciser.name}"
        return self.free_name(name if NAME.fullmatch(name) else f"{kind}-{name}".replace("_", "-"))

    def started(self, command: Any) -> Exerciser | None:
        """Return the exerciser that this command starts, if it is the only one."""
        text = f"{command}"
        found = [one for one in self.around.exercisers if one.begun and one.typed.match(text) is not None]
        return found[0] if len(found) == 1 else None

    def until(self, step: StepLike, following: Collection[str]) -> list[str] | None:
        """Return what a step waits for after it has typed or pressed; None if it must say so.

        following: the keys of the step that follows, and what it reads or types.
        """
        at = [name for name, _ in step.lists.get(step.at_key, [])]
        if step.kind == "press":
            # A key that leaves a display brings back the prompt at which that display was asked for.
            leaves = bool(at) and all(name in self.around.displays for name in at)
            return self.typed_at if leaves else None
        if step.kind != "type":
            return None
        if (exerciser := self.started(step.texts.get("type", ""))) is not None:
            return [exerciser.begun]
        if "secret" in following and self.around.secret is not None:
            return [self.around.secret]
        if "read_if_shown" in following:
            return [*(name for name in self.around.displays if name in following), *at]
        return at  # a command is usually over when its prompt is showing again

    def pause(self, step: StepLike) -> str | None:
        """Return how long people read what appears with what a step waits for; None if nothing does."""
        until = [name for name, _ in step.until]
        words = self.around.told.get(until[0], "") if len(until) == 1 else ""
        return pause_for(words) if words and not step.in_tidy_up else None

    def part_of(self, step: StepLike) -> str | None:
        """Return what the caption of a step is about: the part that a job keeps busy, or else the usual one.

        The job is the one that the step starts, or the one whose number it uses.
        """
        command = step.texts.get("type", "")
        if (exerciser := self.started(command)) is not None:
            return exerciser.part
        parts = {self._busy[name] for name, _ in numbers_named(command) if name in self._busy}
        return parts.pop() if len(parts) == 1 else self.around.part

    def note_started(self, step: StepLike) -> None:
        """Note the part that a job of this step keeps busy, by the names by which its number is known."""
        if (exerciser := self.started(step.texts.get("type", ""))) is not None:
            self._busy |= {step.name: exerciser.part, exerciser.begun: exerciser.part}

    def free_name(self, name: str) -> str:
        """Return this name, with a number behind it if another step has it."""
        free, number = name, 2
        while free in self._taken:
            free, number = f"{name}-{number}", number + 1
        self._taken.add(free)
        return free

    def within(self, kind: str) -> str:
        """Return the limit of a step of this kind, which is never longer than that of its script."""
        usual = IN_PERSON if kind in _BY_HAND else self._step_within
        try:
            return self._within if duration_us(usual) > duration_us(self._within) else usual
        except UnitMistake:
            return AT_CONSOLE  # the mistake is reported where it is written

    def by_hand(self) -> None:
        """Note that a person did something, after which nobody knows what is showing."""
        self.showing = self.typed_at = None

    def follow(self, kind: str, typed_at: list[str], until: list[str], *, may_be_left_out: bool) -> None:
        """Note what is showing after a step: what it waited for, or the prompt again if that is a line.

        `typed_at`: where it typed. If it may be left out, nobody knows what is showing after it.
        """
        at = None if may_be_left_out else typed_at
        if kind == "type":
            self.typed_at = typed_at or None
        places = self.around.places
        if at is None:
            self.showing = None
        elif places is None:
            self.showing = [UNKNOWN]
        elif until and all(name in places for name in until):
            self.showing = until
        else:
            self.showing = at if kind == "type" and at else None


def as_name(text: str) -> str:
    """Return the first words of a text as a name such as "add-2-3"; "" if it has none."""
    words = re.findall(r"[a-z0-9]+", re.sub(r"\{[^}]*\}", " ", text.lower()))
    return "-".join(words[:_MOST_WORDS_OF_A_NAME])


def pause_for(words: str) -> str:
    """Return how long a script pauses while people read these words, in whole seconds."""
    return f"{math.ceil(reading_us(PLACE.sub(_FIGURES, words)) / S_US)} s"
