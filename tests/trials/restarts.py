"""kill -9 of the bridge, in virtual time: it dies at a moment, and another one goes on at the same machine.

python -m tests.trials.restarts [--moments 100] [--seed 1]     tells what came of each; exit 1 if one is false
"""

from __future__ import annotations

import argparse
import datetime
import random
import sys
from collections import Counter
from collections.abc import Callable

import msgspec

from exhibit.decisions.commands import Command
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.rehearsal.virtual_run import VirtualRun
from exhibit.decisions.session.left_open import NOTHING, LeftOpen
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.wear.use import Use
from exhibit.facts import kinds
from exhibit.facts.use_before import UseBefore
from exhibit.folder.secret_words import demo_secrets
from exhibit.folder.whole import read_folder
from exhibit.simulator import truth
from exhibit.simulator.bench import Bench
from exhibit.simulator.core import Options
from exhibit.simulator.tidebook.desks import WORDS
from exhibit.web.places import scripts_folder
from tests.bridge.stage import whole_commands
from tests.decisions.deciders import decider_for
from tests.decisions.heron import opened

MOMENTS = 100
S = 1_000_000
WALL = datetime.datetime(2026, 11, 25, 9, 0, tzinfo=datetime.UTC)
LONGEST_US = 3 * 3600 * S
OPENING_AND_ROUND = Wanted(rounds=1, after=())
HOME_ALONE = Wanted(before=(), rounds=0, after=())


class Died(Exception):
    """The bridge was killed."""


class World:
    """The simulated machine, which goes on while bridges come and go."""

    def __init__(self, folder: Folder) -> None:
        self.folder = folder
        self.bench = Bench(Options(notices_every_s=40.0))
        self.dice = random.Random(1)

    @property
    def taken(self) -> list[truth.CommandTaken]:
        """The lines that the machine took."""
        return [r for r in self.bench.machine.truth.records if isinstance(r, truth.CommandTaken)]

    @property
    def going(self) -> list[str]:
        """The jobs that go on."""
        return [job.name for job in self.bench.machine.processor.jobs.values() if not job.over]

    def nobody_listens(self, us: int) -> None:
        """Time goes on without a bridge."""
        self.bench.run_to(self.bench.now_us + us)
        self.bench.heard = b""


class Life:
    """One bridge's life, as the bridge itself would live it, `before` which another one lived.

    `dies` is asked of each fact before it is written, and before the act behind it is done.
    """

    def __init__(
        self,
        world: World,
        wanted: Wanted,
        before: Life | None = None,
        dies: Callable[[kinds.Entry, bool], bool] = lambda entry, acted: False,
    ) -> None:
        self.world = world
        self.entries: list[kinds.Entry] = []
        self.outcome: kinds.Outcome | None = None
        self.lost_us = 0
        """So much of the end of its recording is lost."""
        self._dies = dies
        self._begun_us = world.bench.now_us
        self._asked: kinds.HandsOnAsked | None = None
        wall = WALL + datetime.timedelta(microseconds=world.bench.now_us)
        used = before.used() if before is not None else None
        begun = opened(world.folder.machine, wall=wall.isoformat(), use_before=used)
        self.decider = decider_for(world.folder, begun, wanted, demo_secrets(WORDS))
        self.run_ = VirtualRun(self.decider, self, self._keep)
        self.run_.note(begun)
        self.run_.note(before.left() if before is not None else NOTHING)

    @property
    def facts(self) -> list[kinds.AnyFact | kinds.UnknownFact]:
        return [entry.fact for entry in self.entries]

    def used(self) -> UseBefore:
        """The use up to its death, as its recording has it."""
        first, *_ = self.facts
        assert isinstance(first, kinds.RecordingOpened)
        use = Use(first)
        for entry in self.entries:
            use.note(entry.at_us, entry.fact)
        return use.before(self.run_.now_us)

    def left(self) -> kinds.LastRecordingRead:
        """What its recording left open. Where the computer lost its power, its end is lost."""
        fold = LeftOpen(self.world.folder)
        for entry in self.entries:
            if entry.at_us <= self.run_.now_us - self.lost_us:
                fold.take(entry.fact)
        return fold.as_fact("last", may_lack=self.lost_us > 0)

    def live(self) -> None:
        """From the opening of the line until all is over, or it dies."""
        try:
            self.run_.note(kinds.LineOpened(line="the simulated machine"))
            self.go_on()
        except Died:
            pass

    def go_on(self) -> None:
        """Lets time pass until all is over."""
        run, bench = self.run_, self.world.bench
        while self.outcome is None:
            assert run.now_us < LONGEST_US, self.facts[-8:]
            if self._asked is not None:
                asked, self._asked = self._asked, None
                acts = self.world.folder.simulated_docent.get(asked.script, {}).get(asked.step, ())
                done = all(bench.act(act).startswith("done:") for act in acts)
                request = kinds.RequestMade(
                    request="confirm" if done else "refuse", by="a docent", step=asked.step
                )
                run.note(request)
                continue
            due = min(((us, name) for name, us in run.deadlines.items()), default=None)
            assert due is not None, self.facts[-8:]
            self._let_pass(due[0] + self._begun_us)
            if run.now_us >= due[0] and run.deadlines.get(due[1]) == due[0]:
                run.pass_deadline(due[1])

    def _let_pass(self, until_us: int) -> None:
        bench = self.world.bench
        bench.heard = b""
        while bench.now_us < until_us and not bench.heard:
            bench.step(until_us)
        bench.stamped.clear()
        self.run_.now_us = max(self.run_.now_us, bench.now_us - self._begun_us)
        if bench.heard:
            self.run_.receive(bench.heard)

    def _keep(self, entry: kinds.Entry) -> None:
        if self._dies(entry, False):
            raise Died
        self.entries.append(entry)

    # -- called by VirtualRun

    def is_taken(self, command: Command) -> bool:
        return True

    def over(self, outcome: kinds.Outcome) -> None:
        self.outcome = outcome

    def typed(self, byte: int, secret: bool) -> None:
        if self._dies(self.entries[-1], True):
            raise Died
        self.world.bench.send(bytes((byte,)))

    def decided(self, fact: kinds.AnyFact) -> None:
        if isinstance(fact, kinds.HandsOnAsked):
            self._asked = fact


