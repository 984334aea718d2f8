"""The bridge: owns the line and the recording, and carries out the commands of the decisions.

It writes each fact before the act. Received bytes go to the decisions one by one, once secrets have been
withheld from them. Before a command is carried out, the piece of bytes received so far is recorded, so that
the recording shows what the decision was based on.
"""

from __future__ import annotations

from collections import deque
from typing import Final

from exhibit.bridge.inbox import Asked, Event, Inbox, StopWanted, wait_for_events
from exhibit.bridge.keyed_in import KeyedIn
from exhibit.bridge.own_terminal import AtTerminal, OwnTerminal
from exhibit.bridge.request_door import Answer, Reply, Request
from exhibit.bridge.sender import Sender, TypeByte
from exhibit.decisions.commands import ECHO, Arm, Command, Drop, End, Resume, Tell, Type
from exhibit.decisions.console.silence import NOTHING_HEARD
from exhibit.decisions.decider import REST, THIS_COMPUTER, Decider
from exhibit.decisions.session.keyboard import SURE
from exhibit.decisions.withholding.withholding import PATIENCE_US, Part, Passed, Withholding
from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.line.awake import Awake
from exhibit.line.events import ErrorsCounted, Lost, Opened, Readable, ReaderFailed, Received, Unreadable
from exhibit.streams.pacing import RecordingClock
from exhibit.streams.pieces import PIECE_US, PieceKeeper
from exhibit.streams.recording import RecordingWriter

HEARTBEAT_EVERY_S = 1.0
"""Real seconds. The line can hold up a byte for another second, and readers expect a heartbeat every two."""
QUIET_US = 2_000_000
"""By the recording's clock: how long nothing must have happened before a recording ends for a new day."""
NEW_DAY: Final = "another day has begun"
_DATE: Final = slice(len("2026-11-25"))
"""The date in a date and time (RFC 3339), as text that sorts by date."""
_SETTLES_NOTHING: Final = Received | ErrorsCounted | Unreadable | Readable | AtTerminal
"""Events that leave held back what is. A person's next key is often heard before the echo is complete."""


