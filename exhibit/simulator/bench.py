"""The machine on a bench: the caller types at its console and reads it, in one thread and virtual time."""

from collections.abc import Callable

from exhibit.simulator.core import Options, Whimbrel
from exhibit.simulator.serial_line import with_even_parity
from exhibit.simulator.truth import Record


class StillWaiting(AssertionError):
    """The expected text did not arrive in time."""


class Bench:
    """Types, listens and turns the key. Time passes only as far as each call says.

    `heard` holds all bytes received, `stamped` the same with their times, `now_us` the virtual time in
    microseconds. On a line with even parity, `type` adds the parity bit and returned text is without it;
    `send` sends bytes unchanged.
    """

    def __init__(
        self, options: Options | None = None, truth_sink: Callable[[Record], None] | None = None
    ) -> None:
        self.machine = Whimbrel(options, truth_sink)
        self._even = self.machine.options.parity == "even"
        self.now_us = 0
        self.heard = b""
        self.stamped: list[tuple[int, bytes]] = []

    def act(self, act: str) -> str:
        """Do something at the front of the machine; returns its answer."""
        return self.machine.panel(act, self.now_us)

    def send(self, data: bytes) -> None:
        """Put bytes on the line now, all at once; they take their character times."""
        self.machine.receive(data, self.now_us)

    def type(self, text: str) -> None:
        """Put the characters of `text` on the line now, with the line's parity."""
        data = text.encode("ascii")
        self.send(bytes(map(with_even_parity, data)) if self._even else data)

    def run(self, seconds: float) -> str:
        """Let virtual seconds pass; returns the text received."""
        return self.run_to(self.now_us + round(seconds * 1_000_000))

    def run_to(self, to_us: int) -> str:
        """Let time pass until `to_us`; returns the text received."""
        pieces = self.machine.advance(to_us)
        self.now_us = max(self.now_us, to_us)
        self.stamped += pieces
        data = b"".join(piece for _, piece in pieces)
        self.heard += data
        return bytes(byte & 0x7F for byte in data).decode() if self._even else data.decode("latin-1")

    def step(self, within_us: int) -> str:
        """Let time pass until something happens, at most until `within_us`; returns the text received."""
        due_us = self.machine.next_event_us()
        return self.run_to(within_us if due_us is None else min(due_us, within_us))

    def until(self, text: str, within_s: float = 60.0) -> str:
        """Wait until `text` has arrived; returns what was received since the call, ending with it.

        Raises StillWaiting after `within_s` virtual seconds.
        """
        end_us = self.now_us + round(within_s * 1_000_000)
        received = ""
        while text not in received:
            if self.now_us >= end_us:
                raise StillWaiting(f"{text!r} did not arrive within {within_s} s; received: {received!r}")
            received += self.step(end_us)
        return received

    def command(self, text: str, then: str, within_s: float = 60.0) -> str:
        """Type `text`, waiting for the echo of each character, then RETURN; wait until `then` has arrived."""
        for letter in text:
            self.type(letter)
            self.until(letter.upper(), 5.0)
        self.type("\r")
        return self.until(then, within_s)

    def secret(self, text: str, then: str, within_s: float = 60.0) -> str:
        """Type text that isn't echoed, then RETURN; wait until `then` has arrived."""
        for letter in text + "\r":
            self.type(letter)
            self.run(0.05)
        return self.until(then, within_s)
