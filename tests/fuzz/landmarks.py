"""Whatever a machine prints, it is recognised alike however the bytes are cut, and soon."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Any, Final

from exhibit.decisions.commands import Arm, Drop, WatchCommand
from exhibit.decisions.console.console import Console
from exhibit.decisions.machine.description import Machine
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from tests.decisions import heron
from tests.fuzz.choices import Choices, pieces

ROOT: Final = Path(__file__).resolve().parents[2]
FOLDERS: Final = (
    "scripts/whimbrel",
    "scripts/posix",
    "tests/foreign/folders/bittern",
    "tests/foreign/folders/dunlin",
)
PAUSE: Final = b"\xff"
"""In an input: the machine prints nothing for a while; the byte after it says for how long."""
UNIT_US: Final = 20_000
PRINTED: Final = (
    b"READY: \xff\x20\r\n== GALE AT SEA ==\r\nJOB 4 BEGUN: TIDES\r\nREADY: \xff\x20GO\r\nDRIVE 2 FAILED\r\n",
    b"\x1b[2J\x1b[1;1HHERON BOARD 09.15\x1b[3;1HLOAD 1\x1b[6;1H1 TIDES\x1b[24;1H\xff\x40\r\nREADY: \xff\x10",
    b"STORM WARNING 3\r\nMORE\r\nEND OF WARNING\r\nTIDE NEWS\r\n\r\n\r\nTWO LINES: A\r\nB\r\n"
    b"DESK TERN: \xff\x09",
    b"JOB 7 BEGUN: A== GALE ==\r\n\x1b7\x1b[5;5HJOB 8 ENDED\x1b8SIGN WORD? \xff\x90\x1b[4;1HJOB 9 STOPPED"
    b"\x1b[5;1H",
    b"\x1b[2J\x1b[1;1HHERON GAUGE\x1b[2;1HLEVEL 4.5\xff\xa0\x1b[2;7H5.5\xff\xa0JOB 5 \xff\x7fENDED\x08D\n",
)


@cache
def machines() -> tuple[Machine, ...]:
    """The machines that are tried: the Heron on a screen and on paper, and those of whole folders."""
    paper = heron.machine(
        display=heron.Display(kind="paper", rows=40, line_end="return"), displays=(), troubles=()
    )
    return (heron.MACHINE, paper, *(read_folder(ROOT / folder).machine for folder in FOLDERS))


def seeds() -> list[bytes]:
    """Inputs to begin with."""
    return [bytes((number, 5)) + printed for number in range(len(machines())) for printed in PRINTED]


class Watched:
    """A console that is watched in virtual time. `facts` is what was recognised, with its time."""

    def __init__(self, machine: Machine) -> None:
        self.console = Console(machine, rate=1.0)
        self.now_us = 0
        self.facts: list[tuple[int, kinds.AnyFact]] = []
        self._deadlines: dict[str, int] = {}

    def receive(self, data: bytes) -> None:
        """The machine printed this, now."""
        self.console.heard(self.now_us)
        for item in self.console.items(data):
            self.facts += [(self.now_us, fact) for fact in self.console.see(item)]
        self._arm(self.console.deadlines_wanted())

    def wait(self, us: int) -> None:
        """Time goes on, and deadlines pass."""
        until_us = self.now_us + us
        while (due := min(((at, name) for name, at in self._deadlines.items()), default=None)) is not None:
            if due[0] > until_us:
                break
            self.now_us = max(self.now_us, due[0])
            del self._deadlines[due[1]]
            facts, then = self.console.deadline_passed(due[1], self.now_us)
            self.facts += [(self.now_us, fact) for fact in facts]
            self._arm(then)
            self._arm(self.console.deadlines_wanted())
        self.now_us = until_us

    def state(self) -> tuple[Any, ...]:
        """What it knows at the end."""
        console = self.console
        return (
            console.standing,
            console.place,
            console.last_lines(),
            console.rows(),
            console.carry_over("a line"),
        )

    def _arm(self, commands: list[WatchCommand]) -> None:
        for command in commands:
            if isinstance(command, Arm):
                assert command.due_us > self.now_us, "a deadline that passes for ever"
                self._deadlines[command.name] = command.due_us
            elif isinstance(command, Drop):
                self._deadlines.pop(command.name, None)


def one(data: bytes) -> None:
    """Watches a machine print, whole, byte by byte and in pieces."""
    given = Choices(data)
    machine = given.one_of(machines())
    size = 2 + given.below(30)
    stream = given.rest()
    whole = _watched(machine, stream, len(stream) or 1)
    for other in (_watched(machine, stream, 1), _watched(machine, stream, size)):
        assert other.facts == whole.facts, "what is recognised depends on how the bytes are cut"
        assert other.state() == whole.state(), "what is showing depends on how the bytes are cut"


def _watched(machine: Machine, stream: bytes, size: int) -> Watched:
    watched = Watched(machine)
    first, *others = stream.split(PAUSE)
    for printed, pause in [(first, 0), *((other[1:], other[0] if other else 1) for other in others)]:
        watched.wait(pause * UNIT_US)
        for piece in pieces(printed, size):
            watched.receive(piece)
    watched.wait(255 * UNIT_US)
    return watched
