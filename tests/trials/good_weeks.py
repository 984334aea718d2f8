"""How often the engineer's sums cry wolf over weeks in which nothing changed.

    python -m tests.trials.good_weeks [WEEKS] [FIRST]       by default 200 weeks, from seed 1

Each week is seeded and has seven days. Three kinds are looked at:

* the simulated machine, whose drives come up to speed a little differently each time: an opening, two rounds
and a closing a day in virtual time. The charts judge the steps of the rounds, which have 14 runs in a week,
as `exhibit sums steps` does; those of opening and closing have too few, and nothing is computed of them; * a
made-up machine of 30 steps with 40 runs a week each, whose times are normal, or have a long tail; * errors at
a constant rate and faults at a constant rate, for the comparison of two spans and the tests of a trend.

For each, the number of alarms is printed beside the number that the method states, and the number that chance
may reach if the statement is true (once in a thousand times it is more). Claim: none is above that.
"""

from __future__ import annotations

import datetime
import itertools
import math
import random
import sys
from collections.abc import Iterator

import msgspec
from scipy import stats

from exhibit.decisions.machine.script import Folder
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from exhibit.output.terminal import put
from exhibit.records.index.moments import Moments
from exhibit.records.index.rows import HandsOnRow, RecordingRow, StepRow
from exhibit.records.index.session_rows import SessionRows
from exhibit.records.reckoning.of_rows import Rows
from exhibit.records.reckoning.step_sums import step_sums
from exhibit.records.simulated_rehearsal import SimulatedRun
from exhibit.sums.statistical.charts import Individuals, individuals
from exhibit.sums.statistical.drift import Drift, drift
from exhibit.sums.statistical.rates import Comparison, compare
from exhibit.sums.statistical.trend import Trend, laplace, military_handbook, reverse_arrangements
from exhibit.web.places import scripts_folder

WEEKS, DAYS = 200, 7
DAY = Wanted(before=("opening",), rounds=2, after=("closing",))
SCATTER = 0.01
STEPS, RUNS = 30, 40
ERRORS_A_DAY, FAULTS_A_SPAN = 3.0, 12
LEVEL = 0.05


class Alarms(msgspec.Struct):
    """The alarms of a method: how many, of how many chances, at which stated rate."""

    what: str
    alarms: int = 0
    chances: int = 0
    expected: float = 0.0

    def take(self, alarm: bool, rate: float, chances: int = 1) -> None:
        self.alarms += alarm
        self.chances += chances
        self.expected += rate

    @property
    def most(self) -> int:
        """What chance may reach: the 0.999 point of a Poisson distribution."""
        return int(stats.poisson.ppf(0.999, self.expected))

    @property
    def kept(self) -> bool:
        return self.alarms <= self.most

    @property
    def line(self) -> str:
        stated = f"stated {self.expected:.1f}, chance may reach {self.most}"
        return f"{self.what}: {self.alarms} alarms in {self.chances:,}; {stated}"


def simulated_week(folder: Folder, seed: int) -> Rows:
    """The steps of seven whole days on the simulated machine."""
    steps: list[StepRow] = []
    by_hand: set[tuple[str, str]] = set()
    for day in range(DAYS):
        wall = datetime.datetime(2026, 3, 2 + day, 10, 0, tzinfo=datetime.UTC)
        entries: list[kinds.Entry] = []
        SimulatedRun(folder, DAY, wall, entries.append, chance=1000 * seed + day, scatter=SCATTER).run()
        moments = Moments(f"{seed}-{day}")
        session = SessionRows(moments)
        for entry in entries:
            moments.note(entry)
            for row in session.take(entry.fact):
                if isinstance(row, StepRow):
                    steps.append(row)
                elif isinstance(row, HandsOnRow):
                    by_hand.add((row.script, row.step))
    recording = RecordingRow(
        **{
            name: {"str": "", "int": 0, "bool": False, "float": 1.0}[field.type]
            for name, field in RecordingRow.__dataclass_fields__.items()
        }
    )
    return Rows("whimbrel", True, [recording], steps=steps, by_hand=frozenset(by_hand))


def on_the_simulator(seeds: range) -> Iterator[Alarms]:
    """The charts over weeks on the simulated machine."""
    lasting, single = Alarms("simulated steps that changed"), Alarms("simulated single runs far off")
    folder = read_folder(scripts_folder() / "whimbrel")
    for seed in seeds:
        for step in step_sums(simulated_week(folder, seed)).steps:
            if isinstance(step.drift, Drift):
                lasting.take(step.change is not None, step.drift.expected_false)
            if isinstance(step.single, Individuals):
                single.alarms += len(step.single.outside)
                single.take(False, len(step.runs) / 370, len(step.runs))
    yield from (lasting, single)


def of_made_up_times(seeds: range) -> Iterator[Alarms]:
    """The charts over weeks of made-up times."""
    shapes = {
        "normal": lambda dice: dice.gauss(8, 0.2),
        "long-tailed": lambda dice: dice.lognormvariate(2, 0.4),
    }
    for shape, draw in shapes.items():
        lasting = Alarms(f"steps with {shape} times that changed")
        single = Alarms(f"single runs far off among {shape} times")
        for seed in seeds:
            dice = random.Random(f"{shape} {seed}")
            for _ in range(STEPS):
                times = [draw(dice) for _ in range(RUNS)]
                judged, chart = drift(times), individuals(times)
                assert isinstance(judged, Drift)
                assert isinstance(chart, Individuals)
                lasting.take(judged.change is not None, judged.expected_false)
                single.alarms += len(chart.outside)
                single.take(False, RUNS / 370, RUNS)
        yield lasting
        # Individuals charts state their rate for normal times only.
        if shape == "normal":
            yield single


def of_errors_and_faults(seeds: range) -> Iterator[Alarms]:
    """The comparison of two spans, and the tests of a trend, where nothing changed."""
    compared = Alarms("two spans that differ")
    tests = {
        name: Alarms(f"{name}, faults that become fewer") for name in ("reversals", "Laplace", "handbook")
    }
    for seed in seeds:
        dice = random.Random(f"errors {seed}")
        for _ in range(STEPS):
            counts = [_poisson(dice, ERRORS_A_DAY) for _ in range(DAYS)]
            found = compare((sum(counts[:3]), sum(counts[3:])), (3.0, 4.0))
            if isinstance(found, Comparison):
                compared.take(found.differs, LEVEL)
            ages = list(itertools.accumulate(dice.expovariate(1) for _ in range(60)))
            within = [age for age in ages if age <= FAULTS_A_SPAN]
            results = {
                "reversals": reverse_arrangements(ages[:FAULTS_A_SPAN]),
                "Laplace": laplace(within, FAULTS_A_SPAN),
                "handbook": military_handbook(within, FAULTS_A_SPAN),
            }
            for name, result in results.items():
                if isinstance(result, Trend):
                    tests[name].take(result.fewer < LEVEL, LEVEL)
    yield compared
    yield from tests.values()


def good_weeks(seeds: range) -> list[Alarms]:
    """All of it."""
    return [*on_the_simulator(seeds), *of_made_up_times(seeds), *of_errors_and_faults(seeds)]


def _poisson(dice: random.Random, mean: float) -> int:
    count, product = 0, dice.random()
    while product > math.exp(-mean):
        count, product = count + 1, product * dice.random()
    return count


if __name__ == "__main__":
    weeks = int(sys.argv[1]) if len(sys.argv) > 1 else WEEKS
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    found = good_weeks(range(first, first + weeks))
    put(*(one.line for one in found))
    sys.exit(not all(one.kept for one in found))
