"""Commands typed at the simulated machine over a noisy line, judged by what it really did: its truth log.

    python -m tests.trials.noise [COMMANDS [SEEDS [KIND ...]]]     # 10,000 commands for each of 5 seeds

The whole of the decisions types, in virtual time. One character in a hundred is damaged, each way. Half of
the commands are typed with one character on its way, half with four; into one of five breaks a broadcast.
It prints counts and seeds, and ends with status 1 where a claim is false:

- where characters are lost, doubled or turned into other printable ones, no wrong command and no
  beginning of one is executed;
- where bits are flipped or any byte may come, as many are as `noise_risk` says, within its 99 % interval;
- each that is executed is told in the record as garbled, and none is one that must never be typed.
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter
from typing import Final

import msgspec
from scipy import stats

from exhibit.decisions.commands import Command
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import Folder, Script, TypeCommand
from exhibit.decisions.rehearsal.rehearsed_decider import RehearsedDecider
from exhibit.decisions.rehearsal.virtual_run import VirtualRun
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from exhibit.simulator.truth import CommandTaken
from exhibit.sums.console_model import Console
from exhibit.sums.line_noise import Noise, way_with
from exhibit.sums.noise_risk import Risk, noise_risk
from exhibit.web.places import scripts_folder
from tests.decisions.heron import opened
from tests.simulator.workbench import at_desk
from tests.sums.noisy_line import Damage, by_dice

WHOLE_COMMANDS: Final = 10_000
WHOLE_SEEDS: Final = [1, 2, 3, 4, 5]
RATE: Final = 0.01
KINDS: Final[dict[str, dict[str, float]]] = {
    "loss": {"lost": RATE},
    "doubling": {"doubled": RATE},
    "printable": {"garbled": RATE},
    "flips": {"flipped": RATE},
    "any byte": {"replaced": RATE},
}
HARMLESS: Final = ("loss", "doubling", "printable")
"""The kinds of noise that make RETURN of nothing."""
PROMPT: Final = "DESK TIDES: "
COMMANDS: Final = (
    "TIME",
    "JOBS",
    "CALL 77",
    "STOP 19",
    "DRIVES",
    "LOOK AT THE MOON",
    "BEGIN SHUTTLE UNDER 4 MINUTES",
)
"""All harmless, whatever becomes of them; M and J are each a bit away from RETURN and line feed."""
WINDOWS: Final = (1, 4)
BROADCAST_SHARE: Final = 0.2
WITHIN_US: Final = 60_000_000
QUIET_US: Final = 3_000_000
CLEAR: Final = b"\x11\x18"
"""XON and the cancel key: what a person would press."""


def described(window: int) -> Folder:
    """The machine's folder, with a script of one step for each command."""
    folder = read_folder(scripts_folder() / "whimbrel")
    typing = msgspec.structs.replace(folder.machine.typing, window=window)
    scripts = {
        f"{number}": Script(
            name=f"{number}",
            title={"en": command},
            within_us=2 * WITHIN_US,
            steps=(
                TypeCommand(
                    name="ask",
                    at=("desk-tides",),
                    command=command,
                    until=("desk-tides",),
                    within_us=WITHIN_US,
                ),
            ),
            tidy_up=(),
        )
        for number, command in enumerate(COMMANDS)
    }
    machine = msgspec.structs.replace(folder.machine, typing=typing)
    return msgspec.structs.replace(folder, machine=machine, scripts=scripts, captions=())


def console_of_the_whimbrel(machine: Machine) -> Console:
    """How the simulated machine takes what is typed at it (docs/whimbrel.md, section 3)."""
    return Console(
        upper=True,
        ends_line=frozenset({13}),
        cancel=machine.typing.cancel[0],
        cancel_shows=b" CANCELLED\r\n",
        ignores=frozenset({0, 10}),
        flow_control=True,
        show_again=machine.typing.show_again[0],
        again_shows=b" AGAIN\r\n" + PROMPT.encode(),
    )


class Asked(msgspec.Struct):
    """What came of a command that was asked for once."""

    command: str
    executed: list[str]
    garbled: list[kinds.TypingGarbled]
    confirmed: bool
    typed: bytes

    @property
    def outcome(self) -> str:
        """What came first of it: right, nothing, bare, beginning or wrong; with what came behind it."""
        if not self.executed:
            return "nothing"
        first = self.executed[0]
        if first == self.command:
            return "right" if len(self.executed) == 1 else "right and more"
        return "bare" if not first else "beginning" if self.command.startswith(first) else "wrong"


