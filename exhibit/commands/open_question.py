"""The question that the person at the terminal is being asked: it stays last, with what can be answered."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, Literal

import msgspec

from exhibit.commands.saying import ENGLISH, Say, Sentence
from exhibit.decisions.machine.script import CheckPack, Folder, HandsOn
from exhibit.facts.units import MIN_US, S_US

Kind = Literal["hands-on", "date", "late", "late hands-on", "failed"]
ANSWERS: Final[dict[Kind, Sentence]] = {
    "hands-on": Sentence("Answer: yes, not yet, or can't (and why)."),
    "date": Sentence("Answer: yes, not yet, or no (and why)."),
    "late": Sentence("Answer: wait on, leave out, or stop."),
    "late hands-on": Sentence("Answer: yes, not yet, can't (and why), or leave out."),
    "failed": Sentence('When it is safe, type "go on"; or press Ctrl-C here to end.'),
}
_AGAIN: Final[dict[Kind, Sentence]] = {
    "hands-on": Sentence("Still to do: {words}"),
    "date": Sentence("Still asked: {words}"),
    "late": Sentence("Still late: {words}"),
    "late hands-on": Sentence("Still to do: {words}"),
    "failed": Sentence("Still to do: look at the machine."),
}


class OpenQuestion(msgspec.Struct, frozen=True, kw_only=True):
    """One question. `words` says what it is about; `number` is the hands-on step's, as `numbers` gives it."""

    kind: Kind
    words: str = ""
    number: str = ""
    say: Say = ENGLISH

    def again(self) -> str:
        """The question in one line, for a terminal on which something else was printed since."""
        return f"  {self.say(_AGAIN[self.kind], words=self.words)}"

    def last_line(self, left_us: int | None) -> str:
        """The line that stays last. `left_us`: the time left, in real time; None if there is no limit."""
        left = "" if left_us is None else left_text(left_us, self.say)
        where = ", ".join(part for part in (self.number, left) if part)
        return f"  > {where[:1].upper()}{where[1:]}{'. ' if where else ''}{self.say(ANSWERS[self.kind])}"


def left_text(left_us: int, say: Say = ENGLISH) -> str:
    """The time left, never more than there is: "12 min left", "90 s left"."""
    if left_us >= 2 * MIN_US:
        return say("{minutes} min left", minutes=left_us // MIN_US)
    return say("{seconds} s left", seconds=max(0, left_us) // S_US)


def numbers(folder: Folder, say: Say = ENGLISH) -> Callable[[str, str], str]:
    """Gives a hands-on step's number among those of its script, as "step 4 of 9 by hand".

    Empty for any other step, and for the only one.
    """
    found: dict[tuple[str, str], str] = {}
    for script in folder.scripts.values():
        steps = [step.name for step in script.steps if isinstance(step, HandsOn | CheckPack)]
        for number, name in enumerate(steps, 1):
            if len(steps) > 1:
                found[script.name, name] = say(
                    "step {number} of {count} by hand", number=number, count=len(steps)
                )
    return lambda script, step: found.get((script, step), "")
