"""One round of the Whimbrel in virtual time, disturbed by chance, and judged by what really happened.

All of it follows from one number: the machine's dice, which faults come, and when. The judge knows what
the machine did from its truth log, and what was typed when; it asks nothing of the session itself.
"""

from __future__ import annotations

import random
import re
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Final

import msgspec

from exhibit.decisions.commands import Command
from exhibit.decisions.decider import Decider
from exhibit.decisions.machine.script import AnyStep, Folder, PressKey, TypeCommand, TypeSecret
from exhibit.decisions.rehearsal.virtual_run import VirtualRun
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.session.script_run import at_of
from exhibit.facts import kinds
from exhibit.folder.secret_words import demo_secrets
from exhibit.folder.whole import read_folder
from exhibit.simulator.bench import Bench
from exhibit.simulator.core import Options
from exhibit.simulator.tidebook.desks import WORDS
from exhibit.simulator.truth import CommandTaken
from tests.decisions.deciders import decider_for
from tests.decisions.heron import opened

S: Final = 1_000_000
ROUND_S: Final = 160
"""About as long as an undisturbed round takes."""
LONGEST_US: Final = 4 * 3600 * S
AFTERWARDS_US: Final = 5 * 60 * S
"""Longer than a job that nobody stops goes on by itself."""
JOBS: Final = ("SHUTTLE", "SUMS", "TIDES")
"""What a round begins, and must not leave going."""
CANCEL, RETURN = 0x18, 0x0D
XON_XOFF: Final = b"\x11\x13"
FOLDER: Final = Path(__file__).resolve().parents[2] / "scripts" / "whimbrel"
FAULTS: Final = (
    "loss", "stall", "freeze", "line away", "power cut", "hung job", "broadcast", "look-alike", "XOFF stuck",
    "slow echo",
)  # fmt: skip

HINDERING: Final = ("loss", "stall", "freeze", "XOFF stuck", "slow echo")
"""Those that, while they are on, can keep anything from being typed."""


class Fault(msgspec.Struct, frozen=True):
    """Something that goes wrong `at_s` after the round began, for `for_s`; 0: for good."""

    kind: str
    at_s: float
    for_s: float


@cache
def whimbrel() -> Folder:
    """The folder of the machine, read once."""
    return read_folder(FOLDER)


def faults_of(seed: int) -> list[Fault]:
    """Up to three faults, in the order in which they come."""
    dice = random.Random(f"faults {seed}")
    chosen = [
        Fault(
            kind=dice.choice(FAULTS),
            at_s=round(dice.uniform(0, ROUND_S), 3),
            for_s=0.0 if dice.random() < 0.2 else round(10 ** dice.uniform(-1, 2.3), 3),
        )
        for _ in range(dice.choice((1, 1, 2, 3)))
    ]
    return sorted(chosen, key=lambda fault: fault.at_s)


