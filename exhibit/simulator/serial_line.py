"""The console's line: in each direction one character after another, each taking its time.

A character counts as sent, or as received, when its last bit has passed.
"""

from collections import deque
from collections.abc import Callable, Iterable
from typing import Literal

from exhibit.simulator.agenda import Agenda
from exhibit.simulator.faults import BadLine
from exhibit.simulator.truth import ByteArrived, TruthLog

XON, XOFF = 0x11, 0x13
BITS_A_CHARACTER = 10
"""1 start bit, 8 data bits (or 7 and parity), 1 stop bit: usual start-stop practice, ISO 1177."""

ROOM_CHARS = 80
"""A program that prints has to wait while this many characters or more are queued."""


def character_us(baud: int) -> int:
    """How long one character takes, in microseconds, rounded to the nearest."""
    return round(BITS_A_CHARACTER * 1_000_000 / baud)


def with_even_parity(byte: int) -> int:
    """The lower seven bits of `byte`, with an eighth that makes the number of ones even."""
    seven = byte & 0x7F
    return seven | ((seven.bit_count() & 1) << 7)


class SerialLine:
    """Both directions of the console's line."""

    def __init__(
        self,
        agenda: Agenda,
        truth: TruthLog,
        bad_line: BadLine,
        *,
        baud: int,
        parity: Literal["none", "even"],
    ) -> None:
        self.char_us = character_us(baud)
        self.on_arrival: Callable[[int], Literal["kept", "lost"]] = lambda byte: "lost"
        self.on_bad_parity: Callable[[], None] = lambda: None
        self.on_room: Callable[[], None] = lambda: None
        self.on_idle: Callable[[], None] = lambda: None
        self.powered = False
        self.outbox: list[tuple[int, bytes]] = []
        self._agenda = agenda
        self._truth = truth
        self._bad_line = bad_line
        self._even = parity == "even"
        self._queue: deque[int] = deque()
        self._sending: int | None = None
        self._stopped_by_xoff = False
        self._in_free_us = 0
        self._epoch = 0

    # ---- outwards

    def put(self, text: str) -> None:
        """Queue characters to be sent."""
        self._queue.extend(text.encode("ascii"))
        self._send_next()

    def interrupt(self, text: str) -> None:
        """Send characters ahead of the queue, but never between RETURN and LINE FEED."""
        after: list[int] = []
        if self._queue and self._queue[0] == 0x0A:
            after.append(self._queue.popleft())
        self._queue.extendleft(reversed([*after, *text.encode("ascii")]))
        self._send_next()

    def send_flow(self, byte: int) -> None:
        """Send XON or XOFF ahead of the queue, even while XOFF has stopped printing."""
        self._queue.appendleft(byte)
        self._send_next()

    def drop_queue(self) -> None:
        """Forget whatever has not been sent yet (power lost, or the processor halted)."""
        self._queue.clear()
        self._sending = None
        self._stopped_by_xoff = False
        self._epoch += 1

    @property
    def idle(self) -> bool:
        """Nothing is being sent and nothing is queued."""
        return self._sending is None and not self._queue

    @property
    def has_room(self) -> bool:
        """A program can go on printing."""
        return len(self._queue) < ROOM_CHARS

    def _send_next(self) -> None:
        if self._sending is not None or not self._queue or not self.powered:
            return
        if self._stopped_by_xoff and self._queue[0] not in (XON, XOFF):
            return
        self._sending = self._queue.popleft()
        epoch = self._epoch
        self._agenda.after(self.char_us, lambda: self._sent(epoch))

    def _sent(self, epoch: int) -> None:
        if epoch != self._epoch or self._sending is None:
            return
        byte, self._sending = self._sending, None
        now_us = self._agenda.now_us
        self._truth.sent(byte, now_us, 2 * self.char_us)
        spoilt = self._bad_line.outward(byte)
        if spoilt is not None:
            # A fault of the line changes a bit after the parity was computed, so the parity can be wrong.
            on_wire = with_even_parity(byte) ^ (byte ^ spoilt) if self._even else spoilt
            self.outbox.append((now_us, bytes((on_wire,))))
        self._send_next()
        if self.has_room:
            self.on_room()
        if self.idle:
            self.on_idle()

    # ---- inwards

    def receive(self, data: Iterable[int], at_us: int) -> None:
        """Take characters that were put on the line at its far end at `at_us`; each takes its time."""
        for byte in data:
            self._in_free_us = max(self._in_free_us, at_us, self._agenda.now_us) + self.char_us
            self._agenda.at(self._in_free_us, lambda byte=byte: self._arrived(byte))  # type: ignore[misc]

    def _arrived(self, byte: int) -> None:
        spoilt = self._bad_line.inward(byte)
        if spoilt is None:
            return
        seven = spoilt & 0x7F
        fate: Literal["kept", "lost", "bad parity", "flow", "off"]
        if not self.powered:
            fate = "off"
        elif self._even and with_even_parity(seven) != spoilt:
            fate = "bad parity"
        elif seven in (XON, XOFF):
            fate = "flow"
        else:
            fate = self.on_arrival(seven)
        self._truth.add(ByteArrived(at_us=self._agenda.now_us, byte=seven, fate=fate))
        if fate == "bad parity":
            self.on_bad_parity()
        elif fate == "flow":
            self._stopped_by_xoff = seven == XOFF
            self._send_next()
