"""The bridge: owns the line and the recording, and carries out what the decisions order.

It writes the fact before the act. Bytes go to the decisions one by one, as they come; whatever they
order closes and writes the piece of received bytes first, so that the recording shows what was
known when it was ordered.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Final

from exhibit.bridge.inbox import Asked, BridgeQueue, Event, Inbox, StopWanted
from exhibit.bridge.request_door import Answer, Reply, Request
from exhibit.decisions.commands import Arm, Command, Drop, End, Resume, Tell, Type
from exhibit.decisions.decider import REST, Decider
from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.line.events import ErrorsCounted, Lost, Opened, ReaderFailed, Received, Unreadable
from exhibit.streams.pacing import RecordingClock
from exhibit.streams.pieces import PieceKeeper
from exhibit.streams.recording import RecordingWriter

HEARTBEAT_EVERY_S = 1.0
"""Real seconds. One byte may be held up by the line for a second more, and readers are promised a
heartbeat every two."""
QUIET_US = 2_000_000
"""Of the recording's clock: so long nothing may have come before a recording ends for another day."""
_NOT_TRIED: Final = "it was to follow a character that the line did not take, so it was not tried"
TypeByte = Callable[[int, int], str]
"""Puts a byte on the line, unless that was opened again after the opening of this number. Returns why it
failed, or an empty text."""


