"""A day of the Whimbrel in virtual time, with a page that follows it, and something that disturbs it.

One thread plays the machine, the docent and the program, so that the machine's state can be looked at
whenever something happens: each fact, and each thing that the machine does by itself.
"""

from __future__ import annotations

import datetime
import random
from functools import cache
from pathlib import Path
from typing import Final

import msgspec

from exhibit.decisions.commands import Command
from exhibit.decisions.machine.first_fact import hours_from
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.page.views import View
from exhibit.decisions.rehearsal.virtual_run import VirtualRun
from exhibit.decisions.session.left_open import NOTHING, LeftOpen
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.wear.use import Use
from exhibit.facts import kinds
from exhibit.folder.secret_words import demo_secrets
from exhibit.folder.whole import read_folder
from exhibit.simulator.bench import Bench
from exhibit.simulator.core import Options
from exhibit.simulator.tidebook.desks import WORDS
from tests.decisions.deciders import decider_for
from tests.decisions.heron import opened
from tests.page_truth.judge import Judge

S: Final = 1_000_000
FOLDER: Final = Path(__file__).resolve().parents[2] / "scripts" / "whimbrel"
WALL: Final = datetime.datetime(2026, 11, 25, 9, 0, tzinfo=datetime.UTC)
LONGEST_US: Final = 2 * 3600 * S
DAY_S: Final = 310
"""About as long as an undisturbed day takes: the opening, a round, and the closing."""
AFTERWARDS_US: Final = 60 * S
KINDS: Final = (
    "nothing", "power cut", "power flickers", "key off", "a person types", "line lost", "garbled", "stalled",
    "lunch", "killed", "watched",
)  # fmt: skip
BESIDE_WATCHED: Final = ("nothing", "power flickers", "line lost", "stalled")
"""What happens while a person operates the machine."""


class Disturbance(msgspec.Struct, frozen=True):
    """What disturbs the day, when, and for how long; 0: for good."""

    kind: str
    at_s: float = 0.0
    for_s: float = 0.0


def disturbance(number: int) -> Disturbance:
    """The one that follows from this number; each kind comes in turn."""
    dice = random.Random(f"day {number}")
    for_s = round(10 ** dice.uniform(-0.5, 1.8), 1)
    kind = KINDS[number % len(KINDS)]
    return Disturbance(kind, round(dice.uniform(5, DAY_S - 20), 1), 0.0 if kind == "power cut" else for_s)


@cache
def whimbrel() -> Folder:
    """The folder of the machine, read once."""
    return read_folder(FOLDER)


