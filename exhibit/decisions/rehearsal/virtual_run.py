"""Carries out a decider's commands as the bridge does, but in memory, in virtual time, without a machine."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Protocol

from exhibit.decisions.commands import Arm, Command, Drop, End, Tell, Type
from exhibit.decisions.decider import Decides
from exhibit.decisions.withholding.withholding import Part, Passed, Withholding
from exhibit.facts import kinds


class FarEnd(Protocol):
    """What takes the typing in place of a machine, and what follows the decisions."""

    def decided(self, fact: kinds.AnyFact) -> None:
        """Called with each fact that was decided, before the decider gets it as recorded."""

    def typed(self, byte: int, secret: bool) -> None:
        """Called with each typed byte, after the decider got it as a fact."""

    def is_taken(self, command: Command) -> bool:
        """Whether to carry this command out."""

    def over(self, outcome: kinds.Outcome) -> None:
        """Called when everything that a person asked for is over."""


class VirtualRun:
    """One decider's deadlines and commands. Time passes only when the caller sets `now_us`.

    `keep` is called with each fact, as an entry of a recording. `withholding` is needed only if real secrets
    are typed: in a recording they have been withheld already.
    """

    def __init__(
        self,
        decider: Decides,
        far_end: FarEnd,
        keep: Callable[[kinds.Entry], None] | None = None,
        withholding: Withholding | None = None,
    ) -> None:
        self._withholding = withholding
        self._decider = decider
        self.now_us = 0
        self.deadlines: dict[str, int] = {}
        self._far_end = far_end
        self._keep = keep
        self._commands: deque[Command] = deque()
        self._seq = 0

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """This happened; for received bytes use `receive`."""
        self._record(fact)
        self.carry_out()

    def note_meanwhile(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> None:
        """This happened while commands were being carried out; those that follow from it come after them."""
        self.now_us = max(self.now_us, at_us)
        self._record(fact)

    def receive(self, data: bytes) -> None:
        """The machine sent this. Secrets are withheld, as by the bridge."""
        if self._withholding is None:
            self._receive(data)
            return
        for byte in data:
            self._take_parts(self._withholding.take(byte, self.now_us))

    def held_due_us(self) -> int | None:
        """When to call `let_go_held`; None while nothing is held back."""
        return self._withholding.due_us() if self._withholding is not None else None

    def let_go_held(self) -> None:
        """Nothing more has come after what is held back."""
        assert self._withholding is not None
        self._take_parts(self._withholding.overdue())

    def _take_parts(self, parts: list[Part]) -> None:
        for part in parts:
            if isinstance(part, Passed):
                self._receive(bytes((part.byte,)))
            else:
                self.note(kinds.SecretWithheld(was_typed=part.was_typed))

    def _receive(self, data: bytes) -> None:
        self._commands += self._decider.received(data, self.now_us)
        self._record(kinds.BytesReceived(bytes=kinds.to_text(data), first_us=self.now_us))
        self.carry_out()

    def begin(self, commands: list[Command]) -> None:
        """Carries out these commands."""
        self._commands += commands
        self.carry_out()

    def pass_deadline(self, name: str) -> None:
        """This deadline passes now."""
        del self.deadlines[name]
        self.note(kinds.DeadlinePassed(name=name))

    def carry_out(self) -> None:
        """Carries out all commands in order; those that follow from a fact come last."""
        while self._commands:
            command = self._commands.popleft()
            if not self._far_end.is_taken(command):
                continue
            match command:
                case Tell(fact=fact):
                    self._far_end.decided(fact)
                    self._record(fact)
                case Arm(name=name, due_us=due_us):
                    self.deadlines[name] = due_us
                    armed = kinds.DeadlineArmed(name=name, due_us=due_us)
                    self._far_end.decided(armed)
                    self._record(armed)
                case Drop(name=name):
                    self.deadlines.pop(name, None)
                case Type(data=data, by=by, secret=True):
                    self._record(kinds.SecretTyped(by=by))
                    self._tell_typed(data, secret=True)
                    for byte in data:
                        self._far_end.typed(byte, True)
                case Type(data=data, by=by):
                    self._tell_typed(data, secret=False)
                    for byte in data:
                        self._record(kinds.BytesTyped(bytes=kinds.to_text(bytes((byte,))), count=1, by=by))
                        self._far_end.typed(byte, False)
                case End(outcome=outcome):
                    self._far_end.over(outcome)

    def _record(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        self._seq += 1
        entry = kinds.Entry(self._seq, self.now_us, fact)
        if self._keep is not None:
            self._keep(entry)
        if self._withholding is not None:
            self._withholding.note(fact)
        self._commands += self._decider.note(entry)

    def _tell_typed(self, data: bytes, *, secret: bool) -> None:
        if self._withholding is not None:
            self._withholding.typed(data, secret=secret)
