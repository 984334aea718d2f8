"""The Dunlin: a host of 1978 with a screen at 9600 baud, eight bits, no parity, full duplex, XON and XOFF.

Its two loaders are in `dunlin_loaders`, what one meets after signing on in `dunlin_host`.
"""

from collections import deque
from collections.abc import Iterable
from datetime import datetime, timedelta

from exhibit.simulator.agenda import Agenda, Booking
from tests.foreign import dunlin_screen as screen
from tests.foreign.core import XOFF, XON, Ask, Line
from tests.foreign.dunlin_host import SECRETS, Host
from tests.foreign.dunlin_loaders import fixed_loader
from tests.foreign.programmed import Programmed

WAKES_UP_US = 6_000_000
"""From power to the first word of the fixed loader."""
LOCKS_AFTER_US = 240_000_000
LOCK_MOVES_US = 20_000_000
LONGEST_CHARS = 60
AHEAD_CHARS, AHEAD_STOP_CHARS, AHEAD_GO_CHARS = 32, 24, 8
"""What is typed before it is asked for: how much is kept, and when XOFF and XON are sent."""
RETURN, ESCAPE, PAINT_AGAIN = 0x0D, 0x1B, 0x17
RUB_OUTS = (0x08, 0x7F)
IGNORED = (0x00, 0x0A)


