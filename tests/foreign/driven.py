"""A short day at a foreign machine: opening, one round, closing, in virtual time, behind a line with a fault.

What was said is judged by the machine's own log of what was true. All of it follows from one number.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Final

from exhibit.decisions.commands import Command
from exhibit.decisions.machine.script import Folder, TypeCommand
from exhibit.decisions.page.views import View
from exhibit.decisions.rehearsal.virtual_run import VirtualRun
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.withholding.withholding import Withholding
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from tests.decisions.deciders import decider_for
from tests.decisions.heron import opened
from tests.foreign.core import Core, with_even_parity
from tests.foreign.judge import Judge
from tests.foreign.truths import State
from tests.foreign.wire import Fault, Wire

S: Final = 1_000_000
LONGEST_US: Final = 3 * 3600 * S
TO_DO_US: Final = 8 * S
"""How long the docent takes to do a step, or to look at the machine."""
MOST_CLEARED: Final = 3
"""How often the docent says "go on" after a failure, before giving up for the day."""
MOST_TRIES: Final = 3


@dataclass(frozen=True)
class Foreign:
    """A machine and the folder that somebody wrote for it from its handbook."""

    name: str
    folder: Path
    core: Callable[[int], Core]
    secrets: Mapping[str, str]
    places: Mapping[str, Callable[[State], bool]] = field(default_factory=dict)
    """What is true of the machine at each landmark of the folder."""


@cache
def read_once(folder: Path) -> Folder:
    """The folder as it is at the first call."""
    return read_folder(folder)


class ForeignDay:
    """Plays one. Then `judge.wrong` says what should never have been, and `ended` how it ended."""

    def __init__(self, machine: Foreign, fault: Fault, seed: int) -> None:
        self.folder = read_once(machine.folder)
        self.wire = Wire(machine.core(seed), fault, seed=seed)
        self.entries: list[kinds.Entry] = []
        self.view = View()
        self.judge = Judge(self.folder, self.wire, machine.places, set(machine.secrets.values()))
        self.ended = ""
        self._dice = random.Random(f"docent {seed}")
        self._even = self.folder.machine.line.parity == "even"
        self._outcome: kinds.Outcome | None = None
        self._said: list[tuple[int, kinds.RequestMade]] = []
        """What the docent is going to say, and when."""
        self._cleared = 0
        self._tries: dict[str, int] = {}
        self._line_up = True
        described = self.folder.machine
        self._opened = opened(described, machine_is="simulated")
        wanted = Wanted(before=("opening",), rounds=1, after=("closing",))
        decider = decider_for(self.folder, self._opened, wanted, machine.secrets)
        withholding = Withholding(described, tuple(machine.secrets.values()), 1.0)
        self._run = VirtualRun(decider, self, self._keep, withholding)
        self._play()

    # -- time

    def _play(self) -> None:
        self._run.note(self._opened)
        self._run.note(kinds.LineOpened(line="the simulated machine"))
        while self._outcome is None and self._run.now_us < LONGEST_US:
            if not self._next():
                break
        self.ended = self._outcome or ("gave up" if self._cleared > MOST_CLEARED else "never")
        self.judge.at_the_end(self.view, self._run.now_us, line_up=self._line_up)

    def _next(self) -> bool:
        due = [due_us for due_us in self._run.deadlines.values()]
        due += [at_us for at_us, _ in self._said]
        event_us = self.wire.next_event_us()
        held_us = self._run.held_due_us()
        due += [us for us in (event_us, held_us) if us is not None]
        if not due or self._cleared > MOST_CLEARED:
            return False
        until_us = max(self._run.now_us, min(due))
        for at_us, data in self.wire.advance(until_us):
            self._run.now_us = max(self._run.now_us, at_us)
            if self._line_up:
                self._run.receive(data)
        self._run.now_us = max(self._run.now_us, until_us)
        if (held_us := self._run.held_due_us()) is not None and held_us <= self._run.now_us:
            self._run.let_go_held()
        self._follow_line()
        for said in [one for one in self._said if one[0] <= self._run.now_us]:
            self._said.remove(said)
            self._says(said[1])
        late = sorted(
            (at_us, name) for name, at_us in self._run.deadlines.items() if at_us <= self._run.now_us
        )
        for at_us, name in late:
            if self._run.deadlines.get(name) == at_us and self._outcome is None:
                self._run.pass_deadline(name)
        return True

    def _follow_line(self) -> None:
        if self.wire.lost is self._line_up:
            self._line_up = not self._line_up
            lost = kinds.LineLost(why="unplugged")
            self._run.note(kinds.LineOpened(line="the simulated machine") if self._line_up else lost)

    # -- the docent

    def _will_say(self, request: kinds.RequestKind, step: str = "", after_us: int = TO_DO_US) -> None:
        made = kinds.RequestMade(request=request, by="the docent", step=step)
        self._said.append((self._run.now_us + after_us, made))

    def _says(self, made: kinds.RequestMade) -> None:
        if made.request != "confirm" or not made.step:
            self._run.note(made)
            return
        script = next(
            (name for name, steps in self.folder.simulated_docent.items() if made.step in steps), ""
        )
        acts = self.folder.simulated_docent.get(script, {}).get(made.step, ())
        answers = [self.wire.panel(act, self._run.now_us) for act in acts]
        if all(answer.startswith("done") for answer in answers):
            self._run.note(made)
            return
        # A key that has no effect yet is pressed again; one that has none any more has been pressed before.
        self._tries[made.step] = tries = self._tries.get(made.step, 0) + 1
        if tries > MOST_TRIES:
            self._run.note(made)
        else:
            self._will_say("confirm", made.step)

    # -- as VirtualRun sees it

    def is_taken(self, command: Command) -> bool:
        return True

    def over(self, outcome: kinds.Outcome) -> None:
        if outcome != "failed":  # after a failure the program stays, until a person has looked
            self._outcome = outcome

    def decided(self, fact: kinds.AnyFact) -> None:
        match fact:
            case kinds.HandsOnAsked(step=step):
                self._will_say("confirm", step)
            case kinds.StepOverdue(step=step, then="ask"):
                self._will_say(self._dice.choice(("wait on", "wait on", "leave out", "stop")), step)
            case kinds.SessionFailed():
                self._cleared += 1
                self._will_say("clear", after_us=30 * S)

    def typed(self, byte: int, secret: bool) -> None:
        if self._line_up:
            sent = with_even_parity(byte) if self._even else byte
            self.wire.receive(bytes((sent,)), self._run.now_us)

    def _keep(self, entry: kinds.Entry) -> None:
        self.entries.append(entry)
        self.view.apply(entry)
        self.judge.take(entry, self.view)


def commands_of(folder: Folder) -> list[re.Pattern[str]]:
    """What the scripts type, with anything in its places."""
    ways = folder.way_home.ways.values() if folder.way_home is not None else ()
    steps = [step for script in folder.scripts.values() for step in (*script.steps, *script.tidy_up)]
    steps += [step for way in ways for step in way]
    typed = {step.command for step in steps if isinstance(step, TypeCommand)}
    return [
        re.compile(
            "".join(r".+" if piece.startswith("{") else re.escape(piece) for piece in pieces), re.IGNORECASE
        )
        for pieces in (re.split(r"(\{[^{}]*\})", command) for command in sorted(typed))
    ]
