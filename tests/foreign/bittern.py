"""The Bittern: a machine of 1969 with a half-duplex printing console of 110 baud.

Seven bits, even parity, two stop bits, capitals only. While the loader or nothing runs, the console's adapter
copies what is typed; the monitor echoes by itself. Its dialogues are in `bittern_loader` and
`bittern_monitor`.
"""

from collections.abc import Iterator
from datetime import date, datetime, time, timedelta

from exhibit.simulator.agenda import Agenda, Booking
from tests.foreign.bittern_loader import loader
from tests.foreign.bittern_monitor import WORDS, Monitor
from tests.foreign.core import XOFF, XON, Ask, Line
from tests.foreign.programmed import Programmed

SPIN_UP_US = 12_000_000
"""From power to the lamp READY."""
DOZES_AFTER_US = 180_000_000
MOTOR_STARTS_US = 800_000
LONGEST_CHARS = 40
BELL, RETURN, RUB_OUT, DROP, RETYPE = 0x07, 0x0D, 0x7F, 0x1A, 0x12

IGNORED = (0x00, 0x0A, XON, XOFF)


class Bittern(Programmed):
    """The machine. Acts at its front: power on, power off, start; and crash, pack fault, notice TEXT."""

    def __init__(self, seed: int = 1) -> None:
        agenda = Agenda()
        line = Line(agenda, baud=110, data_bits=7, parity="even", stop_bits=2, duplex="half")
        super().__init__(agenda, line, seed)
        line.on_arrival = self._arrived
        line.on_copied = self._shown
        self.monitor = Monitor(self)
        self.runs = "off"
        self.asleep = False
        self.pack_open = False
        self.pack_cleared = False
        self._ready_us = 0
        self._doze: Booking | None = None
        self._dozes_at: Ask | None = None
        self._clock_set = (0, datetime.combine(date(1969, 1, 1), time()))
        self._on_paper = ""

    # ---- its front

    def act(self, act: str, rest: str) -> str:
        """Do `act` at the front."""
        match act.split():
            case ["power", "on"] if not self.line.powered:
                self.line.powered = self.line.copies = True
                self.runs = "halted"
                self._ready_us = self.agenda.now_us + SPIN_UP_US
                self.note("power", "on")
            case ["power", "off"] if self.line.powered:
                self._stop_all("off")
                self.line.cut()
                self.line.powered = False
                self.note("power", "off")
            case ["start"] if self.runs == "halted":
                if self.agenda.now_us < self._ready_us:
                    return "not done: the lamp READY is still dark"
                self.line.cut()
                self.enter("loader")
                self.run(loader(self))
            case ["crash"] if self.runs not in ("off", "halted"):
                self._crash()
            case ["pack", "fault"] if self.runs == "system":
                if not self.monitor.pack_fault():
                    return "not done: no RAKER is running, so nobody would notice"
            case ["notice", _, *_] if self.runs == "system":
                self.note("notice", rest.upper())
                self.break_in(f"* NOTE {self.clock():%H.%M} {rest.upper()}")
            case _:
                return f"not done: it has no effect now (the machine: {self.runs})"
        return f"done: {act}"

    def enter(self, runs: str) -> None:
        """Another part of the software runs now."""
        self.runs = runs
        self.line.copies = runs == "loader"
        self.note("state", runs)

    def halt(self, why: str) -> None:
        """Stop the processor, once what has been printed is out. Only START gets it going again."""
        self._stop_all("halted")
        self.note("halted", why)

    def _stop_all(self, runs: str) -> None:
        self.monitor.end()
        self.drop_program()
        self.asleep = False
        self.runs = runs
        self.line.copies = True
        if self._doze is not None:
            self._doze.call_off()

    def _crash(self) -> None:
        if self.line.idle:
            self.say("\nSTORE FAU")
        else:
            self.line.cut(self.line.waiting_chars // 2)
        self._stop_all("halted")
        self.note("crash")
        self.note("halted", "crash")

    # ---- its clock

    def set_clock(self, day: date) -> None:
        """It is the beginning of `day` now."""
        self._clock_set = (self.agenda.now_us, datetime.combine(day, time()))

    def clock(self) -> datetime:
        """What the machine takes the time to be."""
        at_us, then = self._clock_set
        return then + timedelta(microseconds=self.agenda.now_us - at_us)

    # ---- printing

    def pieces(self, text: str) -> Iterator[str]:
        """Each character by itself; RETURN and LINE FEED with what fills the time of the carriage."""
        for letter in text:
            if letter == "\n":
                rubbed = "\x7f" * self.chance.choice((0, 0, 0, 0, 0, 1, 3))
                yield "\r" + "\0" * self.chance.randint(2, 4) + "\n" + rubbed
            elif letter == "\r":
                yield "\r" + "\0" * 3
            else:
                yield letter

    def break_in(self, message: str) -> None:
        """Print a message of one line into whatever is being printed or typed."""
        pieces = [*self.pieces("\n\a" + message + "\n")]
        if self.awaiting is not None:
            if not self.typed:
                pieces += self.pieces(self.awaiting.prompt)
            self.stop_waiting()
        self.line.put(pieces, ahead=True)

    def waits(self, ask: Ask) -> None:
        """Fall asleep here in the end, where the console may. Messages don't keep it awake."""
        if ask is not self._dozes_at:
            self._dozes_at = ask
            self._doze_later()

    def _doze_later(self) -> None:
        if self._doze is not None:
            self._doze.call_off()
        self._doze = self.agenda.after(DOZES_AFTER_US, self._fall_asleep)

    def _fall_asleep(self) -> None:
        if self.asks is None or not self.asks.dozes:
            return
        if self.awaiting is None:
            self._doze = self.agenda.after(1_000_000, self._fall_asleep)
            return
        self.stop_waiting()
        self.typed = ""
        self.held = self.asleep = True
        self.note("asleep")
        self.say("\n\n\n")

    def _wake_up(self) -> None:
        self.asleep = False
        self.note("awake")
        self._doze = self.agenda.after(MOTOR_STARTS_US, self._motor_runs)

    def _motor_runs(self) -> None:
        self._dozes_at = None
        self.say("\n")
        self.hold_no_more()

    # ---- its keyboard

    def _shown(self, byte: int) -> None:
        """A typed character has been printed, so that anybody can read it."""
        self._on_paper = (self._on_paper + chr(byte).upper())[-20:]
        if self._on_paper.endswith(tuple(WORDS.values())):
            self.note("secret shown", self._on_paper)
            self._on_paper = ""

    def _echo(self, text: str) -> None:
        if not self.line.copies:
            self.line.put(self.pieces(text), echo=True)
            for letter in text:
                self._shown(ord(letter))

    def _arrived(self, byte: int) -> None:
        if self.asleep:
            self._wake_up()
            return
        ask = self.awaiting
        if ask is None:
            return
        self._doze_later()
        letter = chr(byte)
        if byte == RETYPE:
            self.stop_waiting()
            self.say("\n" + ask.prompt + (self.typed if ask.kind == "line" else ""))
        elif ask.kind == "key":
            self._key(ask, letter.upper())
        elif byte == RETURN:
            # A copied RETURN has already moved the carriage.
            self.line.put(["\n\0\0"] if self.line.copies else self.pieces("\n"), echo=True)
            self.answered(self.typed)
        elif byte == DROP:
            self.typed = ""
            self.stop_waiting()
            self.say(" DROPPED\n" + ask.prompt)
        elif byte == RUB_OUT:
            if self.typed and ask.kind == "line":
                self._echo("#")
            self.typed = self.typed[:-1]
        elif not letter.isprintable() or len(self.typed) >= LONGEST_CHARS:
            if byte not in IGNORED:
                self.line.put(["\a"], echo=True)
        else:
            self.typed += letter if self.line.copies else letter.upper()
            if ask.kind == "line":
                self._echo(letter.upper())

    def _key(self, ask: Ask, letter: str) -> None:
        if letter in ask.keys:
            self._echo(letter)
            self.answered(letter)
        else:
            self.line.put(["\a"], echo=True)
