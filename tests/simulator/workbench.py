"""The machine brought to where a test needs it, and what a test needs to read its board."""

import re
from dataclasses import replace

from exhibit.simulator.bench import Bench
from exhibit.simulator.core import Options
from exhibit.simulator.truth import Record

DESK_WORDS = {"TIDES": "GREBE519", "SURVEY": "SMEWS27Q", "KEEPER": "TWITE804"}


def at_lasting_store(options: Options | None = None, **changes: object) -> Bench:
    """Key on, all drives ready."""
    bench = Bench(replace(options or Options(), **changes))
    bench.act("key on")
    bench.until("PRESS START\r\n")
    bench.act("load SALLOW 1 upper protected")
    bench.act("load SALLOW 2 lower writable")
    for drive in ("small", "upper", "lower"):
        bench.act(f"start {drive}")
    for drive in ("SMALL", "LOWER"):
        bench.until(f"{drive} READY")
    bench.until("\r\n")
    return bench


def at_starter(options: Options | None = None, **changes: object) -> Bench:
    """At STARTER: ."""
    bench = at_lasting_store(options, **changes)
    bench.act("switches 14000200")
    bench.act("press start")
    bench.until("YEAR? ")
    bench.command("329 1970", "STARTER: ")
    return bench


def at_one_operator(options: Options | None = None, **changes: object) -> Bench:
    """TIDEBOOK loaded, at ONE OPERATOR: ."""
    bench = at_starter(options, **changes)
    load_tidebook(bench)
    return bench


def load_tidebook(bench: Bench) -> None:
    """From STARTER: to ONE OPERATOR: ."""
    bench.command("LOAD TIDEBOOK", "(UPPER)? ")
    bench.command("", "DAY.MONTH.YEAR? ")
    bench.command("25.11.1998", "HOURS.MINUTES? ")
    bench.command("09.12", "RIGHT (YES)? ")
    bench.command("", "LOG (YES)? ")
    bench.command("", "CONSOLE (YES)? ")
    bench.command("", "ONE OPERATOR: ")


def at_no_desk(options: Options | None = None, **changes: object) -> Bench:
    """The office open, at NO DESK: ."""
    bench = at_one_operator(options, **changes)
    bench.command("OPEN THE OFFICE", "NO DESK: ")
    return bench


def at_desk(desk: str = "TIDES", options: Options | None = None, **changes: object) -> Bench:
    """Signed on."""
    bench = at_no_desk(options, **changes)
    take(bench, desk)
    return bench


def take(bench: Bench, desk: str) -> str:
    """From NO DESK: to the desk."""
    bench.command(f"TAKE {desk}", f"WORD FOR DESK {desk}? ")
    return bench.secret(DESK_WORDS[desk], f"DESK {desk}: ")


def records(bench: Bench, kind: type[Record]) -> list:
    """The truth log's records of one kind."""
    bench.machine.truth.close_run()
    return [record for record in bench.machine.truth.records if type(record) is kind]


class Paper24x80:
    """A screen that knows only what the board is said to send: CUP, ED 2, RETURN, LINE FEED and text.

    Written for these tests, so that they do not lean on the program's own screen. Anything else
    raises ValueError.
    """

    def __init__(self) -> None:
        self.rows = [[" "] * 80 for _ in range(24)]
        self.row = self.column = 0

    def feed(self, text: str) -> None:
        for match in re.finditer(r"\x1b\[(\d+);(\d+)H|(\x1b\[2J)|(\r)|(\n)|([ -~])|(.)", text, re.DOTALL):
            line, column, clear, carriage, feed, letter, other = match.groups()
            if line:
                self.row, self.column = int(line) - 1, int(column) - 1
            elif clear:
                self.rows = [[" "] * 80 for _ in range(24)]
            elif carriage:
                self.column = 0
            elif feed:
                self.row += 1
            elif letter:
                self.rows[self.row][self.column] = letter
                self.column += 1
            else:
                raise ValueError(f"{other!r} is not among what the board sends")

    def text(self) -> list[str]:
        return ["".join(row).rstrip() for row in self.rows]