class Bridge:
    """The bridge of one recording. `type_byte` is None if the machine is only watched.

    `left_open` is what the last run left unfinished, if scripts are to run. `carried_over` is the state at
    the end of the previous recording, if this one continues it; `opening` is then the number of the line's
    last opening that its bridge knew of. `character_us` is how long a character takes on the line, and
    `return_key` is what a person's RETURN sends.
    """

    def __init__(
        self,
        decider: Decider,
        writer: RecordingWriter,
        clock: RecordingClock,
        type_byte: TypeByte | None,
        inbox: Inbox,
        left_open: kinds.LastRecordingRead | None = None,
        carried_over: kinds.CarriedOver | None = None,
        opening: int = 0,
        *,
        withholding: Withholding,
        character_us: float = PIECE_US,
        return_key: bytes = b"\r",
        awake: Awake | None = None,
    ) -> None:
        self._decider = decider
        self._writer = writer
        self._clock = clock
        self._type_byte = type_byte
        self._inbox = inbox
        self._awake = awake or Awake()
        self._left_open = left_open
        self._carried_over = carried_over
        self._day = clock.opened_wall[_DATE]
        self._last_event_us = 0
        self._withholding = withholding
        self._own_terminal = OwnTerminal(decider, withholding)
        self._pieces = PieceKeeper(character_us)
        self._deadlines: dict[str, int] = {}
        self._commands: deque[Command] = deque()
        self._at_us = 0
        """When the last thing happened. Nothing is decided or recorded with an earlier time."""
        self._next_beat_us = 0
        self._parity_faults = 0
        self._over: kinds.Outcome | None = None
        self._refusal = ""
        self._sender = Sender(
            decider,
            (withholding, clock, self._awake),
            type_byte,
            KeyedIn(decider, return_key, round(character_us)),
            self._commands,
            self._record,
            self._beat_if_due,
        )
        self._sender.opening = opening

    @property
    def opening(self) -> int:
        """The number of the line's last opening that the decisions know of; 0 before the first."""
        return self._sender.opening

    def ask(self, request: Request, reply: Reply) -> None:
        """Hand over a request, from any thread."""
        self._sender.halting.asked(request)
        self._inbox.put(Asked(request, reply))

    def run(self, stay_when_failed: bool) -> kinds.Outcome | kinds.CarriedOver:
        """Work until all is done, or until asked to stop. Returns how it ended.

        After a failed script it continues mirroring until asked to stop, if `stay_when_failed`. It also ends
        at the first quiet moment of a new day; it then returns the state with which the next recording
        begins. Raises RecordingFault if it can no longer record, and types nothing from then on; raises
        LineFault if nothing can be read from the line.
        """
        self._commands += self._decider.note(self._writer.opened)
        if self._left_open is not None:
            self._record(self._left_open, 0)
        if self._carried_over is not None:
            self._record(self._carried_over, 0)
            self._parity_faults = self._decider.parity_faults()
        self._carry_out()
        while True:
            piece_due_us = self._pieces.due_us()
            held_due_us = self._withholding.due_us()
            due_us = self._next_due_us(piece_due_us, held_due_us)
            events, now_us = wait_for_events(self._inbox, self._clock, due_us, self._awake)
            for event in events:
                if isinstance(event, StopWanted) and (self._type_byte is None or self._over is not None):
                    return self._closed(self._over or "stopped", event.why)
                # Once asked to stop, it ends after the tidy-up, even if that fails.
                stay_when_failed = stay_when_failed and not isinstance(event, StopWanted)
                self._handle(event)
            piece = self._pieces.take_due(now_us)
            if piece is not None:
                self._write(piece.fact, piece.at_us)
                self._carry_out()
            held_due_us = self._withholding.due_us()
            if held_due_us is not None and held_due_us <= now_us:
                self._take_parts(self._withholding.overdue())
            self._sender.type_due(now_us)
            self._pass_deadlines(now_us)
            has_beaten = self._beat_if_due()
            self._carry_out()
            if self._over is not None and not (self._over == "failed" and stay_when_failed):
                return self._closed(self._over, f"the scripts are over: {self._over}")
            carried_over = self._carry_over() if has_beaten else None
            if carried_over is not None:
                return carried_over

    def _next_due_us(self, piece_due_us: int | None, held_due_us: int | None) -> int:
        """When to look again if nothing happens."""
        wait_us = 0 if held_due_us is None else PATIENCE_US
        secret_due_us, keyed_due_us = self._sender.secret_due_us, self._sender.keyed_due_us
        due = [self._next_beat_us]
        due += [us for us in (piece_due_us, held_due_us, secret_due_us, keyed_due_us) if us is not None]
        # While a secret's rest is being sent, no deadline passes.
        if secret_due_us is None:
            due += [due_us + wait_us for due_us in self._deadlines.values()]
        return min(due)

    # -- events -------------------------------------------------------------------------------

    def _handle(self, event: Event) -> None:
        self._last_event_us = self._clock.now_us()
        if self._withholding.engaged and not isinstance(event, _SETTLES_NOTHING):
            self._take_parts(self._withholding.settle_all())
        match event:
            case Received(data, at_us):
                self._received(data, at_us)
            case Opened(description, at_us, opening, keeps_time):
                self._sender.opening = opening
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
            case Readable(cause, at_us):
                self._append(kinds.LineReadable(cause=cause), at_us)
            case ReaderFailed(fault):
                self._closed("failed", fault.what)
                raise fault
            case Asked(request, reply):
                self._asked(request, reply)
            case StopWanted(why):
                stop = kinds.RequestMade(request="stop", by=THIS_COMPUTER, why=why)
                self._append(stop, self._clock.now_us())
            case _:
                for fact in self._own_terminal.facts(event):
                    self._append(fact, event.at_us)

    def _unreadable(self, event: Unreadable) -> None:
        """What first arrived on the line isn't text, most likely because of its settings.

        Switching the machine on, or a loss of the line, can have the same effect. So scripts go on, and find
        out what state the machine is in. But if the machine is only watched, and has sent nothing readable so
        far, there is nothing to show at these settings.
        """
        what, do = event.fault.what, event.fault.do
        self._append(kinds.LineUnreadable(cause=event.cause, what=what, do=do), event.at_us)
        if self._type_byte is None and self.opening == 1 and not event.at_terminal:
            self._closed("failed", what)
            raise event.fault

    def _asked(self, request: Request, reply: Reply) -> None:
        self._refusal = ""
        try:
            if request.request == "key in":
                self._key_in(request, request.made())
            else:
                self._append(request.made(), self._clock.now_us())
            self._sender.halting.handled(request)
        except RecordingFault as fault:
            reply(Answer(accepted=False, why=fault.what))
            raise
        reply(Answer(accepted=not self._refusal, why=self._refusal))

    def _key_in(self, request: Request, made: kinds.RequestMade) -> None:
        """Type what a person typed, or say why not. What was accepted has no fact but that it is typed."""
        at_us, secret = self._clock.now_us(), self._decider.asks_secret
        why = self._decider.why_not_typed(request.text, request.by, at_us, sure=request.why == SURE)
        if not why:
            self._sender.keyed_in.add(request.text, at_us)
        elif not secret:  # their number would tell how long it is
            self._append(made, at_us)
            self._append(kinds.RequestRefused(request=request.request, why=why), at_us)
        self._refusal = why

    def _received(self, data: bytes, at_us: int) -> None:
        withholding, plain = self._withholding, self._withholding.plain
        for byte in data:
            if plain[byte] and not withholding.engaged:
                self._pass_on(byte, at_us)
            else:
                self._take_parts(withholding.take(byte, at_us))
        faults = self._decider.parity_faults()
        if faults > self._parity_faults:
            counted = kinds.LineErrorsCounted(parity=faults - self._parity_faults)
            self._parity_faults = faults
            self._append(counted, at_us)

    def _pass_on(self, byte: int, at_us: int) -> None:
        """Records this byte with what came just before, and gives it to the decisions."""
        # Typing after the byte before may have taken until after a heartbeat, if the line held it up.
        at_us = self._in_order(at_us)
        single = bytes((byte,))
        for piece in self._pieces.add(single, at_us):
            self._write(piece.fact, piece.at_us)
        self._at_us = at_us
        self._commands += self._decider.received(single, at_us)
        self._carry_out()

    def _take_parts(self, parts: list[Part]) -> None:
        for part in parts:
            if isinstance(part, Passed):
                self._pass_on(part.byte, part.at_us)
            else:
                self._append(kinds.SecretWithheld(was_typed=part.was_typed), part.at_us)

    def _pass_deadlines(self, now_us: int) -> None:
        for name, due_us in sorted(self._deadlines.items(), key=lambda pair: pair[1]):
            if self._sender.secret_due_us is not None:
                return
            # What is held back may change what the deadline means, but can't put it off for long.
            held = self._withholding.due_us() is not None
            if held and due_us + PATIENCE_US <= now_us:
                self._take_parts(self._withholding.settle_all())
            elif held:
                continue
            # One that passes may have cancelled or moved another.
            if due_us <= now_us and self._deadlines.get(name) == due_us:
                del self._deadlines[name]
                self._append(kinds.DeadlinePassed(name=name), now_us)

    def _carry_over(self) -> kinds.CarriedOver | None:
        """Close the recording at a quiet moment of a new day. Returns the state with which the next begins.

        If that can't be begun, as on a full disc, this one continues. Call it when nothing is to carry out.
        """
        now_us = self._clock.now_us()
        quiet = now_us - self._last_event_us >= QUIET_US and self._inbox.empty()
        if not quiet or set(self._deadlines) - {REST, NOTHING_HEARD}:
            return None
        if self._clock.wall()[_DATE] <= self._day:
            return None
        carried_over = self._decider.carry_over(now_us)
        if carried_over is None:
            return None
        self._settle()
        if self._writer.begin_next(self._clock.wall()) and self._writer.close(NEW_DAY, now_us) is not None:
            return carried_over
        self._carry_out()
        return None

    def _beat_if_due(self) -> bool:
        now_us = self._clock.now_us()
        if now_us < self._next_beat_us:
            return False
        self._next_beat_us = now_us + int(HEARTBEAT_EVERY_S * self._clock.rate * 1_000_000)
        self._record(kinds.Heartbeat(wall=self._clock.wall()), now_us)
        stepped = self._clock.step()
        if stepped is not None:
            self._record(stepped, now_us)
            self._day = min(self._day, stepped.wall[_DATE])  # if set back, that midnight is still to come
        return True

    # -- commands -----------------------------------------------------------------------------

    def _carry_out(self) -> None:
        """Carry out all commands in order; those that follow from a recorded fact come after the rest.

        The decisions already take into account all commands that they have given, so what they decide about
        one recorded fact is based on the others too. They learn that the disc is full only when no command
        remains: it can make the session fail, and nothing may be typed between that and its fact.
        """
        self._carry_out_commands()
        nearly_full = self._writer.take_nearly_full()
        if nearly_full is not None:
            self._record(nearly_full, self._at_us)
            self._carry_out_commands()

    def _carry_out_commands(self) -> None:
        while self._commands:
            outdated = self._sender.take_outdated()
            match self._commands.popleft():
                case Tell(fact=fact):
                    self._record(fact, self._at_us)
                case Arm(name=name, due_us=due_us):
                    self._deadlines[name] = due_us
                    self._record(kinds.DeadlineArmed(name=name, due_us=due_us), self._at_us)
                case Drop(name=name):
                    self._deadlines.pop(name, None)
                    if name == ECHO:
                        self._sender.forget_secret()
                case Type() as typed:
                    self._sender.carry_out(typed, self._at_us, outdated=outdated)
                case End(outcome=outcome):
                    self._over = outcome
                case Resume():
                    self._over = None

    # -- the recording ------------------------------------------------------------------------

    def _append(self, fact: kinds.AnyFact, at_us: int) -> None:
        self._record(fact, at_us)
        self._carry_out()

    def _record(self, fact: kinds.AnyFact, at_us: int) -> None:
        """Write the open piece and the fact."""
        self._close_piece()
        if isinstance(fact, kinds.RequestRefused):
            self._refusal = fact.why
        self._write(fact, at_us)

    def _close_piece(self) -> None:
        piece = self._pieces.take()
        if piece is not None:
            self._write(piece.fact, piece.at_us)

    def _write(self, fact: kinds.AnyFact, at_us: int) -> None:
        entry = self._writer.append(fact, self._in_order(at_us))
        self._at_us = entry.at_us
        self._withholding.note(fact)
        self._sender.keyed_in.note(fact)
        self._commands += self._decider.note(entry)

    def _settle(self) -> None:
        """Write what is still open or held back."""
        if self._withholding.engaged:
            self._take_parts(self._withholding.settle_all())
        self._close_piece()

    def _closed(self, outcome: kinds.Outcome, why: str) -> kinds.Outcome:
        self._settle()
        if self._writer.close(why, self._clock.now_us()) is None:
            self._carry_out()
            self._writer.close(why, self._clock.now_us())
        return outcome

    def _in_order(self, at_us: int) -> int:
        """This time, but not before the last thing that happened.

        Nor in the future: it may be a time by the clock of the recording before this one.
        """
        return max(min(at_us, self._clock.now_us()), self._at_us)
