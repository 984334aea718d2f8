"""Carries out what a decider orders, in memory and in virtual time: as the bridge does, but at no machine."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Protocol

from exhibit.decisions.commands import Arm, Command, Drop, End, Tell, Type
from exhibit.decisions.decider import Decides
from exhibit.facts import kinds


class FarEnd(Protocol):
    """Who is typed at, and who sees what is decided."""

    def decided(self, fact: kinds.AnyFact) -> None:
        """This was decided, or armed; afterwards the decider gets it as a fact."""

    def typed(self, byte: int, secret: bool) -> None:
        """Takes a byte. The decider got it as a fact before."""

    def is_taken(self, command: Command) -> bool:
        """Whether this command is to be carried out at all."""

    def over(self, outcome: kinds.Outcome) -> None:
        """All that was asked for is over."""


class VirtualRun:
    """One decider's deadlines and orders. Time passes only as `now_us` is set by whoever drives it.

    `keep` is given each fact, as a recording would hold it.
    """

    def __init__(
        self, decider: Decides, far_end: FarEnd, keep: Callable[[kinds.Entry], None] | None = None
    ) -> None:
        self._decider = decider
        self.now_us = 0
        self.deadlines: dict[str, int] = {}
        self._far_end = far_end
        self._keep = keep
        self._ordered: deque[Command] = deque()
        self._seq = 0

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """Something happened that is not received bytes."""
        self._tell(fact)
        self.carry_out()

    def note_meanwhile(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> None:
        """This happened while orders were carried out; what it brings comes behind them."""
        self.now_us = max(self.now_us, at_us)
        self._tell(fact)

    def receive(self, data: bytes) -> None:
        """The machine sent this. What may be part of a secret is withheld, as the bridge does it."""
        if not any(map(self._decider.withholds, data)):
            self._receive(data)
            return
        for byte in data:
            if self._decider.withholds(byte):
                self.note(kinds.BytesWithheld(count=1, why="a secret was being typed"))
            else:
                self._receive(bytes((byte,)))

    def _receive(self, data: bytes) -> None:
        self._ordered += self._decider.received(data, self.now_us)
        self._tell(kinds.BytesReceived(bytes=kinds.to_text(data), first_us=self.now_us))
        self.carry_out()

    def begin(self, commands: list[Command]) -> None:
        """Carries out what was ordered elsewhere."""
        self._ordered += commands
        self.carry_out()

    def pass_deadline(self, name: str) -> None:
        """This deadline passes now."""
        del self.deadlines[name]
        self.note(kinds.DeadlinePassed(name=name))

    def carry_out(self) -> None:
        """In the order of the orders; what a fact brings comes behind the rest."""
        while self._ordered:
            command = self._ordered.popleft()
            if not self._far_end.is_taken(command):
                continue
            match command:
                case Tell(fact=fact):
                    self._far_end.decided(fact)
                    self._tell(fact)
                case Arm(name=name, due_us=due_us):
                    self.deadlines[name] = due_us
                    armed = kinds.DeadlineArmed(name=name, due_us=due_us)
                    self._far_end.decided(armed)
                    self._tell(armed)
                case Drop(name=name):
                    self.deadlines.pop(name, None)
                case Type(data=data, by=by, secret=secret):
                    for byte in data:
                        shown = "" if secret else kinds.to_text(bytes((byte,)))
                        self._tell(kinds.BytesTyped(bytes=shown, count=1, by=by, secret=secret))
                        self._far_end.typed(byte, secret)
                case End(outcome=outcome):
                    self._far_end.over(outcome)

    def _tell(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        self._seq += 1
        entry = kinds.Entry(self._seq, self.now_us, fact)
        if self._keep is not None:
            self._keep(entry)
        self._ordered += self._decider.note(entry)
