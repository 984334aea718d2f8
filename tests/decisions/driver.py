"""Carries out what a Decider orders, as the bridge does, but in virtual time and in memory."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Protocol

from exhibit.decisions.commands import Arm, Command, Drop, End, Resume, Tell, Type
from exhibit.decisions.console.silence import NOTHING_HEARD
from exhibit.decisions.decider import Decider
from exhibit.decisions.withholding.withholding import Part, Passed, Withholding
from exhibit.facts import kinds
from tests.decisions.heron import MACHINE, SECRET, S, opened

MOST_TURNS = 100_000


class FarEnd(Protocol):
    """A machine at the other end of the line."""

    def typed(self, byte: int, at_us: int) -> None:
        """Takes a byte."""

    def next_us(self) -> int | None:
        """When it prints next, if it will."""

    def take(self) -> bytes:
        """What it prints then."""


class Driver:
    """`ordered` is called with every command as it is carried out; a drop of what isn't armed is none."""

    def __init__(
        self,
        decider: Decider,
        far_end: FarEnd | None = None,
        ordered: Callable[[Command], None] = lambda command: None,
        opened_as: kinds.RecordingOpened | None = None,
        withholding: Withholding | None = None,
    ) -> None:
        self.decider = decider
        self.withholding = withholding or Withholding(MACHINE, (SECRET,))
        self.far_end = far_end
        self._ordered = ordered
        self.now_us = 0
        self.entries: list[kinds.Entry] = []
        self.deadlines: dict[str, int] = {}
        self.typed = b""
        self.secrets_typed = b""
        self.over: kinds.Outcome | None = None
        self.typing_fails = ""
        self._waiting: deque[Command] = deque()
        self._piece = b""
        self._first_us = self._last_us = 0
        self.note(opened_as or opened())

    # -- what happens

    def note(self, fact: kinds.AnyFact) -> None:
        """Something happened that is not received bytes."""
        self._record(fact)
        self._carry_out()

    def open_line(self, *, keeps_time: bool = False) -> None:
        self.note(kinds.LineOpened(line="a line", keeps_time=keeps_time))

    def lose_line(self, why: str = "unplugged") -> None:
        self.note(kinds.LineLost(why=why))

    def asks(
        self, request: str, step: str = "", by: str = "a docent", why: str = "", minutes: int = 0
    ) -> None:
        made = kinds.RequestMade(request=request, by=by, step=step, why=why, minutes=minutes)  # type: ignore[arg-type]
        self.note(made)

    def prints(self, data: bytes) -> None:
        """The machine printed this, now."""
        for byte in data:
            self._take_parts(self.withholding.take(byte, self.now_us))

    def stands(self, prompt: bytes) -> None:
        """The machine printed this, and then nothing for so long that a prompt at its end stands settled."""
        self.prints(prompt)
        self.passes("settle")

    def passes(self, name: str) -> None:
        """Time goes on until this deadline has passed; none may be due before it."""
        while self.deadlines.get(NOTHING_HEARD, self.deadlines[name]) < self.deadlines[name]:
            self.passes(NOTHING_HEARD)  # a test that is about something else needn't know of it
        self._let_go_until(self.deadlines[name])
        due_us = self.deadlines[name]
        assert due_us == min(self.deadlines.values()), f"before {name}: {self.deadlines}"
        self.now_us = max(self.now_us, due_us)
        del self.deadlines[name]
        self.note(kinds.DeadlinePassed(name=name))

    def wait(self, us: int) -> None:
        """Time goes on; no deadline may be due meanwhile."""
        until_us = self.now_us + us
        self._let_go_until(until_us)
        while self.deadlines.get(NOTHING_HEARD, until_us + 1) <= until_us:
            self.passes(NOTHING_HEARD)
        self.now_us = until_us
        assert all(due_us > self.now_us for due_us in self.deadlines.values()), self.deadlines

    def run(self, until: Callable[[], bool] | None = None, within_us: int = 7200 * S) -> None:
        """The machine prints and deadlines pass, each at its time, until `until` or until nothing is due."""
        give_up_us = self.now_us + within_us
        for _ in range(MOST_TURNS):
            if until is not None and until():
                return
            prints_us = self.far_end.next_us() if self.far_end else None
            due = sorted((due_us, name) for name, due_us in self.deadlines.items())
            held_us = self.withholding.due_us()
            soonest = [us for us in (prints_us, held_us, *(us for us, _ in due[:1])) if us is not None]
            if not soonest or min(soonest) > give_up_us:
                assert until is None, f"it never came; last: {[e.fact for e in self.entries[-8:]]}"
                return
            self.now_us = max(self.now_us, min(soonest))
            if prints_us is not None and prints_us <= min(soonest):
                assert self.far_end is not None
                self.prints(self.far_end.take())
            elif held_us is not None:
                self._let_go_until(held_us)
            else:
                self.passes(due[0][1])
        raise AssertionError(f"it goes on for ever; last: {[e.fact for e in self.entries[-8:]]}")

    def facts(self, *of: type) -> list[kinds.AnyFact]:
        """The facts so far, of these kinds."""
        return [entry.fact for entry in self.entries if not of or isinstance(entry.fact, of)]  # type: ignore[misc]

    # -- as the bridge does it

    def _carry_out(self) -> None:
        while self._waiting:
            command = self._waiting.popleft()
            if not isinstance(command, Drop) or command.name in self.deadlines:
                self._ordered(command)
            match command:
                case Tell(fact=fact):
                    self._record(fact)
                case Arm(name=name, due_us=due_us):
                    self.deadlines[name] = due_us
                    self._record(kinds.DeadlineArmed(name=name, due_us=due_us))
                case Drop(name=name):
                    self.deadlines.pop(name, None)
                case Type(data=data, by=by, secret=True):
                    self._record(kinds.SecretTyped(by=by))
                    self._type(data, by, secret=True)
                case Type(data=data, by=by):
                    self._type(data, by, secret=False)
                case End(outcome=outcome):
                    self.over = outcome
                case Resume():
                    self.over = None

    def _type(self, data: bytes, by: str, secret: bool) -> None:
        for byte in data:
            self.withholding.typed(bytes((byte,)), secret=secret)
            if not secret:
                self._record(kinds.BytesTyped(bytes=kinds.to_text(bytes((byte,))), count=1, by=by))
            if self.typing_fails:
                self._record(kinds.TypingFailed(why=self.typing_fails))
                continue
            self.typed += b"*" if secret else bytes((byte,))
            self.secrets_typed += bytes((byte,)) if secret else b""
            if self.far_end is not None:
                self.far_end.typed(byte, self.now_us)

    def _let_go_until(self, until_us: int) -> None:
        """What is held back until then is let through at its time."""
        while (held_us := self.withholding.due_us()) is not None and held_us <= until_us:
            self.now_us = max(self.now_us, held_us)
            self._take_parts(self.withholding.overdue())

    def _take_parts(self, parts: list[Part]) -> None:
        for part in parts:
            if isinstance(part, Passed):
                self._first_us = self._first_us if self._piece else part.at_us
                self._last_us = part.at_us
                self._piece += bytes((part.byte,))
                self._waiting += self.decider.received(bytes((part.byte,)), part.at_us)
                self._carry_out()
            else:
                self.note(kinds.SecretWithheld(was_typed=part.was_typed))

    def _record(self, fact: kinds.AnyFact) -> None:
        if self._piece:
            piece, self._piece = self._piece, b""
            received = kinds.BytesReceived(bytes=kinds.to_text(piece), first_us=self._first_us)
            self._write(received, self._last_us)
        self._write(fact, self.now_us)

    def _write(self, fact: kinds.AnyFact, at_us: int) -> None:
        entry = kinds.Entry(len(self.entries) + 1, at_us, fact)
        self.entries.append(entry)
        self.withholding.note(fact)
        self._waiting += self.decider.note(entry)
