"""A day at two machines that the program had never seen: nothing wrong is done, and nothing untrue is said.

Each folder was written by somebody who had only the machine's handbook. Each day is judged by the machine's
own log of what was true.
"""

from collections import Counter
from pathlib import Path

import pytest

from tests.foreign.bittern import Bittern
from tests.foreign.driven import Foreign, ForeignDay
from tests.foreign.dunlin import Dunlin
from tests.foreign.wire import FAULTS, Fault
from tests.sampling import how_sampled, sample

pytestmark = [pytest.mark.pure, pytest.mark.trial(name="foreign")]

FOLDERS = Path(__file__).parent / "folders"
DAYS = 20
MACHINES = {
    "bittern": Foreign(
        name="bittern",
        folder=FOLDERS / "bittern",
        core=lambda seed: Bittern(seed=seed),
        secrets={"gauger": "REEDBED", "warden": "SEDGE14"},
    ),
    "dunlin": Foreign(
        name="dunlin",
        folder=FOLDERS / "dunlin",
        core=lambda seed: Dunlin(seed=seed),
        secrets={"porter": "lantern7", "fitter": "copper22"},
    ),
}
CASES = [(name, fault, seed) for name in MACHINES for fault in FAULTS for seed in range(1, DAYS + 1)]


def kind_of(case: tuple[str, Fault, int]) -> list[tuple[str, Fault]]:
    return [case[:2]]


def test_a_day_of_a_machine_that_nobody_here_wrote(capsys: pytest.CaptureFixture[str]):
    wrong: list[str] = []
    ends: Counter[str] = Counter()
    judged: Counter[str] = Counter()
    unknowable: Counter[str] = Counter()
    for name, fault, seed in sample(CASES, len(MACHINES) * len(FAULTS), kind_of):
        day = ForeignDay(MACHINES[name], fault, seed)
        ends[f"{name}, {fault}: {day.ended}"] += 1
        judged.update(day.judge.judged)
        unknowable.update(day.judge.unknowable)
        wrong += [f"{name}, {fault}, {seed}: {what}" for what in day.judge.wrong]
        if fault == "none" and day.ended != "done":
            wrong.append(f"{name}, without a fault, {seed}: {day.ended}")
    with capsys.disabled():
        print(
            f"\n    foreign: {sum(judged.values())} sentences judged, {sum(unknowable.values())} unknowable"
        )
        for end, count in sorted(ends.items()):
            print(f"    {end} {count}")
    assert wrong == [], how_sampled()
