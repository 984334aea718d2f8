"""How long a command of 80 characters takes to be typed, against the line's own limit.

    python -m tests.benchmarks.bench_typing

In virtual time, on the simulated machine's model of a line (ten bits a character, both ways at once), at a
clean 9600 baud. A machine that echoes at once is compared with the Whimbrel, which takes half a
millisecond for each character and up to 72 of them. The limit is the time in which the line carries so
many characters one way. To be aimed at: 1.05 times as long with a window of 4, 2.1 times with 1.

Behind the last echo come settling, the second look and RETURN, once a command whatever its length; what
they take is printed beside it. Nothing here passes or fails.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence

from exhibit.decisions.commands import Arm, Command, Drop, Type
from exhibit.decisions.console.flow import Flow
from exhibit.decisions.console.keying import Keying
from exhibit.decisions.console.outcomes import Failed, Keyed, TypingEnd
from exhibit.decisions.display.wire import Wire
from exhibit.simulator.agenda import Agenda
from exhibit.simulator.bench import Bench
from exhibit.simulator.faults import BadLine, Faults
from exhibit.simulator.keyboard import LONGEST_LINE_CHARS
from exhibit.simulator.serial_line import SerialLine, character_us
from exhibit.simulator.truth import TruthLog
from tests.decisions.heron import machine
from tests.simulator.workbench import at_no_desk

BAUD = 9600
COMMAND_CHARS = 80
COMMAND = ("THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG. " * 2)[:COMMAND_CHARS]
WINDOWS = (1, 2, 4, 8)
PROMPT = "NO DESK: "
SETTLE_CHARACTERS = 6


class AtOnce:
    """A machine that echoes each character as soon as it has come."""

    def __init__(self) -> None:
        self._agenda = Agenda()
        truth = TruthLog(keep=False)
        line = SerialLine(self._agenda, truth, BadLine(Faults(), random.Random(1)), baud=BAUD, parity="none")
        line.powered = True
        line.on_arrival = self._arrived
        self._line = line
        self.now_us = 0

    def _arrived(self, byte: int):
        self._line.put("\r\n" if byte == 13 else chr(byte))
        return "kept"

    def send(self, data: bytes) -> None:
        self._line.receive(data, self.now_us)

    def step(self, within_us: int) -> bytes:
        due_us = self._agenda.next_us()
        self.now_us = within_us if due_us is None else min(due_us, within_us)
        self._agenda.run_until(self.now_us)
        out, self._line.outbox = self._line.outbox, []
        return b"".join(data for _, data in out)


class AtTheWhimbrel:
    """The simulated machine."""

    def __init__(self) -> None:
        self._bench: Bench = at_no_desk(baud=BAUD)

    @property
    def now_us(self) -> int:
        return self._bench.now_us

    def send(self, data: bytes) -> None:
        self._bench.send(data)

    def step(self, within_us: int) -> bytes:
        return self._bench.step(within_us).encode("latin-1")


def times_us(far: AtOnce | AtTheWhimbrel, command: str, window: int, look: bytes) -> tuple[int, int]:
    """From the first character's going out to the last one's echo, and on to the machine's new line."""
    settle_us = SETTLE_CHARACTERS * character_us(BAUD)
    described = machine(typing={"window": window, "show_again": look})
    keying = Keying(described, settle_us, Flow(described))
    wire = Wire("drop", flow_control=True)
    due_us: int | None = None
    began_us, echoed_us = far.now_us, 0
    end: TypingEnd | Failed | None = None

    def carry_out(commands: Sequence[Command]) -> None:
        nonlocal due_us
        for order in commands:
            match order:
                case Type(data=data):
                    far.send(data)
                case Arm(due_us=at_us):
                    due_us = at_us
                case Drop():
                    due_us = None

    def follow(keyed: Keyed) -> None:
        nonlocal end
        end = keyed.end or end
        carry_out(keyed.commands)

    follow(keying.begin(command, far.now_us, by="benchmark", prompt=PROMPT))
    while end is None:
        assert due_us is not None
        came = far.step(due_us)
        for item in wire.feed(came):
            follow(keying.take(item, far.now_us))
        if not came and far.now_us >= due_us:
            follow(keying.overdue(far.now_us))
        if vars(keying)["_phase"] == "checking" and not echoed_us:
            echoed_us = far.now_us
    assert end is TypingEnd.CONFIRMED
    return echoed_us - began_us, far.now_us - began_us


def compare(name: str, far_end: Callable[[], AtOnce | AtTheWhimbrel], command: str, look: bytes) -> None:
    limit_us = len(command) * character_us(BAUD)
    print(f"{name}: {len(command)} characters, which the line carries in {limit_us / 1000:.1f} ms")
    for window in WINDOWS:
        typed_us, taken_us = times_us(far_end(), command, window, look)
        behind = "settling, a second look and RETURN" if look else "settling and RETURN"
        print(
            f"  window {window}: typed and echoed in {typed_us / 1000:6.1f} ms, {typed_us / limit_us:.3f} x; "
            f"then {(taken_us - typed_us) / 1000:.1f} ms for {behind}"
        )


def main() -> None:
    compare("A machine that echoes at once", AtOnce, COMMAND, b"")
    compare("The Whimbrel", AtTheWhimbrel, COMMAND[:LONGEST_LINE_CHARS], b"\x0e")


if __name__ == "__main__":
    main()
