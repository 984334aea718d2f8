"""What the foreign machines share: a serial line, dialogues, and one interface for all."""

from collections import deque
from collections.abc import Callable, Generator, Iterable
from dataclasses import dataclass
from random import Random
from typing import Any, Literal

from exhibit.simulator.agenda import Agenda, Booking
from tests.foreign.truths import Truth, Truths, What

XON, XOFF = 0x11, 0x13


def with_even_parity(byte: int) -> int:
    """The lower seven bits, and an eighth that makes the number of ones even."""
    return (byte & 0x7F) | ((byte & 0x7F).bit_count() % 2 << 7)


class Line:
    """A serial line. A character counts as sent or as received when its last bit has passed.

    What is put on it goes out as *pieces*, which nothing can break into. On a half-duplex line a character
    that arrives while the machine prints is lost, unless what is printed is only an echo. `copies`: the
    line's adapter sends everything that arrives straight back to where it came from.
    """

    def __init__(
        self,
        agenda: Agenda,
        *,
        baud: int,
        data_bits: Literal[7, 8],
        parity: Literal["none", "even"],
        stop_bits: Literal[1, 2],
        duplex: Literal["half", "full"],
    ) -> None:
        self.char_us = round((1 + data_bits + (parity == "even") + stop_bits) * 1_000_000 / baud)
        self.on_arrival: Callable[[int], None] = lambda byte: None
        self.on_bad_parity: Callable[[], None] = lambda: None
        self.on_copied: Callable[[int], None] = lambda byte: None
        self.on_idle: Callable[[], None] = lambda: None
        self.powered = False
        self.copies = False
        self.heeds_flow = False
        self._agenda = agenda
        self._seven = data_bits == 7
        self._even = parity == "even"
        self._half = duplex == "half"
        self._pieces: deque[tuple[bytes, bool]] = deque()
        self._piece: deque[int] = deque()
        self._echoing = False
        self._sending: Booking | None = None
        self._held = False
        self._in_free_us = 0
        self._out: list[tuple[int, bytes]] = []

    @property
    def idle(self) -> bool:
        """Nothing is being sent or waits to be."""
        return self._sending is None and not self._piece and not self._pieces

    @property
    def waiting_chars(self) -> int:
        """How many characters still have to go out."""
        return len(self._piece) + sum(len(piece) for piece, _ in self._pieces)

    def put(self, pieces: Iterable[str], *, echo: bool = False, ahead: bool = False) -> None:
        """Send `pieces` one after another; `ahead` of all that waits, though not inside a piece."""
        ready = [(piece.encode("ascii"), echo) for piece in pieces if piece]
        if ahead:
            self._pieces.extendleft(reversed(ready))
        else:
            self._pieces.extend(ready)
        self._send_next()

    def cut(self, keep_chars: int = 0) -> None:
        """Forget what hasn't been sent, all but the first `keep_chars` of it."""
        rest = [byte for byte in [*self._piece, *(b for piece, _ in self._pieces for b in piece)]]
        self._pieces.clear()
        self._piece = deque(rest[:keep_chars])
        if not keep_chars and self._sending is not None:
            self._sending.call_off()
            self._sending = None
        self._held = False
        self._send_next()

    def _send_next(self) -> None:
        if self._sending is not None or not self.powered or self._held:
            return
        if not self._piece:
            if not self._pieces:
                return
            piece, self._echoing = self._pieces.popleft()
            self._piece.extend(piece)
        byte = self._piece.popleft()
        self._sending = self._agenda.after(self.char_us, lambda: self._sent(byte))

    def _sent(self, byte: int) -> None:
        self._sending = None
        self._out.append((self._agenda.now_us, bytes((with_even_parity(byte) if self._even else byte,))))
        self._send_next()
        if self.idle:
            self.on_idle()

    def taken_out(self) -> list[tuple[int, bytes]]:
        """What has arrived at the far end since the last call, with its times."""
        out, self._out = self._out, []
        return out

    def receive(self, data: bytes, at_us: int) -> None:
        """Take characters that the far end put on the line at `at_us`; each takes its time."""
        for byte in data:
            self._in_free_us = max(self._in_free_us, at_us, self._agenda.now_us) + self.char_us
            self._agenda.at(self._in_free_us, lambda byte=byte: self._arrived(byte))  # type: ignore[misc]

    def _arrived(self, raw: int) -> None:
        if not self.powered:
            return
        if self._half and self._sending is not None and not self._echoing:
            return
        byte = raw & 0x7F if self._seven else raw
        if self.copies:
            self._out.append((self._agenda.now_us, bytes((raw,))))
            self.on_copied(byte)
        if self._even and with_even_parity(byte) != raw:
            self.on_bad_parity()
        elif self.heeds_flow and byte in (XON, XOFF):
            self._held = byte == XOFF
            self._send_next()
        else:
            self.on_arrival(byte)


@dataclass(frozen=True)
class Ask:
    """A program waits for something to be typed: a line, a secret line, or one of the keys in `keys`."""

    kind: Literal["line", "secret", "key"]
    prompt: str
    keys: str = ""
    name: str = ""
    """What the truth calls it; the prompt itself if empty."""
    dozes: bool = False
    """The console may fall asleep here."""


@dataclass(frozen=True)
class Pause:
    """A program does something that takes this long, once all has been printed."""

    us: int


Dialogue = Generator[Ask | Pause, Any, Any]
"""A program of the machine: it yields what it waits for and is given what was typed."""


class Core:
    """A machine in virtual time. Everything by chance follows from `seed`."""

    def __init__(self, agenda: Agenda, line: Line, seed: int) -> None:
        self.agenda = agenda
        self.line = line
        self.chance = Random(seed)
        self.truth: Truths = Truths()

    def receive(self, data: bytes, at_us: int) -> None:
        """The far end puts `data` on the line at `at_us`."""
        self.line.receive(data, at_us)

    def advance(self, to_us: int) -> list[tuple[int, bytes]]:
        """Let time pass; returns what arrived at the far end meanwhile, with its times."""
        self.agenda.run_until(to_us)
        return self.line.taken_out()

    def next_event_us(self) -> int | None:
        """When something happens by itself."""
        return self.agenda.next_us()

    def panel(self, act: str, at_us: int) -> str:
        """A person does `act` at the front of the machine. Returns `done: ...`, or why it wasn't done."""
        self.agenda.run_until(at_us)
        words = act.split()
        return self.act(" ".join(words).lower(), " ".join(words[1:]))

    def act(self, act: str, rest: str) -> str:
        """Do `act`, in small letters; `rest` is all but its first word, as it was given."""
        raise NotImplementedError

    def note(
        self, what: What, about: str = "", number: int | None = None, ends_us: int | None = None
    ) -> None:
        """Write into the truth log what has just become so."""
        self.truth.append(Truth(self.agenda.now_us, what, about, number, ends_us))