class DisturbedRound:
    """Plays one; then `ended` says how it ended, and `wrong` what should never have been."""

    def __init__(self, seed: int, faults: list[Fault] | None = None) -> None:
        """`faults`: these, in place of those that follow from the number."""
        self.seed = seed
        self.faults = faults_of(seed) if faults is None else faults
        self.from_script = "opening" if faults is None and seed % 4 == 0 else "round"
        """The faults come in a round, or from the opening on, in which a late step is asked about."""
        self.asked = 0
        """How often a person was asked what becomes of a late step."""
        self.folder = whimbrel()
        dice = random.Random(f"machine {seed}")
        self._dice = dice
        options = Options(
            baud=self.folder.machine.line.baud, chance=seed, notices_every_s=dice.choice((0, 60, 300))
        )
        self.bench = Bench(options)
        self.wrong: list[str] = []
        self.ended = ""
        self.entries: list[kinds.Entry] = []
        self.outcome: kinds.Outcome | None = None
        self.left_for_a_while = False
        """A job went on for a while after the end, as was told."""
        self._run = VirtualRun(self._decider(), self, self._keep)
        self._agenda: list[tuple[int, str]] = []
        self._line_up = True
        self._stalled_until_us = self._frozen_until_us = 0
        self._frozen_us = 0
        self._stalled = b""
        self._asked: kinds.HandsOnAsked | kinds.StepOverdue | None = None
        self._step: AnyStep | None = None
        self._standing = ""
        self._heard_us = 0
        self._begun = False
        self._on: set[Fault] = set()
        """The faults that have come and not gone."""
        self._asked_amid = False
        """Nothing could be heard of the machine, and a person was asked, while it was kept from answering."""
        self._home_key = ""
        """Goes out next, to find out where the console stands."""
        self._half = b""
        """What was typed since a command was last taken or cancelled."""
        self._play()

    def _decider(self) -> Decider:
        wanted = Wanted(before=("opening",), rounds=1, after=())
        machine = self.folder.machine
        self._opened = opened(machine, tell_tales=machine.tell_tales, ahead=self.folder.ahead)
        return decider_for(self.folder, self._opened, wanted, demo_secrets(WORDS))

    # -- time

    def _play(self) -> None:
        self._run.note(self._opened)
        self._run.note(kinds.LineOpened(line="the simulated machine"))
        while self.outcome is None and self._run.now_us < LONGEST_US:
            if self._asked is not None:
                asked, self._asked = self._asked, None
                self._answer(asked)
            elif not self._next():
                break
        self._judge()

    def _next(self) -> bool:
        """Lets time pass until the next thing happens; gives whether there is one."""
        due = sorted((due_us, name) for name, due_us in self._run.deadlines.items())
        soonest = [due_us for due_us, _ in due[:1]] + [at_us for at_us, _ in self._agenda[:1]]
        if self._stalled:
            soonest.append(self._stalled_until_us)
        if not soonest:
            return False
        if self._let_pass(max(self._run.now_us, min(soonest))):
            return True
        if self._agenda and self._agenda[0][0] <= self._run.now_us:
            self._happen(self._agenda.pop(0)[1])
        elif due and self._run.deadlines.get(due[0][1]) == due[0][0] <= self._run.now_us:
            self._run.pass_deadline(due[0][1])
        return True

    def _let_pass(self, until_us: int) -> bool:
        """Time goes on until something is heard, at most until then; gives whether it is."""
        came = b""
        if self._stalled and self._run.now_us >= self._stalled_until_us:
            came, self._stalled = self._stalled, b""
        while not came and self._run.now_us < until_us:
            if self._run.now_us < self._frozen_until_us:
                until = min(until_us, self._frozen_until_us)
                self._frozen_us += until - self._run.now_us
                self._run.now_us = until
                continue
            self.bench.step(until_us - self._frozen_us)
            self._run.now_us = max(self._run.now_us, self.bench.now_us + self._frozen_us)
            came, self.bench.heard = self.bench.heard, b""
            self.bench.stamped.clear()
            if not self._line_up:
                came = b""
            elif came and self._run.now_us < self._stalled_until_us:
                self._stalled += came
                return True
        if came:
            self._hear(came)
        return bool(came)

    def _hear(self, came: bytes) -> None:
        if came.strip(XON_XOFF):
            self._heard_us = self._run.now_us
            if self._standing in self._prompts:
                self._standing = ""
        self._run.receive(came)

    @property
    def _prompts(self) -> set[str]:
        return {prompt.name for prompt in self.folder.machine.prompts}

    # -- faults

    def _happen(self, what: str) -> None:
        number, _, end = what.partition(" ")
        fault = self.faults[int(number)]
        if end:
            self._on.discard(fault)
            self._end(fault)
            return
        self._on.add(fault)
        if fault.for_s:
            self._agenda.append((self._run.now_us + round(fault.for_s * S), f"{number} end"))
            self._agenda.sort()
        for_us = round((fault.for_s or 900) * S)
        match fault.kind:
            case "loss":
                rate = self._dice.choice((0.002, 0.01, 0.03))
                self.bench.act(f"fault lose {self._dice.choice(('in', 'out'))} {rate}")
            case "stall":
                self._stalled_until_us = self._run.now_us + for_us
            case "freeze":
                self._frozen_until_us = self._run.now_us + for_us
            case "line away":
                self._line_up = False
                self._stalled, self._standing, self._half = b"", "", b""
                self._run.note(kinds.LineLost(why="unplugged"))
            case "power cut":
                self.bench.act("fault power")
            case "hung job":
                going = [job.number for job in self.bench.machine.processor.jobs.values() if not job.over]
                if going:
                    self.bench.act(f"fault hang {self._dice.choice(going)}")
            case "broadcast":
                for _ in range(self._dice.choice((1, 1, 4))):
                    self.bench.act("fault notice SHIP ASHORE OFF THE POINT")
            case "look-alike":
                self.bench.act("fault lookalike")
            case "XOFF stuck":
                self.bench.act("fault xoff")
            case "slow echo":
                self.bench.act(f"fault slow {self._dice.choice((200, 1500, 5000))}")

    def _end(self, fault: Fault) -> None:
        match fault.kind:
            case "loss":
                for way in ("in", "out"):
                    self.bench.act(f"fault lose {way} 0")
            case "line away" if not self._line_up:
                self._line_up = True
                self._run.note(kinds.LineOpened(line="the simulated machine"))
            case "power cut":
                self.bench.act("fault power back")
            case "XOFF stuck":
                self.bench.act("fault xoff off")
            case "slow echo":
                self.bench.act("fault slow 0")

    # -- the docent

    def _answer(self, asked: kinds.HandsOnAsked | kinds.StepOverdue) -> None:
        if isinstance(asked, kinds.StepOverdue):
            said = self._dice.choice(("wait on", "wait on", "leave out", "stop", ""))
            if said:
                step = "" if said == "stop" else asked.step
                self._run.note(kinds.RequestMade(request=said, by="the docent", step=step))
            return
        acts = self.folder.simulated_docent.get(asked.script, {}).get(asked.step, ())
        answers = [self.bench.act(act) for act in acts]
        why = next((answer for answer in answers if not answer.startswith("done:")), "")
        said = "refuse" if why else "confirm"
        self._run.note(kinds.RequestMade(request=said, by="the docent", step=asked.step, why=why))

    # -- as VirtualRun sees it

    def is_taken(self, command: Command) -> bool:
        return True

    def over(self, outcome: kinds.Outcome) -> None:
        self.outcome = outcome

    def decided(self, fact: kinds.AnyFact) -> None:
        match fact:
            case kinds.ScriptStarted(script=script) if script == self.from_script and not self._begun:
                self._begun = True
                for number, fault in enumerate(self.faults):
                    self._agenda.append((self._run.now_us + round(fault.at_s * S), f"{number}"))
                self._agenda.sort()
            case kinds.StepStarted(script=script, step=name, tidying=tidying):
                described = self.folder.scripts.get(script)
                steps = described.steps if described else ways_home(self.folder)
                steps = described.tidy_up if described and tidying else steps
                self._step = next(step for step in steps if step.name == name)
            case kinds.LandmarkReached(landmark=landmark):
                self._standing = landmark
            case kinds.TypingConfirmed():
                self._half = b""
            case kinds.PlaceSought():
                self._step = None
            case kinds.PersonAsked():
                self._asked_amid = any(fault.kind in HINDERING for fault in self._on)
            case kinds.KeySent(key=key):
                self._home_key = key
            case kinds.HandsOnAsked():
                self._asked = fact
            case kinds.StepOverdue(then="ask"):
                self.asked += 1
                self._asked = fact

    def typed(self, byte: int, secret: bool) -> None:
        self._judge_typing(byte)
        self.bench.send(bytes((byte,)))

    def _keep(self, entry: kinds.Entry) -> None:
        self.entries.append(entry)

    # -- the judge

    def _judge_typing(self, byte: int) -> None:
        now, step = self._run.now_us, self._step
        what = f"{bytes((byte,))!r} at {now / S:.3f} s in {step.name if step else 'no step'}"
        if self.outcome is not None or not self._line_up:
            self.wrong.append(
                f"typed {what}, when {'all was over' if self._line_up else 'the line was away'}"
            )
        if byte == CANCEL and self._half:
            self._half = b""
            return
        if self._home_key:
            self._judge_home_key(what)
            return
        if step is None or "step" not in self._run.deadlines or self._run.deadlines["step"] < now:
            self.wrong.append(f"typed {what}, past its limit")
        if not self._half and step is not None:
            self._judge_place(step, what)
        if not isinstance(step, PressKey):
            self._half += bytes((byte,))

    def _judge_home_key(self, what: str) -> None:
        """The nudge, or the cancel key, is typed where it isn't known what stands, and in quiet alone."""
        key, self._home_key = self._home_key, ""
        way = self.folder.way_home
        if way is None or self._run.now_us - self._heard_us < way.listen_us:
            self.wrong.append(f"typed {what}, the {key}, while the machine was printing")
        if key == "nudge" and self._standing in self._questions:
            self.wrong.append(f"typed {what}, the nudge, at the question {self._standing}")
        self._standing = ""

    @property
    def _questions(self) -> set[str]:
        return {prompt.name for prompt in self.folder.machine.prompts if prompt.kind != "command"}

    def _judge_place(self, step: AnyStep, what: str) -> None:
        if at_of(step):
            if self._standing not in at_of(step):
                self.wrong.append(f"typed {what}, where {self._standing or 'nothing known'} stood")
        elif self._standing in self._prompts:
            self.wrong.append(f"typed {what}, which is for where nothing known stands")
        elif self._run.now_us - self._heard_us < self.folder.machine.typing.echo_within_us:
            self.wrong.append(f"typed {what}, while the machine was printing")
        self._standing = ""

    def _judge(self) -> None:
        self._judge_commands()
        told = Counter(type(entry.fact) for entry in self.entries)
        ended = [entry.fact for entry in self.entries if isinstance(entry.fact, kinds.ScriptEnded)]
        if self.outcome == "failed":
            self.ended = "failed and told"
            if not told[kinds.SessionFailed]:
                self.wrong.append("it failed, and nobody was told")
        elif self.outcome is not None:
            self.ended = "tidy"
            if not ended or not ended[-1].tidy:
                self.wrong.append("it ended as if all were well, and isn't tidy")
        elif told[kinds.LineLost] > told[kinds.LineOpened] - 1:
            self.ended = "the line is away, and told"
        else:
            self.ended = "never"
            self.wrong.append("it neither ended nor asked")
        tidy = bool(ended) and ended[-1].script == "round" and ended[-1].tidy
        self._judge_jobs(tidy)

    def _judge_jobs(self, tidy: bool) -> None:
        going = self._going()
        if going and tidy and self._line_up:
            self.wrong.append(f"{' and '.join(going)} went on, and it was said that all is tidy")
        # Once it has given up, nothing more is typed, also when what hindered it is over.
        hindered = any(fault.kind in HINDERING for fault in self._on)
        if going and self._line_up and not hindered and not self._asked_amid:
            self.wrong.append(f"{' and '.join(going)} went on, and nothing stood in the way of stopping it")
        self.left_for_a_while = bool(going)
        until_us = max(self._run.now_us, self._frozen_until_us) + AFTERWARDS_US
        while self._run.now_us < until_us and (self._run.deadlines or going):
            due = min([until_us, *self._run.deadlines.values()])
            if not self._let_pass(max(due, self._run.now_us + 1)):
                for name in [
                    name for name, at_us in self._run.deadlines.items() if at_us <= self._run.now_us
                ]:
                    self._run.pass_deadline(name)
        if self._line_up and self._going() and self._run.now_us >= until_us:
            self.wrong.append(f"{' and '.join(self._going())} goes on five minutes later")

    def _going(self) -> list[str]:
        jobs = self.bench.machine.processor.jobs.values()
        return [job.name for job in jobs if job.name in JOBS and not job.over and not job.hung]

    def _judge_commands(self) -> None:
        secrets = demo_secrets(WORDS)
        for record in self.bench.machine.truth.records:
            if not isinstance(record, CommandTaken):
                continue
            if record.secret_length is None and any(
                word in record.text for word in (secrets[name] for name in secrets)
            ):
                self.wrong.append(f"a secret was typed at {record.prompt!r}")
            if not self._is_of_a_script(record):
                self.wrong.append(f"the machine took {record.text!r} at {record.prompt!r}")

    def _is_of_a_script(self, taken: CommandTaken) -> bool:
        machine = self.folder.machine
        kinds_there = {p.kind for p in machine.prompts if p.pattern.match(taken.prompt) is not None}
        if not taken.text and taken.secret_length is None and kinds_there == {"command"}:
            return True  # the nudge, which does nothing there
        at = {prompt.name for prompt in machine.prompts if prompt.pattern.match(taken.prompt) is not None}
        for step in whole_steps(self.folder):
            if not at & set(at_of(step)):
                continue
            if isinstance(step, TypeSecret) and taken.secret_length is not None:
                whole = len(demo_secrets(WORDS)[step.secret])
                # No echo can tell that a character of it was lost on its way.
                lost = any(fault.kind == "loss" for fault in self.faults)
                if taken.secret_length == whole or (lost and taken.secret_length < whole):
                    return True
            if isinstance(step, TypeCommand) and as_typed(step.command).fullmatch(taken.text):
                return True
        return False


def whole_steps(folder: Folder) -> list[AnyStep]:
    """The steps of all the folder's scripts."""
    steps = [step for script in folder.scripts.values() for step in (*script.steps, *script.tidy_up)]
    return [*steps, *ways_home(folder)]


def ways_home(folder: Folder) -> list[AnyStep]:
    """The steps of all ways home."""
    way = folder.way_home
    return [step for steps in way.ways.values() for step in steps] if way is not None else []


@cache
def as_typed(command: str) -> re.Pattern[str]:
    """What a command of a script can be when its dates and numbers are filled in."""
    pieces = re.split(r"(\{[^{}]*\})", command.upper())
    return re.compile("".join("[0-9. ]+" if "{" in piece else re.escape(piece) for piece in pieces))
