"""Whatever a machine sends, a known secret in it is withheld, and nothing else is lost or moved."""

from __future__ import annotations

from typing import Final

import msgspec

from exhibit.decisions.display.wire import Text, Wire
from exhibit.decisions.withholding.secret_search import in_capitals
from exhibit.decisions.withholding.withholding import PATIENCE_US, Part, Passed, Withholding
from exhibit.facts import kinds
from exhibit.facts.display import Display
from tests.decisions.heron import MACHINE, machine
from tests.fuzz.choices import Choices

SECRET: Final = "WRENQUAY"
MACHINES: Final = (
    MACHINE,
    machine(eighth_bit="parity", line=msgspec.structs.replace(MACHINE.line, parity="even")),
    machine(
        eighth_bit="data",
        display=Display(characters="utf-8"),
        line=msgspec.structs.replace(MACHINE.line, flow="none"),
    ),
)
BETWEEN: Final = (
    b"", b"\x1b[m", b"\x1b[5;5H", b"\r\n", b"\0", b"\x7f", b"\x07", b"X\x08", b"XX\x08\x08", b"_\x08",
    b"\x1b[C", b"\x1b]0;t\x07", b"\x1b(", b"\x11", b"\x13", b"\x1b[1", b" ", b"\x18", b"\x1b\\", b"W",
    b"WREN", b"\x1bP", b"\xff",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Inputs to begin with: the secret, with something between its characters."""
    return [
        bytes((number,)) + b"".join(bytes((0, at, 1, between)) for at in range(len(SECRET)))
        for number in range(len(MACHINES))
        for between in range(len(BETWEEN))
    ]


def one(data: bytes) -> None:
    """Plays what a machine sends, with pauses; in between secrets are typed and prompts recognised."""
    given = Choices(data)
    described = given.one_of(MACHINES)
    withholding = Withholding(described, (SECRET,))
    play = _Play(withholding)
    while given.remaining:
        play.goes_on(given)
    play.wait(2 * PATIENCE_US)
    assert withholding.due_us() is None, "something is held back for ever"
    # A sequence that a pause interrupts goes on behind it: its last letter is no text.
    for number, run in enumerate(play.runs):
        if number in play.opened_anew:
            wire = Wire("data" if described.eighth_bit == "data" else "drop")
        assert SECRET not in _text(run, wire), play.runs
    assert play.withheld or _in_order(play.sent) == _in_order(b"".join(play.runs)), (
        "something was lost or moved"
    )


def _in_order(data: bytes | bytearray) -> bytes:
    """Without XON and XOFF, which are let through at once whatever is held back."""
    return bytes(byte for byte in data if byte & 0x7F not in (0x11, 0x13))


def _text(run: bytes, wire: Wire) -> str:
    """The text in what was let through, in capitals."""
    shown = "".join(item.text for item in wire.feed(run) if isinstance(item, Text))
    return in_capitals(shown.encode("latin-1", "replace"))


class _Play:
    """Feeds a withholding. `runs`: what it lets through, divided where it gave up because of a pause."""

    def __init__(self, withholding: Withholding) -> None:
        self._withholding = withholding
        self._now_us = 0
        self.sent = bytearray()
        self.runs = [b""]
        self.opened_anew = {0}
        """The runs before which the line was lost, and a sequence with it."""
        self.withheld = False

    def goes_on(self, given: Choices) -> None:
        """The next thing happens."""
        match given.below(9):
            case 0:
                self._send(SECRET[given.below(len(SECRET))].encode())
            case 1:
                self._send(given.one_of(BETWEEN))
            case 2:
                self._send(given.take(1))
            case 3:
                self._send(SECRET[: given.below(len(SECRET) + 1)].lower().encode())
            case 4:
                self.wait(given.below(256) * 10_000)
            case 5:
                self._send(given.take(given.below(10)))
            case 6:
                self._withholding.typed(SECRET[: 1 + given.below(8)].encode(), secret=True)
            case 7:
                self._withholding.typed(given.one_of((b"\r", b"\x18")), secret=False)
            case _:
                self._note(given.below(3))

    def wait(self, us: int) -> None:
        """Time goes on; what is held back is let go when its time has come."""
        until_us = self._now_us + us
        while (due_us := self._withholding.due_us()) is not None and due_us <= until_us:
            assert due_us >= self._now_us
            self._now_us = due_us
            self._take(self._withholding.overdue())
            self.runs.append(b"")
            assert self._withholding.due_us() is None, "its time has come, and something is still held back"
        self._now_us = until_us

    def _note(self, what: int) -> None:
        asked = kinds.LandmarkReached(landmark="word", line="SIGN WORD? ", fields={})
        facts = (asked, kinds.LineLost(why="unplugged"), kinds.Heartbeat(wall=""))
        if what < 2:  # before these the bridge settles what is held back
            self._take(self._withholding.settle_all())
            self.runs.append(b"")
        if what == 1:
            self.opened_anew.add(len(self.runs) - 1)
        self._withholding.note(facts[what])

    def _send(self, data: bytes) -> None:
        for byte in data:
            self.sent.append(byte)
            self._take(self._withholding.take(byte, self._now_us))

    def _take(self, parts: list[Part]) -> None:
        for part in parts:
            if isinstance(part, Passed):
                self.runs[-1] += bytes((part.byte,))
            else:
                self.withheld = True
