"""The bridge: owns the line and the recording, and carries out what the decisions order.

It writes the fact before the act. Bytes go to the decisions one by one, as they come; whatever they
order closes and writes the piece of received bytes first, so that the recording shows what was
known when it was ordered.
"""

from __future__ import annotations

import queue
from collections import deque
from collections.abc import Callable, Iterable

import msgspec

from exhibit.decisions.commands import Arm, Command, Drop, End, Tell, Type
from exhibit.decisions.decider import Decider
from exhibit.edges.line_events import ErrorsCounted, LineEvent, Lost, Opened, Received
from exhibit.edges.requests import Answer, Reply, Request
from exhibit.facts import kinds
from exhibit.streams.pacing import RecordingClock
from exhibit.streams.pieces import PieceKeeper
from exhibit.streams.recording import RecordingWriter

HEARTBEAT_EVERY_S = 1.5
"""Real seconds. Readers call the bridge silent when none has come for five."""


class StopWanted(msgspec.Struct, frozen=True):
    """The program is asked to end (a signal)."""

    why: str


class Asked(msgspec.Struct, frozen=True):
    """A request, and the way to answer it."""

    request: Request
    reply: Reply


Event = LineEvent | Asked | StopWanted
TypeByte = Callable[[int], str]
"""Puts a byte on the line; gives back why that failed, or nothing."""


