"""The question that the person at the terminal is being asked: it stays last, with what can be answered."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Literal

import msgspec

from exhibit.decisions.machine.script import CheckPack, Folder, HandsOn
from exhibit.facts.units import MIN_US, S_US

Kind = Literal["hands-on", "date", "late", "late hands-on", "failed"]
ANSWERS: Final[dict[Kind, str]] = {
    "hands-on": "Answer: yes, not yet, or can't (and why).",
    "date": "Answer: yes, not yet, or no (and why).",
    "late": "Answer: wait on, leave out, or stop.",
    "late hands-on": "Answer: yes, not yet, can't (and why), or leave out.",
    "failed": 'When it is safe, type "go on"; or press Ctrl-C here to end.',
}
_AGAIN: Final[dict[Kind, str]] = {
    "hands-on": "Still to do:",
    "date": "Still asked:",
    "late": "Still late:",
    "late hands-on": "Still to do:",
    "failed": "Still to do: look at the machine.",
}


class OpenQuestion(msgspec.Struct, frozen=True, kw_only=True):
    """One question. `words` says what it is about; `number` is the hands-on step's, as `numbers` gives it."""

    kind: Kind
    words: str = ""
    number: str = ""

    def again(self) -> str:
        """The question in one line, for a terminal on which something else was printed since."""
        return f"  {_AGAIN[self.kind]} {self.words}".rstrip()

    def last_line(self, left_us: int | None) -> str:
        """The line that stays last. `left_us`: the time left, in real time; None if there is no limit."""
        left = "" if left_us is None else left_text(left_us)
        where = ", ".join(part for part in (self.number, left) if part)
        return f"  > {where[:1].upper()}{where[1:]}{'. ' if where else ''}{ANSWERS[self.kind]}"


def left_text(left_us: int) -> str:
    """The time left, never more than there is: "12 min left", "90 s left"."""
    if left_us >= 2 * MIN_US:
        return f"{left_us // MIN_US} min left"
    return f"{max(0, left_us) // S_US} s left"


def numbers(folder: Folder) -> Callable[[str, str], str]:
    """Gives a hands-on step's number among those of its script, as "step 4 of 9 by hand".

    Empty for any other step, and for the only one.
    """
    found: dict[tuple[str, str], str] = {}
    for script in folder.scripts.values():
        steps = [step.name for step in script.steps if isinstance(step, HandsOn | CheckPack)]
        for number, name in enumerate(steps, 1):
            if len(steps) > 1:
                found[script.name, name] = f"step {number} of {len(steps)} by hand"
    return lambda script, step: found.get((script, step), "")