class Bridge:
    """One machine's bridge and its recording. `type_byte` is None where the machine is only watched.

    `left`: what the last recording left open, where that matters. `carried_over`: what the recording
    before it was ended with, where this one goes on; `opening` is then the one that its bridge knew of.
    """

    def __init__(
        self,
        decider: Decider,
        writer: RecordingWriter,
        clock: RecordingClock,
        type_byte: TypeByte | None,
        events: Inbox,
        left: kinds.LastRecordingRead | None = None,
        carried_over: kinds.CarriedOver | None = None,
        opening: int = 0,
    ) -> None:
        self._decider = decider
        self._writer = writer
        self._clock = clock
        self._type_byte = type_byte
        self._queue = BridgeQueue(events, clock)
        self._left = left
        self._goes_on_from = carried_over
        self._day = _day_of(clock.opened_wall)
        self._last_event_us = 0
        self._pieces = PieceKeeper()
        self._deadlines: dict[str, int] = {}
        self._ordered: deque[Command] = deque()
        self._in_vain = 0
        """How many of those, from the front, were ordered before it was known that a byte had failed."""
        self._at_us = 0
        """The time of the last thing that happened. Nothing is decided or recorded with one before it."""
        self._next_beat_us = 0
        self._parity_faults = 0
        self._over: kinds.Outcome | None = None
        self._refused = ""
        self.opening = opening
        """The number of the last opening of the line that the decisions know of; 0 before the first."""

    def ask(self, request: Request, reply: Reply) -> None:
        """Take a request from any thread."""
        self._queue.put(Asked(request, reply))

    def run(self, stay_when_failed: bool) -> kinds.Outcome | kinds.CarriedOver:
        """Works until all is done, or until it is told to stop; gives how it ended.

        After a failed script it goes on mirroring until it is told to stop, if `stay_when_failed`. At
        the first quiet moment of another day it ends too, and gives with what the next recording is to
        begin. Raises RecordingFault when it can no longer record; nothing is typed from then on.
        """
        self._ordered += self._decider.note(self._writer.opened)
        if self._left is not None:
            self._record(self._left, 0)
        if self._goes_on_from is not None:
            self._record(self._goes_on_from, 0)
            self._parity_faults = self._decider.parity_faults()
        self._carry_out()
        while True:
            piece_due_us = self._pieces.due_us()
            due = [self._next_beat_us, *self._deadlines.values()]
            events, now_us = self._queue.until(min(due if piece_due_us is None else [*due, piece_due_us]))
            for event in events:
                if isinstance(event, StopWanted) and (self._type_byte is None or self._over is not None):
                    return self._closed(self._over or "stopped", event.why)
                # Told to end, it ends when the tidy-up is over, also if that didn't go well.
                stay_when_failed = stay_when_failed and not isinstance(event, StopWanted)
                self._handle(event)
            if piece_due_us is not None and piece_due_us <= now_us:
                self._close_piece()
                self._carry_out()
            self._pass_deadlines(now_us)
            has_beaten = self._beat_if_due()
            self._carry_out()
            if self._over is not None and not (self._over == "failed" and stay_when_failed):
                return self._closed(self._over, f"the scripts are over: {self._over}")
            carried_over = self._carried_over() if has_beaten else None
            if carried_over is not None:
                self._closed("done", "another day has begun")
                return carried_over

    # -- events -------------------------------------------------------------------------------

    def _handle(self, event: Event) -> None:
        self._last_event_us = self._clock.now_us()
        match event:
            case Received(data, at_us):
                self._received(data, at_us)
            case Opened(description, at_us, opening, keeps_time):
                self.opening = opening
                self._append(kinds.LineOpened(line=description, keeps_time=keeps_time), at_us)
            case Lost(why, at_us):
                self._append(kinds.LineLost(why=why), at_us)
            case ErrorsCounted(parity, framing, overrun, breaks, at_us):
                counted = kinds.LineErrorsCounted(
                    parity=parity, framing=framing, overrun=overrun, breaks=breaks
                )
                self._append(counted, at_us)
            case Unreadable():
                self._unreadable(event)
            case ReaderFailed(fault):
                self._closed("failed", fault.what)
                raise fault
            case Asked(request, reply):
                self._asked(request, reply)
            case StopWanted(why):
                stop = kinds.RequestMade(request="stop", by="this computer", why=why)
                self._append(stop, self._clock.now_us())

    def _unreadable(self, event: Unreadable) -> None:
        """What first came on the line is no text: by its settings, as far as can be told.

        Switching on may do that to a line too, and so may a loss. So where scripts are run they go on, and
        find out where the machine stands. Where it is only watched, and never said anything that could be
        read, there is nothing to be seen at such settings.
        """
        what, do = event.fault.what, event.fault.do
        self._append(kinds.LineUnreadable(cause=event.cause, what=what, do=do), event.at_us)
        if self._type_byte is None and self.opening == 1:
            self._closed("failed", what)
            raise event.fault

    def _asked(self, request: Request, reply: Reply) -> None:
        made = kinds.RequestMade(request=request.request, by=request.by, step=request.step, why=request.why)
        self._refused = ""
        try:
            self._append(made, self._clock.now_us())
        except RecordingFault as fault:
            reply(Answer(accepted=False, why=fault.what))
            raise
        reply(Answer(accepted=not self._refused, why=self._refused))

    def _received(self, data: bytes, at_us: int) -> None:
        withheld = 0
        for byte in data:
            if self._decider.withholds(byte):
                withheld += 1
                continue
            self._withhold(withheld, at_us)
            withheld = 0
            # What was typed upon the byte before may have been held up by the line until after a heartbeat.
            at_us = self._in_order(at_us)
            single = bytes((byte,))
            for piece in self._pieces.add(single, at_us):
                self._write(piece.fact, piece.at_us)
            self._at_us = at_us
            self._ordered += self._decider.received(single, at_us)
            self._carry_out()
        self._withhold(withheld, at_us)
        faults = self._decider.parity_faults()
        if faults > self._parity_faults:
            counted = kinds.LineErrorsCounted(parity=faults - self._parity_faults)
            self._parity_faults = faults
            self._append(counted, at_us)

    def _withhold(self, count: int, at_us: int) -> None:
        if count:
            self._append(kinds.BytesWithheld(count=count, why="a secret was being typed"), at_us)

    def _pass_deadlines(self, now_us: int) -> None:
        for name, due_us in sorted(self._deadlines.items(), key=lambda pair: pair[1]):
            # One that passes may have dropped or moved another.
            if due_us <= now_us and self._deadlines.get(name) == due_us:
                del self._deadlines[name]
                self._append(kinds.DeadlinePassed(name=name), now_us)

    def _carried_over(self) -> kinds.CarriedOver | None:
        """With what the recording of another day is to begin, if now is a quiet moment to begin it.

        All that was ordered must have been carried out.
        """
        now_us = self._clock.now_us()
        quiet = now_us - self._last_event_us >= QUIET_US and self._queue.empty
        if not quiet or set(self._deadlines) - {REST} or _day_of(self._clock.wall()) <= self._day:
            return None
        return self._decider.carry_over(now_us)

    def _beat_if_due(self) -> bool:
        now_us = self._clock.now_us()
        if now_us < self._next_beat_us:
            return False
        self._next_beat_us = now_us + self._clock_us(HEARTBEAT_EVERY_S)
        self._record(kinds.Heartbeat(wall=self._clock.wall()), now_us)
        stepped = self._clock.step()
        if stepped is not None:
            self._record(stepped, now_us)
            self._day = min(self._day, _day_of(stepped.wall))  # set back, it has that midnight before it
        return True

    # -- commands -----------------------------------------------------------------------------

    def _carry_out(self) -> None:
        """Carries out what was ordered, in that order; what a fact brings with it comes behind the rest.

        The decisions know of everything that they have ordered already. So what they order when one of those
        facts has been recorded rests on the others too. They learn that the disc is full only when nothing is
        left to be carried out: it may mean a failure, and nothing may be typed between that and its fact.
        """
        self._carry_out_ordered()
        nearly_full = self._writer.take_nearly_full()
        if nearly_full is not None:
            self._record(nearly_full, self._at_us)
            self._carry_out_ordered()

    def _carry_out_ordered(self) -> None:
        while self._ordered:
            in_vain, self._in_vain = self._in_vain > 0, max(0, self._in_vain - 1)
            match self._ordered.popleft():
                case Tell(fact=fact):
                    self._record(fact, self._at_us)
                case Arm(name=name, due_us=due_us):
                    self._deadlines[name] = due_us
                    self._record(kinds.DeadlineArmed(name=name, due_us=due_us), self._at_us)
                case Drop(name=name):
                    self._deadlines.pop(name, None)
                case Type(data=data, by=by, secret=secret):
                    self._type(data, by, secret, in_vain)
                case End(outcome=outcome):
                    self._over = outcome
                case Resume():
                    self._over = None

    def _type(self, data: bytes, by: str, secret: bool, in_vain: bool) -> None:
        """Types byte by byte. `in_vain`: a byte before these has failed, so they are not tried."""
        assert self._type_byte is not None, "a machine that is only watched can't be typed at"
        for byte in data:
            shown = "" if secret else kinds.to_text(bytes((byte,)))
            typed = kinds.BytesTyped(bytes=shown, count=1, by=by, secret=secret)
            self._record(typed, self._at_us)
            why = _NOT_TRIED if in_vain else self._type_byte(byte, self.opening)
            if why and not in_vain:
                in_vain, self._in_vain = True, len(self._ordered)
            if why:
                self._record(kinds.TypingFailed(why=why), self._clock.now_us())
            self._beat_if_due()  # the line may have held it up

    # -- the recording ------------------------------------------------------------------------

    def _append(self, fact: kinds.AnyFact, at_us: int) -> None:
        self._record(fact, at_us)
        self._carry_out()

    def _record(self, fact: kinds.AnyFact, at_us: int) -> None:
        """Writes the open piece and the fact."""
        self._close_piece()
        if isinstance(fact, kinds.RequestRefused):
            self._refused = fact.why
        self._write(fact, at_us)

    def _close_piece(self) -> None:
        piece = self._pieces.take()
        if piece is not None:
            self._write(piece.fact, piece.at_us)

    def _write(self, fact: kinds.AnyFact, at_us: int) -> None:
        entry = self._writer.append(fact, self._in_order(at_us))
        self._at_us = entry.at_us
        self._ordered += self._decider.note(entry)

    def _closed(self, outcome: kinds.Outcome, why: str) -> kinds.Outcome:
        self._close_piece()
        self._writer.close(why, self._clock.now_us())
        return outcome

    def _in_order(self, at_us: int) -> int:
        """Not before what happened last; nor in the future, by the clock of the recording before this one."""
        return max(min(at_us, self._clock.now_us()), self._at_us)

    def _clock_us(self, real_s: float) -> int:
        return int(real_s * self._clock.rate * 1_000_000)


def _day_of(wall: str) -> str:
    """The date of a date and time as it is written down (RFC 3339), which sorts as dates do."""
    return wall[: len("2026-11-25")]
