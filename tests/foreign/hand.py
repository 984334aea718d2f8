"""A hand at a foreign machine: types, reads and turns keys, in virtual time."""

from typing import Protocol

from tests.foreign.core import with_even_parity
from tests.foreign.truths import Truths


class Machine(Protocol):
    """A machine, or a machine behind a bad line."""

    truth: Truths

    def receive(self, data: bytes, at_us: int) -> None:
        """The far end puts `data` on the line."""

    def advance(self, to_us: int) -> list[tuple[int, bytes]]:
        """Let time pass; returns what arrived at the far end, with its times."""

    def next_event_us(self) -> int | None:
        """When something happens by itself."""

    def panel(self, act: str, at_us: int) -> str:
        """A person does something at the front."""


class Hand:
    """What a person at the far end does and sees. `heard` is all that arrived, as text without parity."""

    def __init__(self, machine: Machine, *, even_parity: bool) -> None:
        self.machine = machine
        self.now_us = 0
        self.heard = ""
        self.stamped: list[tuple[int, bytes]] = []
        self._even = even_parity

    def act(self, act: str) -> str:
        """Do something at the front now."""
        return self.machine.panel(act, self.now_us)

    def done(self, act: str) -> None:
        """Do something at the front that has to work."""
        answer = self.act(act)
        assert answer.startswith("done"), answer

    def type(self, text: str) -> None:
        """Put `text` on the line, all at once."""
        data = text.encode("latin-1")
        self.machine.receive(bytes(map(with_even_parity, data)) if self._even else data, self.now_us)

    def run(self, seconds: float) -> str:
        """Let time pass; returns what arrived."""
        return self.run_to(self.now_us + round(seconds * 1_000_000))

    def run_to(self, to_us: int) -> str:
        """Let time pass until `to_us`; returns what arrived."""
        pieces = self.machine.advance(to_us)
        self.now_us = max(self.now_us, to_us)
        self.stamped += pieces
        data = b"".join(data for _, data in pieces)
        text = (bytes(byte & 0x7F for byte in data) if self._even else data).decode("latin-1")
        self.heard += text
        return text

    def until(self, text: str, within_s: float = 120.0) -> str:
        """Wait until `text` has arrived; returns what came, as a person reads it (see `plain`)."""
        return self._until(text, within_s, "")

    def line(self, text: str, then: str, within_s: float = 120.0) -> str:
        """Type `text` and RETURN as fast as a person types, and wait for `then`; returns what came."""
        came = self.run(0.5)
        for letter in text + "\r":
            self.type(letter)
            came += self.run(0.25)
        return self._until(then, within_s, came)

    def _until(self, text: str, within_s: float, came: str) -> str:
        end_us = self.now_us + round(within_s * 1_000_000)
        while text not in plain(came):
            assert self.now_us < end_us, f"{text!r} did not arrive within {within_s} s, but {came!r}"
            due_us = self.machine.next_event_us()
            came += self.run_to(end_us if due_us is None else min(due_us, end_us))
        return plain(came)


def plain(text: str) -> str:
    """`text` without fill characters, XOFF and XON, with each RETURN and LINE FEED as a new line."""
    return "".join(letter for letter in text if letter not in "\0\x7f\x11\x13").replace("\r\n", "\n")


def paper(text: str) -> str:
    """What is on a printing console's paper: the letter struck last at each place, no underlines."""
    rows: list[list[str]] = [[]]
    column = 0
    for letter in text:
        if letter == "\n":
            rows.append([])
        elif letter == "\r":
            column = 0
        elif letter == "\b":
            column = max(0, column - 1)
        elif letter.isprintable():
            row = rows[-1]
            row += " " * (column + 1 - len(row))
            if letter != "_" or row[column] == " ":
                row[column] = letter
            column += 1
    return "\n".join("".join(row).rstrip() for row in rows)
