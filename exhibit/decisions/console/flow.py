"""Flow control: for how long the machine has held up what is typed, and who let it go on.

An XOFF without an XON would hold up typing for ever. One that is older than the folder says is a trouble;
what was meant by it can only be found out at the machine, and a person may then let typing go on.
"""

from __future__ import annotations

from typing import Final

from exhibit.decisions.commands import Arm, Drop, Tell, WatchCommand
from exhibit.decisions.display.wire import FlowGo, FlowStop, Item
from exhibit.decisions.machine.description import Machine
from exhibit.facts.kinds import AnyFact, TroubleRaised, TypingHeld, TypingLetGo

BLOCKED: Final = "held"
"""The name of its deadline."""
MACHINE: Final = "the machine"


class Flow:
    """Whether the machine blocks what is typed (`blocked_by_xoff`). Nobody else keeps that."""

    def __init__(self, machine: Machine) -> None:
        self._troubles = sorted(
            (trouble for trouble in machine.troubles if trouble.blocked_for_us),
            key=lambda trouble: trouble.blocked_for_us,
        )
        self._since_us: int | None = None
        self._raised = 0
        """How many of the troubles this XOFF has raised."""

    @property
    def blocked_by_xoff(self) -> bool:
        """Whether an XOFF came that no XON has followed."""
        return self._since_us is not None

    def take(self, item: Item, at_us: int) -> list[WatchCommand]:
        """What the machine sent."""
        if isinstance(item, FlowStop) and self._since_us is None:
            self._since_us, self._raised = at_us, 0
            return [Tell(fact=TypingHeld()), *self.deadline()]
        return self.let_go(MACHINE, at_us) if isinstance(item, FlowGo) else []

    def overdue(self) -> list[AnyFact]:
        """The deadline passed: what there is to be told."""
        if self._since_us is None or self._raised == len(self._troubles):
            return []
        trouble = self._troubles[self._raised]
        self._raised += 1
        line = f"XOFF for {trouble.blocked_for_us / 1e6:g} s"
        return [TroubleRaised(trouble=trouble.name, line=line, words=trouble.words, do=trouble.do)]

    def let_go(self, by: str, at_us: int) -> list[WatchCommand]:
        """Typing may go on. Nothing happens where it isn't held up."""
        if self._since_us is None:
            return []
        blocked_us, self._since_us = at_us - self._since_us, None
        return [Drop(name=BLOCKED), Tell(fact=TypingLetGo(by=by, held_us=blocked_us))]

    def forget(self) -> list[WatchCommand]:
        """The line went away or came back."""
        was_blocked, self._since_us = self.blocked_by_xoff, None
        return [Drop(name=BLOCKED)] if was_blocked else []

    def deadline(self) -> list[WatchCommand]:
        """The next one, when a trouble is due; none where typing isn't held up, or no more is to be told."""
        if self._since_us is None or self._raised == len(self._troubles):
            return []
        return [Arm(name=BLOCKED, due_us=self._since_us + self._troubles[self._raised].blocked_for_us)]
