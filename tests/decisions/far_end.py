"""The Heron itself, at the far end of the line: it echoes, folds, answers, and errs on demand."""

from __future__ import annotations

import random
from collections import deque
from collections.abc import Callable

from tests.decisions.heron import CANCEL, CHAR_US, RETURN, SECRET

CLEAR = "\x1b[2J"
PROMPTS = {"ready": "READY: ", "word": "SIGN WORD? ", "desk": "DESK TERN: ", "board": ""}


class FarHeron:
    """`executed` is what it took as whole commands, in order; `heard` every byte that reached it.

    `way_in` may change a byte on its way to the machine: it gives what arrives in its place.
    `echo_us` is how late each echo comes, `secret_echo_us` that of a secret where `echoes_secrets`, a
    fault, is on; `notices_at` are the numbers of the bytes heard at which a notice breaks in.
    """

    def __init__(self, place: str = "ready") -> None:
        self.place = place
        self.executed: list[str] = []
        self.heard = b""
        self.jobs: dict[int, str] = {}
        self.way_in: Callable[[int], bytes] = lambda byte: bytes((byte,))
        self.echo_us = 0
        self.echoes = True
        self.echoes_secrets = False
        self.secret_echo_us = 0
        self.notices_at: set[int] = set()
        self.notice_begins = "\r\n"
        self._line = ""
        self._printing: deque[tuple[int, int]] = deque()
        self._free_us = 0
        self._begun = 0
        self.now_us = 0
        self.print(PROMPTS[place])

    # -- as the driver sees it

    def next_us(self) -> int | None:
        return self._printing[0][0] if self._printing else None

    def take(self) -> bytes:
        self.now_us, byte = self._printing.popleft()
        return bytes((byte,))

    def typed(self, byte: int, at_us: int) -> None:
        self.now_us = max(self.now_us, at_us + CHAR_US)
        for arrived in self.way_in(byte):
            self._hear(arrived)

    # -- the machine

    def print(self, text: str, late_us: int = 0) -> None:
        for character in text.encode("latin-1"):
            self._free_us = max(self._free_us + CHAR_US, self.now_us + CHAR_US + late_us)
            self._printing.append((self._free_us, character))

    def notice(self) -> None:
        self.print(f"{self.notice_begins}== GALE AT SEA ==\r\n")

    def _hear(self, byte: int) -> None:
        self.heard += bytes((byte,))
        if len(self.heard) in self.notices_at:
            self.notice()
        key = bytes((byte,))
        if self.place == "board":
            self.place = "ready"
            self.print(f"{CLEAR}\x1b[1;1HBOARD PUT AWAY\r\n{PROMPTS[self.place]}")
        elif key == CANCEL:
            self._line = ""
            self.print(f" CANCELLED\r\n{PROMPTS[self.place]}")
        elif key == RETURN:
            self._execute()
        elif byte >= 0x20:
            self._line += bytes((byte,)).upper().decode("latin-1")
            if self.echoes and (self.place != "word" or self.echoes_secrets):
                self.print(self._line[-1], self.secret_echo_us if self.place == "word" else self.echo_us)
        else:
            self.print("\x07")

    def _execute(self) -> None:
        line, self._line = self._line, ""
        self.print("\r\n")
        if self.place == "word":
            self.place = "desk" if line == SECRET else "ready"
            self.print("" if line == SECRET else "THAT IS NOT THE WORD\r\n")
        elif line:
            self.executed.append(line)
            self._answer(*line.partition(" ")[::2])
        if self.place != "board":
            self.print(PROMPTS[self.place])

    def _answer(self, word: str, rest: str) -> None:
        if word == "BEGIN":
            self._begun += 1
            self.jobs[self._begun] = rest
            self.print(f"JOB {self._begun} BEGUN: {rest}\r\n")
        elif word == "END" and rest.isdigit() and int(rest) in self.jobs:
            del self.jobs[int(rest)]
            self.print(f"JOB {rest} STOPPED\r\n")
        elif word == "SIGN":
            self.place = "word"
        elif word == "LEAVE":
            self.place = "ready"
        elif word == "BOARD":
            self.place = "board"
            jobs = "".join(f"\x1b[{6 + n};1H{job} {name}" for n, (job, name) in enumerate(self.jobs.items()))
            self.print(f"{CLEAR}\x1b[1;1HHERON BOARD 09.15\x1b[3;1HLOAD {len(self.jobs)}{jobs}\x1b[24;1H")
        else:
            self.print("WHAT?\r\n")


class LocalEcho:
    """An adapter with the machine behind it, which sends back by itself what is typed; `off`: the machine is.

    Each byte comes back when it has been on the wire for its own time, and `late_us` later.
    """

    def __init__(self, machine: FarHeron, *, off: bool = False, late_us: int = 0) -> None:
        self.machine = machine
        self.echoes = True
        self._off = off
        self._late_us = late_us
        self._free_us = 0
        self._coming: deque[tuple[int, int]] = deque()
        self._now_us = 0

    @property
    def executed(self) -> list[str]:
        return self.machine.executed

    def next_us(self) -> int | None:
        due_us = [self._coming[0][0]] if self._coming else []
        printed_us = None if self._off else self.machine.next_us()
        return min([*due_us, *([printed_us] if printed_us is not None else [])], default=None)

    def take(self) -> bytes:
        if self._coming and self._coming[0][0] == self.next_us():
            return bytes((self._coming.popleft()[1],))
        return self.machine.take()

    def typed(self, byte: int, at_us: int) -> None:
        self._free_us = max(self._free_us, at_us) + CHAR_US
        if self.echoes:
            self._coming.append((self._free_us + self._late_us, byte))
        if not self._off:
            self.machine.typed(byte, at_us)


def noisy(dice: random.Random, share: float, *kinds: str) -> Callable[[int], bytes]:
    """A way in that does each of `kinds` ("lose", "double", "garble") to this share of the characters.

    Garbled is another printable character; control characters are lost and doubled only.
    """

    def way_in(byte: int) -> bytes:
        for kind in kinds:
            if dice.random() >= share:
                continue
            if kind == "lose":
                return b""
            if kind == "double":
                return bytes((byte, byte))
            if byte >= 0x20:
                return bytes(
                    (dice.choice([c for c in range(0x20, 0x7F) if chr(c).upper() != chr(byte).upper()]),)
                )
        return bytes((byte,))

    return way_in
