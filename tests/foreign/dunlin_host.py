"""What one meets at the Dunlin after loading: signing on, commands, the load display, jobs, shutting down."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from exhibit.simulator.agenda import Booking
from tests.foreign import dunlin_screen as screen
from tests.foreign.core import Ask, Dialogue, Pause
from tests.foreign.dunlin_load import LoadDisplay
from tests.foreign.jobs import Jobs, Running

if TYPE_CHECKING:
    from tests.foreign.dunlin import Dunlin

SECRETS = {"porter": "lantern7", "fitter": "copper22"}
"""Who can sign on, and by which secret."""
TURN_US = {"sieve": 6_000_000, "weave": 9_000_000}
"""The kinds of job, and how long one turn takes."""
MOST_MINUTES, ROOM_FOR_JOBS = 30, 5
COMMANDS = ("date", "who", "jobs", "run", "end", "load", "list", "bye", "down", "wipe", "stop")
HARMFUL = ("wipe", "stop")
HARMLESS = tuple(name for name in COMMANDS if name not in HARMFUL)
FOR_THE_FITTER = ("down", *HARMFUL)
REFUSED_US, PARKING_US = 2_000_000, 6_000_000
MINUTE_US = 60_000_000
SHELVES = ("maps", "ferry", "lamps", "letters", "weather", "wages", "tools", "harbour", "bells", "stores")


class Host:
    """What the host keeps in mind between commands."""

    def __init__(self, machine: Dunlin) -> None:
        self._machine = machine
        self._who: str | None = None
        self._jobs = Jobs(machine, 101, TURN_US, self._over)
        self._number = 1
        self._middle = screen.Middle()
        self.load = LoadDisplay(machine, self._jobs)
        self._next: Booking | None = None

    def end(self) -> None:
        """The machine stops."""
        self._jobs.end_with_machine()
        self._who = None
        self._number = 1
        self._middle.forget()
        self._rest()
        self.load.count_anew()

    def _rest(self) -> None:
        self.load.end()
        if self._next is not None:
            self._next.call_off()

    def dialogue(self) -> Dialogue:
        """Take people's names and commands until the machine stops."""
        machine = self._machine
        while machine.runs == "system":
            if self._who is None:
                yield from self._sign_on()
            else:
                prompt = screen.at(screen.PROMPT_ROW) + screen.CLEAR_ROW + f"{self._number} {self._who}> "
                text = (yield Ask("line", prompt, name=f"{self._number} {self._who}>", dozes=True)).strip()
                if text:
                    yield from self._command(text)

    # ---- the screens

    def painted(self) -> str:
        """What paints the whole screen that is shown at the moment, but for the prompt."""
        machine = self._machine
        if self._who is None:
            title = screen.reversed_row(1, " DUNLIN HOST 5")
            return screen.CLEAR + title + screen.at(10, 20) + "Please sign on."
        if self.load.shown:
            return self.load.painted()
        head = screen.reversed_row(1, f" DUNLIN HOST 5   {self._who}   {machine.clock():%a %d %b %y}")
        rule = screen.at(screen.RULE_ROW) + "-" * screen.COLUMNS
        return screen.CLEAR + head + self._head_cells() + self._middle.painted() + rule

    def _head_cells(self) -> str:
        clock = f"{screen.at(1, screen.CLOCK_COLUMN)}{self._machine.clock():%H:%M}"
        jobs = f"{screen.at(1, screen.JOBS_COLUMN)}{len(self._jobs)} jobs"
        return screen.REVERSE + clock + jobs + screen.PLAIN

    def _tick(self) -> None:
        """The clock and the number of jobs in the head change while somebody is signed on."""
        if self._who is not None and not self.load.shown and not self._machine.asleep:
            self._machine.line.put([screen.KEEP + self._head_cells() + screen.BACK], echo=True)
        self._next = self._machine.agenda.after(MINUTE_US, self._tick)

    def _out(self, text: str) -> None:
        self._machine.say(self._middle.add(text))

    # ---- signing on

    def _sign_on(self) -> Dialogue:
        machine = self._machine
        machine.say(self.painted())
        name = (yield Ask("line", f"{screen.at(12, 20)}name:   {screen.CLEAR_ROW}", name="name:")).strip()
        if not name:
            return
        ask = Ask("secret", f"{screen.at(13, 20)}secret: {screen.CLEAR_ROW}", name="secret:")
        secret = yield ask
        if SECRETS.get(name) != secret:
            machine.note("refused", name)
            machine.say(screen.at(15, 20) + "not admitted")
            yield Pause(REFUSED_US)
            return
        self._who = name
        machine.note("signed on", name)
        self._middle.forget()
        machine.say(self.painted())
        self._out(f"{name} is signed on, {len(self._jobs)} jobs")
        self._next = machine.agenda.after(MINUTE_US, self._tick)

    # ---- commands

    def _refuse(self, text: str, reason: str) -> None:
        self._machine.note("refused", text)
        self._out(reason)

    def _command(self, text: str) -> Dialogue:
        word, *rest = text.split()
        self._machine.say(screen.at(screen.NOTICE_ROW) + screen.CLEAR_ROW)
        self._out(f"{self._number} {self._who}> {text}")
        self._number += 1
        if word not in COMMANDS:
            self._refuse(text, f"{word}: no such command")
        elif word in FOR_THE_FITTER and self._who != "fitter":
            self._refuse(text, f"{word}: ask the fitter")
        else:
            self._machine.note("command", text)
            yield from self._handler(word)(text, rest)

    def _handler(self, word: str) -> Callable[[str, list[str]], Dialogue]:
        return {
            "date": self._date,
            "who": self._tell_who,
            "jobs": self._list_jobs,
            "run": self._run,
            "end": self._end,
            "load": self._load,
            "list": self._list,
            "bye": self._bye,
            "down": self._down,
            "wipe": self._wipe,
            "stop": self._stop,
        }[word]

    def _date(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        self._out(f"{self._machine.clock():%A %d %B %Y %H:%M:%S}")

    def _tell_who(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        self._out(f"{self._who} at terminal 1")

    def _list(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        if self._machine.unit_wiped:
            self._refuse(text, "d1 is empty")
            return
        total = 0
        for number in range(1, 31):
            blocks = self._machine.chance.randint(1, 400)
            total += blocks
            shelf = self._machine.chance.choice(SHELVES)
            self._out(f"{number:4}  {shelf:10}{blocks:5}  {self._machine.chance.randint(75, 77)}")
        self._out(f"30 shelves, {total} blocks")

    def _bye(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        self._rest()
        self._who = None
        self._machine.note("signed off")

    # ---- jobs

    def _run(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        if len(rest) != 2 or rest[0] not in TURN_US:
            self._refuse(text, "run sieve or weave, and how many minutes")
        elif not re.fullmatch("[0-9]{1,2}", rest[1]) or not 1 <= int(rest[1]) <= MOST_MINUTES:
            self._refuse(text, f"1 to {MOST_MINUTES} minutes")
        elif len(self._jobs) >= ROOM_FOR_JOBS:
            self._refuse(text, "too many jobs")
        else:
            self._out(f"job {self._jobs.begin(rest[0], int(rest[1])).number} begun")
            self._machine.say(self._head_cells())

    def _over(self, job: Running) -> None:
        turns = self._jobs.turns(job)
        self._machine.break_in(f"job {job.number} ended after {turns} turns, {job.errors} errors")
        if self._who is not None and not self.load.shown and not self._machine.asleep:
            self._machine.line.put([screen.KEEP + self._head_cells() + screen.BACK], echo=True)

    def unit_fault(self) -> bool:
        """A block can't be read; a weave job finds it, if one is running."""
        for job in self._jobs:
            if job.kind == "weave":
                job.errors += 1
                self._machine.break_in(
                    f"job {job.number}: d1 block {self._machine.chance.randint(0, 0xFFF):03x} bad"
                )
                return True
        return False

    def _list_jobs(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        self._out("job   kind    left  turns")
        for job in self._jobs:
            left = "{}:{:02}".format(*divmod(self._jobs.left_s(job), 60))
            self._out(f"{job.number}   {job.kind}  {left:>5}  {self._jobs.turns(job):5}")
        self._out(f"{len(self._jobs)} jobs")

    def _end(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        if rest == ["all"]:
            self._out(f"{self._jobs.stop_all()} jobs ended")
        else:
            number = int(rest[0]) if len(rest) == 1 and re.fullmatch("[0-9]{3}", rest[0]) else 0
            job = self._jobs.stop(number)
            if job is None:
                self._refuse(text, "end which job? its number, or all")
                return
            self._out(f"job {number} ended after {self._jobs.turns(job)} turns")
        self._machine.say(self._head_cells())

    # ---- the load display

    def _load(self, text: str, rest: list[str]) -> Dialogue:
        machine = self._machine
        self._rest()
        self.load.begin()
        machine.say(self.painted())
        yield Ask("key", screen.at(screen.PROMPT_ROW), keys="q", name="load display")
        self._rest()
        machine.say(self.painted())
        self._next = machine.agenda.after(MINUTE_US, self._tick)

    # ---- ends and harms

    def _sure(self, question: str) -> Dialogue:
        prompt = screen.at(screen.PROMPT_ROW) + screen.CLEAR_ROW + question + " "
        answer = (yield Ask("line", prompt, name=question)).strip()
        self._machine.note("answer", f"{question} = {answer}")
        self._out(f"{question} {answer}")
        return answer == "yes"

    def _down(self, text: str, rest: list[str]) -> Dialogue:
        machine = self._machine
        running = f"{len(self._jobs)} jobs are running. " if len(self._jobs) else ""
        if not (yield from self._sure(f"{running}Shut down (yes or no)?")):
            self._out("not shut down")
            return
        if len(self._jobs):
            self._jobs.stop_all()
        self._rest()
        machine.enter("closing")
        machine.say(screen.CLEAR + screen.at(1) + "jobs ended\r\nparking d1\r\n")
        yield Pause(PARKING_US)
        machine.unit_open = False
        machine.say(f"d1 parked, {machine.chance.randint(3, 60)} blocks written\r\nsafe to switch off\r\n")
        yield Pause(0)
        machine.halt("closed")

    def _wipe(self, text: str, rest: list[str]) -> Dialogue:
        yield from ()
        self._machine.unit_wiped = True
        self._machine.note("harm", text)
        self._out("d1 wiped")

    def _stop(self, text: str, rest: list[str]) -> Dialogue:
        yield Pause(0)
        self._machine.note("harm", text)
        self._machine.halt("command")