class Trial:
    """A line with noise on it, the machine at its far end, and the decisions at this one."""

    def __init__(self, inward: Damage, outward: Damage, window: int, echo_late_ms: int = 0) -> None:
        self._inward, self._outward = inward, outward
        self._folder = described(window)
        self.machine = self._folder.machine
        self._bench = at_desk()
        self._noisy = False
        fact = opened(self.machine, line=self.machine.line.description(), typing="scripts")
        self._decider = RehearsedDecider(self._folder, fact)
        self._run = VirtualRun(self._decider, self)
        self._run.now_us = self._bench.now_us
        self._run.note(fact)
        self._run.note(kinds.LineOpened(line="the simulated machine"))
        self._over = False
        self._asked = Asked("", [], [], False, b"")
        self._notice_at = -1
        if echo_late_ms:
            self._bench.act(f"fault slow {echo_late_ms}")

    def ask(self, number: int, notice_at: int = -1) -> Asked:
        """Has this command typed once, a broadcast breaking in behind so many typed characters."""
        self._to_the_desk()
        truth = self._bench.machine.truth
        truth.records.clear()
        self._asked = Asked(COMMANDS[number], [], [], False, b"")
        self._notice_at, self._over, self._noisy = notice_at, False, True
        self._run.begin(self._decider.begin(f"{number}", {}, self._run.now_us))
        end_us = self._run.now_us + 3 * WITHIN_US
        while not self._over and self._run.now_us < end_us:
            self._turn(end_us)
        assert self._over, "the script never ended"
        self._pass(QUIET_US)
        self._noisy = False
        self._asked.executed = [record.text for record in truth.records if isinstance(record, CommandTaken)]
        return self._asked

    def _to_the_desk(self) -> None:
        """Clears the line as a person would, without noise, both ways."""
        self._run.receive(CLEAR)
        self._bench.send(CLEAR)
        self._pass(QUIET_US)
        if self._bench.machine.place != "open" or not self._heard_last.endswith(PROMPT.encode()):
            self._bench.send(b"TAKE TIDES\r")
            self._pass(QUIET_US)
            self._bench.send(b"GREBE519\r")
            self._pass(QUIET_US)
            assert self._heard_last.endswith(PROMPT.encode()), self._heard_last

    def _pass(self, us: int) -> None:
        end_us = self._bench.now_us + us
        while self._bench.now_us < end_us:
            self._turn(end_us)

    _heard_last = b""

    def _turn(self, end_us: int) -> None:
        """Lets time pass until the machine has sent something or a deadline passes, at most until then."""
        due = sorted((due_us, name) for name, due_us in self._run.deadlines.items())
        until_us = min(end_us, due[0][0]) if due else end_us
        while self._bench.now_us < until_us and not self._bench.stamped:
            self._bench.step(until_us)
        self._run.now_us = max(self._run.now_us, self._bench.now_us)
        came, self._bench.stamped = self._bench.stamped, []
        self._bench.heard = b""
        for _, data in came:
            self._heard_last = (self._heard_last + data)[-40:]
            damaged = [
                arrived for byte in data for arrived in (self._outward(byte) if self._noisy else [byte])
            ]
            if damaged:
                self._run.receive(bytes(damaged))
        if not came and due and self._bench.now_us >= due[0][0]:
            self._run.pass_deadline(due[0][1])

    # -- called by VirtualRun

    def is_taken(self, command: Command) -> bool:
        """All is."""
        return True

    def over(self, outcome: kinds.Outcome) -> None:
        """The script is over."""

    def typed(self, byte: int, secret: bool) -> None:
        """Puts the byte on the line, damaged as it may be."""
        self._asked.typed += bytes((byte,))
        self._bench.send(bytes(self._inward(byte)))
        if len(self._asked.typed) == self._notice_at:
            self._bench.act("fault notice SWELL ON THE BAR")

    def decided(self, fact: kinds.AnyFact) -> None:
        """Takes what the record tells."""
        if isinstance(fact, kinds.TypingGarbled):
            self._asked.garbled.append(fact)
        elif isinstance(fact, kinds.TypingConfirmed):
            self._asked.confirmed = True
        elif isinstance(fact, kinds.ScriptEnded):
            self._over = True


class Tally(msgspec.Struct):
    """The counts of one kind of noise, and what was reckoned. `wrong` are the claims that were false."""

    outcomes: Counter[str]
    beginnings: float = 0.0
    """How many beginnings were to be expected."""
    wrongs: float = 0.0
    twice: int = 0
    told: int = 0
    """How many of the executed beginnings and wrong commands the record tells of ..."""
    exactly: int = 0
    """... and as a new line behind exactly what was executed."""
    attempts: Counter[int] = msgspec.field(default_factory=Counter)
    wrong: list[str] = msgspec.field(default_factory=list)


def interval(expected: float) -> tuple[int, int]:
    """From which to which count there will be with a chance of 99 %, so many being expected.

    Poisson: the sum of many small chances is a little less spread, never more (Hodges and Le Cam 1960).
    """
    return int(stats.poisson.ppf(0.005, expected)), int(stats.poisson.ppf(0.995, expected))