class Dunlin(Programmed):
    """The machine. Acts at its front: power on, power off, start; crash, unit fault, notice TEXT, tear TEXT.

    `tear` is a notice that breaks into the next frame of the load display.
    """

    def __init__(self, seed: int = 1) -> None:
        agenda = Agenda()
        line = Line(agenda, baud=9600, data_bits=8, parity="none", stop_bits=1, duplex="full")
        super().__init__(agenda, line, seed)
        line.on_arrival = self._arrived
        line.heeds_flow = True
        self.host = Host(self)
        self.runs = "off"
        self.asleep = False
        self.unit_open = False
        self.unit_wiped = False
        self._ahead: deque[int] = deque()
        self._told_to_stop = False
        self._on_screen = ""
        self._waking: Booking | None = None
        self._locking: Booking | None = None
        self._clock_set = (0, datetime.fromisoformat("1975-01-01"))

    # ---- its front

    def act(self, act: str, rest: str) -> str:
        """Do `act` at the front."""
        match act.split():
            case ["power", "on"] if not self.line.powered:
                self.line.powered = True
                self.runs = "halted"
                self.note("power", "on")
                self._waking = self.agenda.after(WAKES_UP_US, self._start)
            case ["power", "off"] if self.line.powered:
                self._stop_all("off")
                self.line.cut()
                self.line.powered = False
                self.note("power", "off")
            case ["start"] if self.runs == "halted" and (self._waking is None or self._waking.off):
                self._start()
            case ["crash"] if self.runs not in ("off", "halted"):
                self.line.cut(self.line.waiting_chars // 2)
                self._stop_all("halted")
                self.note("crash")
                self.note("halted", "crash")
            case ["unit", "fault"] if self.runs == "system":
                if not self.host.unit_fault():
                    return "not done: no weave job is running, so nobody would notice"
            case ["notice", _, *_] if self.runs == "system":
                self.note("notice", rest)
                self.break_in(f"{self.clock():%H:%M} {rest}")
            case ["tear", _, *_] if self.runs == "system":
                if not self.host.load.shown:
                    return "not done: the load display is not shown, so there is nothing to tear"
                self.note("notice", rest)
                self.host.load.tear = f"{self.clock():%H:%M} {rest}"
            case _:
                return f"not done: it has no effect now (the machine: {self.runs})"
        return f"done: {act}"

    def _start(self) -> None:
        self._waking = None
        self.line.cut()
        self.enter("loader")
        self.run(fixed_loader(self))

    def enter(self, runs: str) -> None:
        """Another part of the software runs now."""
        self.runs = runs
        self.note("state", runs)

    def halt(self, why: str) -> None:
        """Stop the processor. Only START gets it going again."""
        self._stop_all("halted")
        self.note("halted", why)

    def _stop_all(self, runs: str) -> None:
        self.host.end()
        self.drop_program()
        self.asleep = False
        self.runs = runs
        self._ahead.clear()
        self._told_to_stop = False
        for booking in (self._locking, self._waking):
            if booking is not None:
                booking.call_off()
        self._waking = None

    # ---- its clock

    def set_clock(self, now: datetime) -> None:
        """It is `now`."""
        self._clock_set = (self.agenda.now_us, now)

    def clock(self) -> datetime:
        """What the machine takes the time to be."""
        at_us, then = self._clock_set
        return then + timedelta(microseconds=self.agenda.now_us - at_us)

    # ---- the screen

    def pieces(self, text: str) -> Iterable[str]:
        """Characters and whole control sequences."""
        return screen.sequences(text)

    def break_in(self, text: str) -> None:
        """Write a notice into the last row, whatever is being painted at the moment."""
        whole = screen.notice(text)
        # Whoever paints the load display is not told that the cursor has gone elsewhere.
        self.line.put([whole if self.host.load.shown else screen.KEEP + whole + screen.BACK], ahead=True)

    def show(self, ask: Ask) -> None:
        """Show the prompt; on the screen of a session, what has been typed behind it too."""
        self.say(ask.prompt)
        if ask.kind == "line" and self.typed:
            self.say(self.typed)

    def waits(self, ask: Ask) -> None:
        """Take what was typed ahead; lock the screen in the end."""
        self._lock_later()
        self.agenda.after(0, self._take_ahead)

    def _lock_later(self) -> None:
        if self._locking is not None:
            self._locking.call_off()
        self._locking = self.agenda.after(LOCKS_AFTER_US, self._lock)

    def _lock(self) -> None:
        if self.awaiting is None or not self.awaiting.dozes:
            return
        self.stop_waiting()
        self.held = self.asleep = True
        self.note("asleep")
        self._paint_lock()

    def _paint_lock(self) -> None:
        place = screen.at(self.chance.randint(2, 22), self.chance.randint(1, 60))
        self.say(screen.CLEAR + place + screen.REVERSE + " press a key " + screen.PLAIN)
        self._locking = self.agenda.after(LOCK_MOVES_US, self._paint_lock)

    def _unlock(self) -> None:
        if self._locking is not None:
            self._locking.call_off()
        self.asleep = False
        self.note("awake")
        self.say(self.host.painted())
        self.hold_no_more()

    # ---- its keyboard

    def _arrived(self, byte: int) -> None:
        if self.asleep:
            self._unlock()
        elif self.awaiting is not None and not self._ahead:
            self._key(self.awaiting, byte)
        elif self.runs != "system":
            return
        elif len(self._ahead) < AHEAD_CHARS:
            self._ahead.append(byte)
            if len(self._ahead) > AHEAD_STOP_CHARS and not self._told_to_stop:
                self._told_to_stop = True
                self.line.put([chr(XOFF)], ahead=True)
        else:
            self.line.put(["\a"], ahead=True)

    def _take_ahead(self) -> None:
        while self._ahead and self.awaiting is not None:
            self._key(self.awaiting, self._ahead.popleft())
        if self._told_to_stop and len(self._ahead) <= AHEAD_GO_CHARS:
            self._told_to_stop = False
            self.line.put([chr(XON)], ahead=True)

    def _echo(self, text: str) -> None:
        self.line.put(self.pieces(text), echo=True)
        self._on_screen = (self._on_screen + text)[-20:]
        if self._on_screen.endswith(tuple(SECRETS.values())):
            self.note("secret shown", self._on_screen)
            self._on_screen = ""

    def _key(self, ask: Ask, byte: int) -> None:
        self._lock_later()
        if byte == PAINT_AGAIN and self.runs == "system":
            self.stop_waiting()
            self.say(self.host.painted())
            self.show(ask)
        elif ask.kind == "key":
            if chr(byte) in ask.keys:
                self.answered(chr(byte))
            elif self.runs == "loader":
                self.answered("")
            else:
                self.line.put(["\a"], echo=True)
        elif byte == RETURN:
            self.line.put(["\r"] if self.runs == "system" else ["\r\n"], echo=True)
            self.answered(self.typed)
        elif byte == ESCAPE:
            self._rub_out(len(self.typed) if ask.kind == "line" else 0)
            self.typed = ""
        elif byte in RUB_OUTS:
            self._rub_out(1 if self.typed and ask.kind == "line" else 0)
            self.typed = self.typed[:-1]
        elif 0x20 <= byte < 0x7F and len(self.typed) < LONGEST_CHARS:
            self.typed += chr(byte)
            if ask.kind == "line":
                self._echo(chr(byte))
        elif byte not in IGNORED:
            self.line.put(["\a"], echo=True)

    def _rub_out(self, chars: int) -> None:
        self.line.put(["\b \b"] * chars, echo=True)