class Bridge:
    """One machine's bridge. `type_byte` is None where the machine is only watched."""

    def __init__(
        self,
        decider: Decider,
        writer: RecordingWriter,
        clock: RecordingClock,
        type_byte: TypeByte | None,
        events: queue.SimpleQueue[Event],
    ) -> None:
        self._decider = decider
        self._writer = writer
        self._clock = clock
        self._type_byte = type_byte
        self._events = events
        self._pieces = PieceKeeper()
        self._deadlines: dict[str, int] = {}
        self._withheld = 0
        self._parity_faults = 0
        self._begun = False
        self._over: kinds.Outcome | None = None
        self._refused = ""
        self._last_us = 0

    def deliver(self, event: Event) -> None:
        """Take an event from any thread."""
        self._events.put(event)

    def ask(self, request: Request, reply: Reply) -> None:
        """Take a request from any thread."""
        self._events.put(Asked(request, reply))

    def run(self, stay_when_failed: bool) -> kinds.Outcome:
        """Works until all is done, or until it is told to stop; gives how it ended.

        After a failed script it goes on mirroring until it is told to stop, if `stay_when_failed`.
        Raises RecordingFault when it can no longer record; nothing is typed from then on.
        """
        self._noted(self._writer.opened)
        heartbeat_us = int(HEARTBEAT_EVERY_S * self._clock.rate * 1_000_000)
        next_heartbeat_us = 0
        while True:
            due = [next_heartbeat_us, *self._deadlines.values()]
            piece_due_us = self._pieces.due_us()
            if piece_due_us is not None:
                due.append(piece_due_us)
            for event in self._events_until(min(due)):
                if isinstance(event, StopWanted) and (self._type_byte is None or self._over is not None):
                    return self._closed(self._over or "stopped", event.why)
                self._handle(event)
            now_us = self._clock.now_us()
            if piece_due_us is not None and piece_due_us <= now_us:
                self._close_piece()
            self._pass_deadlines(now_us)
            if now_us >= next_heartbeat_us:
                self._beat(now_us)
                next_heartbeat_us = now_us + heartbeat_us
            if self._over is not None and not (self._over == "failed" and stay_when_failed):
                return self._closed(self._over, f"the scripts are over: {self._over}")

    # -- events -------------------------------------------------------------------------------

    def _events_until(self, due_us: int) -> Iterable[Event]:
        """All that has come; waits for something until `due_us` if nothing has."""
        try:
            yield self._events.get(timeout=self._clock.wait_s(due_us))
            while True:
                yield self._events.get_nowait()
        except queue.Empty:
            return

    def _handle(self, event: Event) -> None:
        match event:
            case Received(data, at_us):
                self._received(data, at_us)
            case Opened(description, at_us):
                self._append(kinds.LineOpened(line=description), at_us)
                if not self._begun:
                    self._begun = True
                    self._carry_out(self._decider.begin(at_us), at_us)
            case Lost(why, at_us):
                self._append(kinds.LineLost(why=why), at_us)
            case ErrorsCounted(parity, framing, overrun, breaks, at_us):
                counted = kinds.LineErrorsCounted(
                    parity=parity, framing=framing, overrun=overrun, breaks=breaks
                )
                self._append(counted, at_us)
            case Asked(request, reply):
                self._refused = ""
                made = kinds.RequestMade(
                    request=request.request, by=request.by, step=request.step, why=request.why
                )
                self._append(made, self._clock.now_us())
                reply(Answer(accepted=not self._refused, why=self._refused))
            case StopWanted(why):
                self._append(
                    kinds.RequestMade(request="stop", by="this computer", why=why), self._clock.now_us()
                )

    def _received(self, data: bytes, at_us: int) -> None:
        at_us = self._last_us = max(at_us, self._last_us)
        for byte in data:
            single = bytes((byte,))
            if self._decider.withholds(byte):
                self._withheld += 1
            else:
                for piece in self._pieces.add(single, at_us):
                    self._write_piece(piece.fact, piece.at_us)
            commands = self._decider.received(single, at_us)
            if commands:
                self._carry_out(commands, at_us)
        faults = self._decider.parity_faults()
        if faults > self._parity_faults:
            counted = kinds.LineErrorsCounted(parity=faults - self._parity_faults)
            self._parity_faults = faults
            self._append(counted, at_us)

    def _pass_deadlines(self, now_us: int) -> None:
        for name, due_us in sorted(self._deadlines.items(), key=lambda pair: pair[1]):
            # One that passes may have dropped or moved another.
            if due_us <= now_us and self._deadlines.get(name) == due_us:
                del self._deadlines[name]
                self._append(kinds.DeadlinePassed(name=name), now_us)

    def _beat(self, now_us: int) -> None:
        self._append(kinds.Heartbeat(wall=self._clock.wall()), now_us)
        stepped = self._clock.step()
        if stepped is not None:
            self._append(stepped, now_us)

    # -- commands -----------------------------------------------------------------------------

    def _carry_out(self, commands: Iterable[Command], at_us: int) -> None:
        """Carries out commands in order; what follows from a fact comes directly behind it."""
        waiting = deque(commands)
        while waiting:
            match waiting.popleft():
                case Tell(fact=fact):
                    waiting.extendleft(reversed(self._record(fact, at_us)))
                case Arm(name=name, due_us=due_us):
                    self._deadlines[name] = due_us
                    waiting.extendleft(
                        reversed(self._record(kinds.DeadlineArmed(name=name, due_us=due_us), at_us))
                    )
                case Drop(name=name):
                    self._deadlines.pop(name, None)
                case Type(data=data, by=by, secret=secret):
                    waiting.extendleft(reversed(self._type(data, by, secret, at_us)))
                case End(outcome=outcome):
                    self._over = outcome

    def _type(self, data: bytes, by: str, secret: bool, at_us: int) -> list[Command]:
        commands: list[Command] = []
        for byte in data:
            shown = "" if secret else kinds.to_text(bytes((byte,)))
            commands += self._record(kinds.BytesTyped(bytes=shown, count=1, by=by, secret=secret), at_us)
            assert self._type_byte is not None, "a machine that is only watched can't be typed at"
            why = self._type_byte(byte)
            if why:
                return commands + self._record(kinds.TypingFailed(why=why), at_us)
        return commands

    # -- the recording ------------------------------------------------------------------------

    def _append(self, fact: kinds.AnyFact, at_us: int) -> None:
        self._carry_out(self._record(fact, at_us), at_us)

    def _record(self, fact: kinds.AnyFact, at_us: int) -> list[Command]:
        """Writes the open piece and the fact; gives what the decisions order for them."""
        self._close_piece()
        if isinstance(fact, kinds.RequestRefused):
            self._refused = fact.why
        return self._write(fact, at_us)

    def _close_piece(self) -> None:
        piece = self._pieces.take()
        if piece is not None:
            self._write_piece(piece.fact, piece.at_us)
        if self._withheld:
            withheld, self._withheld = self._withheld, 0
            self._write(kinds.BytesWithheld(count=withheld, why="a secret was being typed"), self._last_us)

    def _write_piece(self, fact: kinds.BytesReceived, at_us: int) -> None:
        # A piece orders nothing: its bytes have been decided upon one by one.
        self._write(fact, at_us)

    def _write(self, fact: kinds.AnyFact, at_us: int) -> list[Command]:
        nearly_full = self._writer.nearly_full
        entry = self._writer.append(fact, at_us)
        commands: list[Command] = []
        if self._writer.nearly_full is not nearly_full and self._writer.nearly_full is not None:
            commands += self._decider.note(self._writer.nearly_full)
        return commands + self._decider.note(entry)

    def _noted(self, entry: kinds.Entry) -> None:
        self._carry_out(self._decider.note(entry), entry.at_us)

    def _closed(self, outcome: kinds.Outcome, why: str) -> kinds.Outcome:
        self._close_piece()
        self._writer.close(why, self._clock.now_us())
        return outcome