class Trial(msgspec.Struct):
    """What came of one moment."""

    moment: int
    died_at: str
    came_to: str
    wrong: list[str]


def whole_life(folder: Folder) -> Life:
    """An opening and a round in which nobody dies."""
    life = Life(World(folder), OPENING_AND_ROUND)
    life.live()
    assert life.outcome == "done", life.facts[-5:]
    return life


def try_moment(
    folder: Folder, moment: int, acted: bool, away_us: int, wanted: Wanted = HOME_ALONE, lost_us: int = 0
) -> Trial:
    """A bridge that dies before its fact of this number is written; or, `acted`, before the act behind it.

    `lost_us`: so much of its recording is lost, as when the computer loses its power.
    """
    world = World(folder)
    first = Life(world, OPENING_AND_ROUND, dies=lambda entry, did: entry.seq == moment and did == acted)
    first.live()
    first.lost_us = lost_us
    world.nobody_listens(away_us)
    before = len(world.taken)
    second = Life(world, wanted, first)
    second.live()
    return Trial(moment, died_at(first.entries), came_to(second), wrongs(world, second, before))


def died_at(entries: list[kinds.Entry]) -> str:
    """The step it was in, and the last fact that it wrote."""
    steps = [entry.fact for entry in entries if isinstance(entry.fact, kinds.StepStarted)]
    return f"{steps[-1].step if steps else 'no step'}, {type(entries[-1].fact).__name__}"


def came_to(life: Life) -> str:
    """Home, or why a person is asked."""
    if life.outcome == "done":
        return "home"
    asked = [fact for fact in life.facts if isinstance(fact, kinds.SessionFailed)]
    return f"asked: {asked[-1].why}" if asked else f"nothing: {life.outcome}"


def wrongs(world: World, life: Life, before: int) -> list[str]:
    """Which claims are false."""
    whole = whole_commands(world.folder)
    wrong = [f"executed {r.text!r} at {r.prompt!r}" for r in world.taken if not whole.fullmatch(r.text)]
    wrong += [
        f"RETURN alone at {r.prompt!r}"
        for r in world.taken[before:]
        if not r.text and not r.secret_length and r.prompt.rstrip().endswith("?")
    ]
    if life.outcome == "done":
        machine = world.bench.machine
        if machine.place != "open" or machine.tidebook is None or machine.tidebook.desk:
            wrong.append(f"not home: {machine.place}")
        if world.going:
            wrong.append(f"still going: {world.going}")
    elif not any(isinstance(fact, kinds.SessionFailed) for fact in life.facts):
        wrong.append("neither home nor asked")
    return wrong


def moments_of(
    whole: Life, count: int, dice: random.Random, *, opening: bool = False
) -> list[tuple[int, bool, int]]:
    """Moments of the round, spread over it; half of them where something was just typed or asked.

    Each with whether the act behind its fact is still done, and for how long nobody listens then.
    """
    begun = next(
        e.seq for e in whole.entries if isinstance(e.fact, kinds.ScriptStarted) and (e.fact.round or opening)
    )
    typed = [e.seq for e in whole.entries if isinstance(e.fact, kinds.BytesTyped) and e.seq > begun]
    questions = [
        e.seq + 1
        for e in whole.entries
        if isinstance(e.fact, kinds.LandmarkReached) and e.fact.landmark.startswith("word") and e.seq > begun
    ]
    chosen = [dice.choice(typed) + dice.choice((0, 1)) for _ in range(count // 2)]
    chosen += questions[: count // 10]
    chosen += [dice.randrange(begun, len(whole.entries)) for _ in range(count - len(chosen))]
    return [(at, at in typed and dice.random() < 0.5, dice.randrange(S // 2, 20 * S)) for at in chosen]


def main() -> int:
    """Tries all and prints what came of it."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--moments", type=int, default=MOMENTS)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--opening", action="store_true", help="moments of the opening too")
    parser.add_argument("--power-cut", action="store_true", help="up to a second of the recording is lost")
    given = parser.parse_args()
    folder = read_folder(scripts_folder() / "whimbrel")
    moments = moments_of(whole_life(folder), given.moments, random.Random(given.seed), opening=given.opening)
    counts: Counter[str] = Counter()
    false = 0
    for moment, acted, away_us in moments:
        lost_us = random.Random(moment).randrange(1, S) if given.power_cut else 0
        trial = try_moment(folder, moment, acted, away_us, lost_us=lost_us)
        counts[trial.came_to] += 1
        false += bool(trial.wrong)
        told = f"{moment}{' before its act' if acted else ''}, away {away_us / S:.1f} s: {trial.died_at}"
        print(f"{told}: {trial.came_to}{''.join(f'; WRONG: {wrong}' for wrong in trial.wrong)}", flush=True)
    print(f"seed {given.seed}: {dict(counts)}; false: {false}")
    return 1 if false else 0


if __name__ == "__main__":
    sys.exit(main())
