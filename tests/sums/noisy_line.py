"""A command typed by the real keying at a simple machine, over a line that damages characters.

Nothing here uses `exhibit.sums`, so the results can be compared with its calculations.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable, Sequence
from typing import Any

from exhibit.decisions.commands import Arm, Drop, Type
from exhibit.decisions.console.flow import Flow
from exhibit.decisions.console.keying import Keying
from exhibit.decisions.console.outcomes import Failed, Keyed, TypingEnd
from exhibit.decisions.display.wire import Wire
from tests.decisions.heron import machine

RETURN, CANCEL, SHOW_AGAIN = 13, 24, 14
BEFORE_AGAIN = b"^\r"
"""What it prints before the line that it shows again."""
SETTLE_US = 1000
Damage = Callable[[int], list[int]]
"""What arrives for a character."""


class SimpleMachine:
    """A machine that echoes, rubs out, cancels, shows its line again and executes."""

    def __init__(self, upper: bool, ends_line: set[int], echo: bool = True) -> None:
        self._line = ""
        self.mute = False
        self._upper = upper
        self._ends_line = ends_line
        self._echo = echo

    def take(self, character: int) -> tuple[bytes, str | None]:
        """Return what it prints, and what it executes (None for nothing)."""
        if character in self._ends_line:
            executed, self._line = self._line, ""
            return b"\r\n", executed
        if character == CANCEL:
            self._line = ""
            return b"\r\n", None
        if character in (8, 127):
            shown = b"<" if self._line else b"\a"
            self._line = self._line[:-1]
            return shown, None
        if character == SHOW_AGAIN:
            return BEFORE_AGAIN + self._line.encode(), None
        if character == 19:
            self.mute = True
        if character in (0, 17, 19):
            return b"", None
        if not 32 <= character < 127:
            return b"\a", None
        letter = chr(character).upper() if self._upper else chr(character)
        self._line += letter
        return letter.encode() if self._echo else b"", None


class Typing:
    """One command, typed once. `outcome` has the names of the chances in a Risk."""

    def __init__(
        self,
        command: str,
        inward: Damage,
        outward: Damage,
        *,
        upper: bool = True,
        echo: bool = True,
        ends_line: frozenset[int] = frozenset({RETURN}),
        attempts: int = 3,
        prompt_recognised: Callable[[], bool] = lambda: True,
        window: int = 1,
        show_again: bool = False,
    ) -> None:
        settings = machine(
            typing={
                "echo": "full" if echo else "none",
                "folds_to": "upper case" if upper else "as typed",
                "cancel": bytes((CANCEL,)),
                "return_key": bytes((RETURN,)),
                "window": window,
                "show_again": bytes((SHOW_AGAIN,)) if show_again else b"",
            }
        )
        self._keying = Keying(settings, SETTLE_US, Flow(settings))
        self._wire = Wire("drop", flow_control=True)
        self._machine = SimpleMachine(upper, set(ends_line), echo)
        self._inward, self._outward = inward, outward
        self._whole = command.upper() if upper else command
        self._coming: list[int] = []
        self._due: int | None = None
        self._now_us = 0
        self._end: TypingEnd | Failed | None = None
        self.outcome = ""
        self._type(command, attempts, prompt_recognised)

    def _type(self, command: str, attempts: int, prompt_recognised: Callable[[], bool]) -> None:
        self._follow(self._keying.begin(command, 0, by="test"))
        tries = 1
        while self.outcome in ("", "right"):
            if self._coming:
                # After a cancelled command, what is waiting to be read is the machine's new prompt.
                character = self._coming.pop(0)
                for item in self._wire.feed(bytes((character,))):
                    self._follow(self._keying.take(item, self._now_us))
            elif self._end is TypingEnd.CANCELLED:
                if self._cleared and not self._machine.mute and tries < attempts and prompt_recognised():
                    tries += 1
                    self._wire = Wire("drop", flow_control=True)
                    self._end = None
                    self._carry_out(self._keying.again(self._now_us))
                else:
                    break
            elif self._due is not None:
                self._now_us, self._due = self._due, None
                self._follow(self._keying.overdue(self._now_us))
            else:
                break
        self.outcome = self.outcome or "nothing"

    def _follow(self, keyed: Keyed) -> None:
        self._end = keyed.end or self._end
        self._carry_out(keyed.commands)

    def _carry_out(self, commands: Sequence[Any]) -> None:
        for command in commands:
            match command:
                case Type(data=data):
                    for character in data:
                        self._goes_out(character)
                case Arm(due_us=due_us):
                    self._due = due_us
                case Drop():
                    self._due = None

    def _goes_out(self, character: int) -> None:
        self._cleared = False
        for arrived in self._inward(character):
            shown, executed = self._machine.take(arrived)
            if executed is not None and self.outcome in ("", "right"):
                self.outcome = self._called(executed, character)
            self._cleared = self._cleared or (arrived == CANCEL and character == CANCEL)
            if character != CANCEL and not self._machine.mute:
                for emitted in shown:
                    self._coming += self._outward(emitted)

    def _called(self, executed: str, typed: int) -> str:
        if executed == self._whole:
            return "right" if typed == RETURN and not self.outcome else "unseen"
        if not executed:
            return "bare"
        return executed if self._whole.startswith(executed) else "wrong"


# -- every path --------------------------------------------------------------------------------------


def every_way(run: Callable[[Callable[[Sequence[tuple[Any, float]]], Any]], str]) -> dict[str, float]:
    """Return the chance of each outcome of `run`, by trying every result of each random choice in it."""
    found: defaultdict[str, float] = defaultdict(float)
    todo: list[list[int]] = [[]]
    while todo:
        path = todo.pop()
        taken: list[int] = []
        chance = 1.0

        def choose(
            options: Sequence[tuple[Any, float]], path: list[int] = path, taken: list[int] = taken
        ) -> Any:
            nonlocal chance
            if len(taken) < len(path):
                index = path[len(taken)]
            else:
                index = 0
                todo.extend([*taken, other] for other in range(1, len(options)))
            taken.append(index)
            chance *= options[index][1]
            return options[index][0]

        found[run(choose)] += chance
    return dict(found)


# -- random noise ------------------------------------------------------------------------------------


def by_dice(dice: random.Random, **rates: float) -> Damage:
    """Return a function that damages characters at random, as `Noise` with the same rates describes it."""

    names, weights = [*rates, ""], [*rates.values(), 1 - sum(rates.values())]

    def damage(character: int) -> list[int]:
        match dice.choices(names, weights)[0]:
            case "":
                return [character]
            case "lost":
                return []
            case "doubled":
                return [character, character]
            case "flipped":
                return [character ^ (1 << dice.randrange(7))]
            case "replaced":
                return [dice.randrange(256) & 127]
        while True:  # garbled
            other = dice.randrange(32, 127)
            if other != character:
                return [other]

    return damage
