"""What is passed between machine and terminal arrives unchanged, whatever becomes of the rest of the program.

    python -m tests.trials.passing [BYTES]      1,000 bytes each way at each speed, by default

`exhibit watch --terminal` runs between two pseudo-terminals. Random bytes go both ways at once, paced as a
line of that speed paces them, or as fast as they are taken. Meanwhile nothing happens, or everything but the
passing process is killed (kill -9), or all of that is stopped (SIGSTOP). Claim: the bytes that arrive are
those that were sent, in both directions. How long each took is printed beside the time that a character takes
on the line. A busy computer shows in it, so the same bytes go through two `cat` at the same time.
"""

from __future__ import annotations

import os
import random
import select
import signal
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import suppress
from pathlib import Path

import msgspec

from exhibit.facts import kinds
from exhibit.facts.line_settings import LineSettings
from exhibit.web.places import scripts_folder
from tests.commands.watching import Watch, children, watch
from tests.contracts.far_ends import PtyEnd

SPEEDS_BAUD = (110, 300, 600, 1200, 2400, 4800, 9600, 19200)
UNPACED = 0
"""Instead of a speed: as fast as the bytes are taken."""
MEANWHILE = ("nothing", "killed", "stopped")
PACED_BYTES = 1_000
UNPACED_BYTES = 1_000_000
WITHIN_S = 300.0
SEED = 20261129


class Passed(msgspec.Struct, frozen=True):
    """What became of one transfer."""

    baud: int
    meanwhile: str
    unchanged: tuple[bool, bool]
    """From the machine to the terminal, and back."""
    p99_ms: float
    cat_p99_ms: float

    def __str__(self) -> str:
        how = f", meanwhile {self.meanwhile}: unchanged {self.unchanged}"
        if self.baud == UNPACED:
            return f"unpaced{how}"
        character = f"{self.baud} baud, a character {settings(self.baud).char_us / 1000:.2f} ms"
        return f"{character}, p99 {self.p99_ms:.2f} ms, through cat {self.cat_p99_ms:.2f} ms{how}"


class OneWay:
    """Random bytes from one pseudo-terminal to another, and when each was sent and arrived."""

    def __init__(self, source: PtyEnd, target: PtyEnd, data: bytes, pause_s: float) -> None:
        self._source, self._target, self._data, self._pause_s = source, target, data, pause_s
        self._sent_s: list[float] = []
        self._arrived_s: list[float] = []
        self.arrived = bytearray()
        self._threads = [threading.Thread(target=work, daemon=True) for work in (self._send, self._receive)]
        for thread in self._threads:
            thread.start()

    def wait(self) -> None:
        for thread in self._threads:
            thread.join(WITHIN_S)

    def delays_s(self) -> list[float]:
        return [arrived - sent for sent, arrived in zip(self._sent_s, self._arrived_s, strict=False)]

    def _send(self) -> None:
        if not self._pause_s:
            self._source.send(self._data)
            return
        due_s = time.monotonic()
        for byte in self._data:
            time.sleep(max(0.0, due_s - time.monotonic()))
            self._sent_s.append(time.monotonic())
            self._source.send(bytes((byte,)))
            due_s += self._pause_s

    def _receive(self) -> None:
        limit_s = time.monotonic() + WITHIN_S
        while len(self.arrived) < len(self._data) and time.monotonic() < limit_s:
            if select.select([self._target.master], [], [], 1.0)[0]:
                piece = os.read(self._target.master, 65536)
                if self._pause_s:
                    self._arrived_s += [time.monotonic()] * len(piece)
                self.arrived += piece


class Cat:
    """Two pseudo-terminals that are joined by two `cat`."""

    def __init__(self) -> None:
        self.ends = PtyEnd(), PtyEnd()
        self._cats = [self._join(*pair) for pair in (self.ends, self.ends[::-1])]

    def close(self) -> None:
        for cat in self._cats:
            cat.kill()
            cat.wait()
        for end in self.ends:
            end.close()

    @staticmethod
    def _join(source: PtyEnd, target: PtyEnd) -> subprocess.Popen[bytes]:
        with open(source.path, "rb") as arrives, open(target.path, "wb") as leaves:
            return subprocess.Popen(["cat"], stdin=arrives, stdout=leaves)


