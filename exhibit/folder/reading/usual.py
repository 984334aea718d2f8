"""What the steps of a script have if it isn't written: a name, a limit, and the prompt at which they type."""

from __future__ import annotations

import math
import re
from collections.abc import Collection, Mapping
from typing import Any, Final

from exhibit.decisions.machine.filling import PLACE
from exhibit.decisions.story.reading_time import reading_us
from exhibit.facts.units import S_US, UnitMistake, duration_us
from exhibit.folder.reading.values import NAME

WHOLE: Final = "20 min"
"""The usual limit of a script."""
AT_CONSOLE: Final = "1 min"
"""The usual limit of a step at the console; a script can have another, as `step_within`."""
IN_PERSON: Final = "10 min"
"""The usual limit of a step that a person does."""
UNKNOWN: Final = ""
"""Stands for a name that can't be known because of another mistake; it is never looked up."""
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


class UsualSteps:
    """What the steps of a script have if it isn't written."""

    def __init__(
        self,
        lists: Collection[Any],
        within: Any,
        step_within: Any,
        places: Collection[str] | None,
        part: str | None = None,
    ) -> None:
        """Note the names that are written in these lists of steps.

        within, step_within: the limit of the script and the usual one of its steps, as they are written.
        places: the prompts and displays of the machine; None if they are unknown.
        part: what captions are about if they don't say.
        """
        steps = [step for steps in lists if isinstance(steps, list) for step in steps]
        self._taken = {f"{step.get('name')}" for step in steps if isinstance(step, dict)}
        self._within, self._step_within = f"{within}", f"{step_within}"
        self._places = places
        self.part = part
        self.showing: list[str] | None = None
        """The prompts and displays of which one is showing after the last step; None if that is unknown."""

    def name(self, data: Mapping[str, Any], kind: str) -> str:
        """Return a name for a step, after what it does; no two steps get the same."""
        value = data.get(kind)
        if isinstance(value, list) and value:
            value = value[-1 if kind == "type" else 0]
        named = as_name(value) if isinstance(value, str) else ""
        name = _NAMED_AFTER.get(kind, "{}").format(named) if named else kind or "step"
        return self.free_name(name if NAME.fullmatch(name) else f"{kind}-{name}".replace("_", "-"))

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

    def follow(self, kind: str, at: list[str] | None, until: list[str]) -> None:
        """Note what is showing after a step: what it waited for, or the prompt again if that is a line.

        `at`: where it typed; None if it may be left out, after which nobody knows what is showing.
        """
        if at is None:
            self.showing = None
        elif self._places is None:
            self.showing = [UNKNOWN]
        elif until and all(name in self._places for name in until):
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