def prompt_recognised(noise: Noise) -> float:
    """How likely the prompt comes back so that it is known, behind a cancelled command."""
    chance = 1.0
    for character in "\n" + PROMPT.rstrip():
        chance *= way_with(noise).arrivals(ord(character)).get((ord(character),), 0.0)
    return chance


def risks_of(kind: str, numbers: list[int]) -> list[dict[int, Risk]]:
    """By window, and by command of these numbers: what is reckoned."""
    noise = Noise(**KINDS[kind])
    console = console_of_the_whimbrel(described(1).machine)
    stands = prompt_recognised(noise)
    return [
        {
            number: noise_risk(
                COMMANDS[number], console, noise, noise, window=window, prompt_recognised=stands
            )
            for number in numbers
        }
        for window in WINDOWS
    ]


ALL: Final = list(range(len(COMMANDS)))


def try_kind(kind: str, commands: int, seeds: list[int], numbers: list[int] = ALL) -> Tally:
    """Types so many commands for each seed, of these numbers, counts and judges."""
    tally = Tally(Counter())
    risks = risks_of(kind, numbers)
    for seed in seeds:
        dice = random.Random(f"{kind} {seed}")
        damage = by_dice(dice, **KINDS[kind])
        trials = [Trial(damage, damage, window) for window in WINDOWS]
        for number in range(commands):
            which, command = number % 2, dice.choice(numbers)
            notice_at = dice.randrange(1, 12) if dice.random() < BROADCAST_SHARE else -1
            asked = trials[which].ask(command, notice_at)
            count(asked, tally, trials[which].machine)
            tally.beginnings += risks[which][command].beginning
            tally.wrongs += risks[which][command].wrong
            if asked.outcome == "wrong" or (kind in HARMLESS and asked.outcome == "beginning"):
                print(f"    seed {seed}, command {number}: {asked}")
    judge(kind, tally)
    return tally


def count(asked: Asked, tally: Tally, machine: Machine) -> None:
    """Counts one command and what is claimed of it."""
    tally.outcomes[asked.outcome] += 1
    tally.attempts[len(asked.garbled)] += 1
    tally.twice += asked.executed.count(asked.command) > 1
    for executed in asked.executed:
        if any(never.match(executed) is not None for never in machine.never):
            tally.wrong.append(f"{executed!r} must never be typed")
    for executed in asked.executed:
        if executed in ("", asked.command):
            continue
        tally.told += bool(asked.garbled)
        tally.exactly += any(
            fact.new_line and fact.came_back.partition("\\r")[0].partition("\\n")[0] == executed
            for fact in asked.garbled
        )
        if not asked.garbled:
            tally.wrong.append(f"{executed!r} was executed and is told by nothing: {asked}")


def judge(kind: str, tally: Tally) -> None:
    """Adds the claims about the counts that are false."""
    for name, expected in (("beginning", tally.beginnings), ("wrong", tally.wrongs)):
        counted = tally.outcomes[name]
        low, high = (0, 0) if kind in HARMLESS else interval(expected)
        if not low <= counted <= high:
            tally.wrong.append(f"{counted} x {name}, which is not from {low} to {high}")


def run(commands: int, seeds: list[int], only: list[str]) -> bool:
    """Tries each of these kinds of noise, so many commands a seed, and prints. Gives whether all is true."""
    true = True
    for kind in only:
        began_s = time.monotonic()
        tally = try_kind(kind, commands, seeds)
        true &= not tally.wrong
        counts = ", ".join(f"{name} {number}" for name, number in sorted(tally.outcomes.items()))
        low, high = interval(tally.beginnings)
        print(f"{kind}: {commands * len(seeds)} commands, seeds {seeds}, {time.monotonic() - began_s:.0f} s")
        print(
            f"  {counts}; executed twice {tally.twice}\n"
            f"  came back wrong so often: {dict(sorted(tally.attempts.items()))}"
        )
        print(
            f"  beginnings expected {tally.beginnings:.2f} ({low} to {high}), wrong {tally.wrongs:.4f}; "
            f"told {tally.told}, exactly {tally.exactly}"
        )
        for wrong in tally.wrong:
            print(f"  FALSE: {wrong}")
        sys.stdout.flush()
    return true


def main() -> None:
    commands = int(sys.argv[1]) if len(sys.argv) > 1 else WHOLE_COMMANDS
    seeds = list(range(1, int(sys.argv[2]) + 1)) if len(sys.argv) > 2 else WHOLE_SEEDS
    if not run(commands, seeds, sys.argv[3:] or list(KINDS)):
        sys.exit(1)


if __name__ == "__main__":
    main()