def p99_ms(*ways: OneWay) -> float:
    """The time within which 99 of 100 bytes arrived; 0 if they were not paced."""
    delays_s = sorted(delay_s for way in ways for delay_s in way.delays_s()) or [0.0]
    return 1000 * delays_s[int(0.99 * (len(delays_s) - 1))]


def settings(baud: int) -> LineSettings:
    """A line of that speed, with as many bits as such lines usually have."""
    return LineSettings(baud=baud, data_bits=7, parity="even", stop_bits=2 if baud == 110 else 1)


def pass_through(place: Path, baud: int, meanwhile: str, paced_bytes: int, seed: int = SEED) -> Passed:
    """Let random bytes pass both ways. `baud` is a speed, or UNPACED."""
    dice = random.Random(seed + baud)
    count = paced_bytes if baud else UNPACED_BYTES
    pause_s = settings(baud).char_us / 1e6 if baud else 0.0
    machine, person = PtyEnd(), PtyEnd()
    cat = Cat()
    ways = ["--line", machine.url, "--terminal", person.url]
    with watch(place, scripts_folder() / "whimbrel", *ways) as begun:
        begun.until_said("The recording: ")
        (passer,) = [
            int(line.split()[1]) for line in begun.said().splitlines() if "passes characters" in line
        ]
        try:
            begun.until_fact(kinds.TerminalOpened)
            sent = dice.randbytes(count), dice.randbytes(count)
            to_person = OneWay(machine, person, sent[0], pause_s)
            to_machine = OneWay(person, machine, sent[1], pause_s)
            beside = [OneWay(*ends, sent[0], pause_s) for ends in (cat.ends, cat.ends[::-1]) if baud]
            time.sleep(count * pause_s / 3)
            stopped = disturb(begun, meanwhile)
            to_person.wait()
            to_machine.wait()
            for way in beside:
                way.wait()
            for pid in stopped:
                os.kill(pid, signal.SIGCONT)
        finally:
            with suppress(ProcessLookupError):
                os.kill(passer, signal.SIGTERM)
            machine.close()
            person.close()
            cat.close()
    return Passed(
        baud,
        meanwhile,
        (bytes(to_person.arrived) == sent[0], bytes(to_machine.arrived) == sent[1]),
        p99_ms=p99_ms(to_person, to_machine),
        cat_p99_ms=p99_ms(*beside),
    )


def disturb(begun: Watch, meanwhile: str) -> list[int]:
    """Kill or stop everything but the passing process. Returns the numbers of what was stopped."""
    if meanwhile == "nothing":
        return []
    rest = [pid for pid in children(begun.process.pid) if not is_passer(pid)]
    assert len(rest) >= 2
    for pid in (begun.process.pid, *rest):
        os.kill(pid, signal.SIGKILL if meanwhile == "killed" else signal.SIGSTOP)
    return [] if meanwhile == "killed" else [*rest, begun.process.pid]


def is_passer(pid: int) -> bool:
    return b"exhibit.passing" in Path(f"/proc/{pid}/cmdline").read_bytes()


def main(paced_bytes: int) -> int:
    """Try all. Returns the exit status."""
    wrong = 0
    for baud in (UNPACED, *SPEEDS_BAUD):
        for meanwhile in MEANWHILE:
            with tempfile.TemporaryDirectory(prefix="passing-") as place:
                passed = pass_through(Path(place), baud, meanwhile, paced_bytes)
            print(passed, flush=True)
            wrong += passed.unchanged != (True, True)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main(*(map(int, sys.argv[1:])) if sys.argv[1:] else (PACED_BYTES,)))
