"""Flow control: how long the machine has blocked typing, and who released it.

An XOFF without an XON would block typing for ever. One that is older than the folder allows is a trouble.
What caused it can be found out only at the machine; a person can then release typing.
"""

from __future__ import annotations

from typing import Final

from exhibit.decisions.commands import Arm, Drop, Tell, WatchCommand
from exhibit.decisions.console.signs import trouble_raised
from exhibit.decisions.display.wire import FlowGo, FlowStop, Item
from exhibit.decisions.machine.description import Machine
from exhibit.facts.kinds import AnyFact, TypingHeld, TypingLetGo

BLOCKED: Final = "held"
"""The name of its deadline."""
MACHINE: Final = "the machine"


class Flow:
    """Whether the machine blocks typing (`blocked_by_xoff`). Nothing else keeps track of that."""

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
        """Whether an XOFF has come and no XON since."""
        return self._since_us is not None

    def take(self, item: Item, at_us: int) -> list[WatchCommand]:
        """Takes an item that the machine sent; only XON and XOFF matter."""
        if isinstance(item, FlowStop) and self._since_us is None:
            self._since_us, self._raised = at_us, 0
            return [Tell(fact=TypingHeld()), *self.deadline()]
        return self.let_go(MACHINE, at_us) if isinstance(item, FlowGo) else []

    def overdue(self) -> list[AnyFact]:
        """The deadline passed. The trouble that is due, if one is."""
        if self._since_us is None or self._raised == len(self._troubles):
            return []
        trouble = self._troubles[self._raised]
        self._raised += 1
        line = f"XOFF for {trouble.blocked_for_us / 1e6:g} s"
        return [trouble_raised(trouble, line)]

    def let_go(self, by: str, at_us: int) -> list[WatchCommand]:
        """Releases typing; `by` is who did. Does nothing if it isn't blocked."""
        if self._since_us is None:
            return []
        blocked_us, self._since_us = at_us - self._since_us, None
        return [Drop(name=BLOCKED), Tell(fact=TypingLetGo(by=by, held_us=blocked_us))]

    def forget(self) -> list[WatchCommand]:
        """The line was lost or opened: an XOFF from before counts no more."""
        was_blocked, self._since_us = self.blocked_by_xoff, None
        return [Drop(name=BLOCKED)] if was_blocked else []

    def deadline(self) -> list[WatchCommand]:
        """Arms the deadline for the next trouble; empty if typing isn't blocked or all have been raised."""
        if self._since_us is None or self._raised == len(self._troubles):
            return []
        return [Arm(name=BLOCKED, due_us=self._since_us + self._troubles[self._raised].blocked_for_us)]