class Day:
    """Plays one. Then `judge` has what was untrue."""

    def __init__(
        self,
        disturbed: Disturbance,
        chance: int = 1,
        folder: Folder | None = None,
        begins: datetime.datetime = WALL,
        rounds: int = 1,
    ) -> None:
        self.disturbed = disturbed
        self.folder = folder or whimbrel()
        self.begins = begins
        self.bench = Bench(Options(chance=chance, notices_every_s=60.0))
        self.judge = Judge(self.bench.machine, self.folder.machine.typing.answer_within_us)
        self.entries: list[list[kinds.Entry]] = []
        """Of each recording."""
        self.outcome: kinds.Outcome | None = None
        self.printed = ""
        """What the machine has printed since a person began to wait for something."""
        self._chance = chance
        self._dice = random.Random(chance)
        watched = disturbed.kind == "watched"
        self._happens = self._dice.choice(BESIDE_WATCHED) if watched else disturbed.kind
        self._asked: kinds.HandsOnAsked | kinds.StepOverdue | None = None
        self._agenda = [(round(disturbed.at_s * S), "begins")] if self._happens != "nothing" else []
        self._line_up, self._stalled, self._held = True, False, b""
        self._begin(Wanted(rounds=rounds))
        self._play()
        self._run_on(AFTERWARDS_US)
        self.judge.over(self.bench.now_us)

    # -- recordings

    def _begin(self, wanted: Wanted, left: kinds.LastRecordingRead = NOTHING) -> None:
        """A program begins at the machine, as it is."""
        machine = self.folder.machine
        self._begun_us = self.bench.now_us
        wall = (self.begins + datetime.timedelta(microseconds=self._begun_us)).isoformat()
        begun = opened(
            machine,
            wall=wall,
            drawn=machine.drawn,
            now=machine.now,
            tested=machine.tested,
            plots=machine.plots,
            loads=machine.loads,
            chapters=self.folder.chapters,
            hours=hours_from(self.folder, wall),
            tell_tales=machine.tell_tales,
            ahead=self.folder.ahead,
            exercisers=self.folder.exercisers,
            use_before=self._used(),
        )
        self.entries.append([])
        self.view = View()
        self.outcome = None
        watched = self.disturbed.kind == "watched"
        self._decider = decider_for(self.folder, begun, None if watched else wanted, demo_secrets(WORDS))
        self._run = VirtualRun(self._decider, self, self._keep)
        self._run.note(self._opened(begun))
        if not watched:
            self._run.note(left)
        if watched:
            self._run.note(kinds.TerminalOpened(line="the terminal"))
        self._run.note(kinds.LineOpened(line="the simulated machine"))

    def _opened(self, first: kinds.RecordingOpened) -> kinds.RecordingOpened:
        """The first fact, as it is recorded."""
        return first

    def _used(self) -> kinds.AnyFact | None:
        if not self.entries:
            return None
        first, *_ = self.entries[-1]
        assert isinstance(first.fact, kinds.RecordingOpened)
        use = Use(first.fact)
        for entry in self.entries[-1]:
            use.note(entry.at_us, entry.fact)
        return use.before(self._run.now_us)

    def _left(self, *, closed: bool) -> kinds.LastRecordingRead:
        fold = LeftOpen(self.folder)
        for entry in self.entries[-1]:
            fold.take(entry.fact)
        return msgspec.structs.replace(fold.as_fact("last"), closed=closed)

    def _keep(self, entry: kinds.Entry) -> None:
        self.entries[-1].append(entry)
        self.view.apply(entry)
        self.judge.fact(self.view, entry, self.bench.now_us)

    # -- time

    def _play(self) -> None:
        """Until all is over."""
        while self.outcome is None and self.bench.now_us < LONGEST_US and self._turn():
            pass

    def _turn(self, most_us: int | None = None) -> bool:
        """Until the next thing happens, at most until `most_us`; returns whether anything is to come."""
        if self._asked is not None:
            asked, self._asked = self._asked, None
            self._answer(asked)
            return True
        due = min(((us + self._begun_us, name) for name, us in self._run.deadlines.items()), default=None)
        agenda = self._agenda[0] if self._agenda else None
        soonest = [one for one in (due and due[0], agenda and agenda[0], most_us) if one is not None]
        if not soonest:
            return False
        if self._let_pass(min(soonest)):
            return True
        if agenda is not None and agenda[0] <= self.bench.now_us:
            self._agenda.pop(0)
            self._disturb(agenda[1])
        elif (
            due is not None and self._run.deadlines.get(due[1]) == due[0] - self._begun_us <= self._run.now_us
        ):
            self._run.pass_deadline(due[1])
        return True

    def _run_on(self, for_us: int) -> None:
        """Time goes on after all is over, with whatever deadlines are left."""
        self._agenda.append((self.bench.now_us + for_us, "the day is over"))
        self._agenda.sort()
        self.outcome = None
        while self.outcome is None and self._turn():
            pass

    def _let_pass(self, until_us: int) -> bool:
        """Time goes on until something is heard, at most until then; returns whether it is."""
        while self.bench.now_us < until_us:
            self.bench.step(until_us)
            self._run.now_us = max(self._run.now_us, self.bench.now_us - self._begun_us)
            came, self.bench.heard = self.bench.heard, b""
            self.bench.stamped.clear()
            self.judge.moment(self.view, self.bench.now_us)
            self.printed += came.decode("latin-1")
            if came and self._stalled:
                self._held += came
            elif came and self._line_up:
                self._run.receive(came)
                return True
        return False

    # -- what disturbs

    def _disturb(self, what: str) -> None:
        if what == "the day is over":
            self.outcome = "done"
            return
        if what == "ends":
            self._end_disturbance()
            return
        if self.disturbed.for_s:
            self._agenda.append((self.bench.now_us + round(self.disturbed.for_s * S), "ends"))
            self._agenda.sort()
        match self._happens:
            case "power cut" | "power flickers":
                self.bench.act("fault power")
            case "key off":
                self.bench.act("key off")
            case "a person types":
                self.bench.send(self._dice.choice((b"BOARD\r", b"X", b"\r", b"LEAVE\r")))
            case "line lost":
                self._line_up = False
                self._run.note(kinds.LineLost(why="unplugged"))
            case "garbled":
                self.bench.act("fault garble out 0.01")
            case "stalled":
                self._stalled = True
            case "lunch":
                self._run.note(kinds.RecordingClosed(why="lunch"))
                self._nobody_listens()
            case "killed":
                self.judge.forget()  # the badge says that the program is gone
                self._nobody_listens()
        self.judge.moment(self.view, self.bench.now_us)

    def _nobody_listens(self) -> None:
        """The program is away for a while, and then another one begins."""
        closed = self.disturbed.kind == "lunch"
        until_us = self.bench.now_us + round(self.disturbed.for_s * S)
        left = self._left(closed=closed)
        self._agenda = []
        while self.bench.now_us < until_us:
            self.bench.step(until_us)
            if closed:
                self.judge.moment(self.view, self.bench.now_us)
        self.bench.heard = b""
        self._asked = None
        self._begin(Wanted(rounds=1), left)

    def _end_disturbance(self) -> None:
        match self._happens:
            case "power flickers":
                self.bench.act("fault power back")
            case "key off":
                self.bench.act("key on")
            case "line lost":
                self._line_up = True
                self._run.note(kinds.LineOpened(line="the simulated machine"))
            case "garbled":
                self.bench.act("fault garble out 0")
            case "stalled":
                self._stalled = False
                held, self._held = self._held, b""
                if held:
                    self._run.receive(held)

    # -- the docent

    def _answer(self, asked: kinds.HandsOnAsked | kinds.StepOverdue) -> None:
        if isinstance(asked, kinds.StepOverdue):
            self._run.note(kinds.RequestMade(request="stop", by="the docent"))
            return
        acts = self.folder.simulated_docent.get(asked.script, {}).get(asked.step, ())
        done = all(self.bench.act(act).startswith("done:") for act in acts)
        request: kinds.RequestKind = "confirm" if done else "refuse"
        self._run.note(kinds.RequestMade(request=request, by="the docent", step=asked.step, why="x"))

    # -- as VirtualRun sees it

    def is_taken(self, command: Command) -> bool:
        """Every command is carried out."""
        return True

    def over(self, outcome: kinds.Outcome) -> None:
        """All is over."""
        self.outcome = outcome

    def decided(self, fact: kinds.AnyFact) -> None:
        """The docent hears what is asked."""
        if isinstance(fact, kinds.HandsOnAsked) or (
            isinstance(fact, kinds.StepOverdue) and fact.then == "ask"
        ):
            self._asked = fact

    def typed(self, byte: int, secret: bool) -> None:
        """The character goes to the machine."""
        if self._line_up:
            self.bench.send(bytes((byte,)))
