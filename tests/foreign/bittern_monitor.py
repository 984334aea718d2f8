"""The Bittern's monitor: sign-on, commands, exercisers that run in the background, closing down."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from tests.foreign.bittern_loader import question, work, yes_or_no
from tests.foreign.core import Ask, Dialogue, Pause
from tests.foreign.jobs import Jobs, Running

if TYPE_CHECKING:
    from tests.foreign.bittern import Bittern

WORDS = {"WARDEN": "SEDGE14", "GAUGER": "REEDBED"}
"""Who can sign on, and by which secret word."""
PASS_US = {"PACER": 5_000_000, "RAKER": 8_000_000}
"""The exercisers, and how long one pass takes."""
MOST_MINUTES = 20
ROOM_FOR_JOBS = 4
HELD_US, WRITING_US, READING_US = 30_000_000, 9_000_000, 4_000_000
COMMANDS = ("TIME", "SIGN", "JOBS", "BEGIN", "STOP", "CEASE", "LEVELS", "CLOSE", "ZERO", "HALT")
HARMFUL = ("ZERO", "HALT")
HARMLESS = tuple(name for name in COMMANDS if name not in HARMFUL)
SHORTEST_CHARS = 3
"""A command can be shortened to this many letters."""
BLOT = "".join(letter * 8 + "\r" for letter in "HXN#")


class Monitor:
    """What the monitor keeps in mind between commands."""

    def __init__(self, machine: Bittern) -> None:
        self.blocks = 0
        self._machine = machine
        self._who: str | None = None
        self._jobs = Jobs(machine, 1, PASS_US, self._over)

    def end(self) -> None:
        """The machine stops: no job runs on, nobody stays signed on."""
        self._jobs.end_with_machine()
        self._who = None

    def dialogue(self) -> Dialogue:
        """Take commands until the machine stops."""
        machine = self._machine
        title = "MARSH MONITOR 4"
        machine.say(f"\n{title}\r{title}\n{self.blocks} BLOCKS\n")
        self._say_time()
        while machine.runs == "system":
            text = (yield Ask("line", "*" if self._who else "-", dozes=True)).strip()
            if text:
                yield from self._command(text)

    def _refuse(self, text: str, reason: str) -> None:
        self._machine.note("refused", text)
        self._machine.say(f"?{reason}\n")

    def _command(self, text: str) -> Dialogue:
        word, *rest = text.split()
        names = [name for name in COMMANDS if name.startswith(word) and len(word) >= SHORTEST_CHARS]
        if not names:
            self._refuse(text, f"NO COMMAND {word}")
        elif self._who is None and names[0] not in ("TIME", "SIGN"):
            self._refuse(text, "SIGN ON FIRST")
        elif self._who != "WARDEN" and names[0] in ("CLOSE", "ZERO", "HALT"):
            self._refuse(text, f"NOT FOR {self._who}")
        else:
            self._machine.note("command", text)
            yield from self._handler(names[0])(text, rest)

    def _handler(self, name: str) -> Callable[[str, list[str]], Dialogue]:
        return {
            "TIME": self._time,
            "SIGN": self._sign,
            "JOBS": self._list,
            "BEGIN": self._begin,
            "STOP": self._stop,
            "CEASE": self._cease,
            "LEVELS": self._levels,
            "CLOSE": self._close,
            "ZERO": self._zero,
            "HALT": self._halt,
        }[name]

    # ---- signing on and off

    def _sign(self, text: str, rest: list[str]) -> Dialogue:
        machine = self._machine
        if rest == ["OFF"] and self._who:
            machine.say(f"SIGNED OFF {self._who} {machine.clock():%H.%M}\n")
            self._who = None
            machine.note("signed off")
        elif self._who or len(rest) != 1 or rest == ["OFF"]:
            self._refuse(text, f"{self._who} IS ON" if self._who else "SIGN WHOM")
        else:
            yield from self._word(rest[0])

    def _word(self, who: str) -> Dialogue:
        machine = self._machine
        for _ in range(3):
            machine.say("WORD\n")
            word = yield Ask("secret", BLOT, name="WORD")
            if word and WORDS.get(who) == word:
                self._who = who
                machine.note("signed on", who)
                machine.say(f"SIGNED ON {who} {machine.clock():%H.%M}\n")
                return
            self._refuse("a word", "NOT KNOWN")
            if not word:
                return
        machine.say("?CONSOLE HELD\n")
        yield from work(machine, HELD_US)

    # ---- jobs

    def _begin(self, text: str, rest: list[str]) -> Dialogue:
        machine = self._machine
        kind, *more = rest or [""]
        if kind not in PASS_US or len(more) > 1:
            self._refuse(text, "BEGIN PACER OR RAKER")
            return
        if len(self._jobs) >= ROOM_FOR_JOBS:
            self._refuse(text, "NO ROOM")
            return
        if not more:
            machine.say("MINUTES\n")
            more = [(yield from question(machine, "MINUTES"))]
        minutes = int(more[0]) if re.fullmatch("[0-9]{1,2}", more[0]) else 0
        if not 1 <= minutes <= MOST_MINUTES:
            self._refuse(text, f"1 TO {MOST_MINUTES} MINUTES")
            return
        machine.say(f"BEGUN AS {self._jobs.begin(kind, minutes).number}\n")

    def _over(self, job: Running) -> None:
        passes = self._jobs.turns(job)
        self._machine.break_in(f"* JOB {job.number} OVER  {passes} PASSES  {job.errors} ERRORS")

    def pack_fault(self) -> bool:
        """Something goes wrong on the pack; a RAKER finds it, if one is running."""
        for job in self._jobs:
            if job.kind == "RAKER":
                job.errors += 1
                track = self._machine.chance.randint(0, 202)
                self._machine.break_in(f"* JOB {job.number} ERROR  TRACK {track:03}")
                return True
        return False

    def _list(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        machine = self._machine
        if self._jobs:
            machine.say("JOB\b\b\b___  KIND\b\b\b\b____   LEFT\b\b\b\b____  PASSES\b\b\b\b\b\b______\n")
        for job in self._jobs:
            left_s = self._jobs.left_s(job)
            left = f"{left_s // 60}.{left_s % 60:02}"
            machine.say(f"{job.number:3}  {job.kind}  {left:>5}  {self._jobs.turns(job):6}\n")
        machine.say(f"- TOTAL {len(self._jobs)}\n")

    def _stop(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        number = int(rest[0]) if len(rest) == 1 and re.fullmatch("[0-9]{1,3}", rest[0]) else 0
        job = self._jobs.stop(number)
        if job is None:
            self._refuse(text, f"NO JOB {' '.join(rest)}".rstrip())
            return
        self._machine.say(f"JOB {number} STOPPED  {self._jobs.turns(job)} PASSES\n")

    def _cease(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        self._stop_jobs()

    def _stop_jobs(self) -> None:
        self._machine.say(f"CEASED\n- TOTAL {self._jobs.stop_all()}\n")

    # ---- what it tells

    def _say_time(self) -> None:
        self._machine.say(f"{self._machine.clock():%a %d %b %y  %H.%M.%S}\n".upper())

    def _time(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        self._say_time()

    def _levels(self, text: str, rest: list[str]) -> Dialogue:
        machine = self._machine
        if machine.pack_cleared:
            self._refuse(text, "PACK IS EMPTY")
            return
        yield from work(machine, READING_US)
        total = 0
        for hour in range(0, 24, 4):
            cm = [machine.chance.randint(40, 399) for _ in range(3)]
            total += sum(cm)
            machine.say(f"{hour:02}.00" + "".join(f"  {level / 100:.2f}" for level in cm))
            machine.say(f"  {machine.chance.randint(0, 360):03}\n")
        machine.say(f"- TOTAL {total / 100:.2f}\n")

    # ---- ends and harms

    def _close(self, text: str, rest: list[str]) -> Dialogue:
        machine = self._machine
        if self._jobs:
            if not (yield from yes_or_no(machine, "JOBS ARE RUNNING, STOP THEM")):
                return
            self._stop_jobs()
        if not (yield from yes_or_no(machine, "CLOSE DOWN")):
            return
        machine.enter("closing")
        machine.say("WRITING BACK\n")
        yield from work(machine, WRITING_US)
        machine.pack_open = False
        machine.say(f"PACK SAFE\n- TOTAL {machine.chance.randint(12, 90)} WRITES\nPOWER MAY GO OFF\n")
        yield Pause(0)
        machine.halt("closed")

    def _zero(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        self._machine.pack_cleared = True
        self._machine.note("harm", text)
        self._machine.say("PACK CLEARED\n")

    def _halt(self, text: str, rest: list[str]) -> Dialogue:
        yield Pause(0)
        self._machine.note("harm", text)
        self._machine.halt("command")
