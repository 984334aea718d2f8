"""A demonstration that runs on and on holds no more late than early: half a minute, in the trials an hour."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from tests.sampling import WHOLE, number_of
from tests.trials.soak import HOUR_S, MOST_GROWTH_KB, PROCESSES, SPEED, Held, Soak, grows, soaked, table


@pytest.mark.waits
@pytest.mark.trial(name="soak")
def test_hours_leave_nothing_behind_in_any_process(tmp_path: Path) -> None:
    seconds, speed = number_of(whole=round(HOUR_S), daily=30), number_of(whole=round(SPEED), daily=20)
    found = soaked(tmp_path, seconds, speed)
    print(table(found))
    assert grows(found) == [], table(found)
    assert found.answers > seconds
    assert found.rounds > 10 or not WHOLE


def made(**grows_by: int) -> Soak:
    """A bridge that holds more at each sample, and others that don't."""
    samples = []
    for number in range(40):
        sample = {name: Held(memory_kB=40_000, threads=5, files=9) for name in PROCESSES}
        grown = {name: getattr(sample["bridge"], name) + by * number for name, by in grows_by.items()}
        samples.append(sample | {"bridge": msgspec.structs.replace(sample["bridge"], **grown)})
    return Soak(samples=samples, on_disc=[4] * 40, answers=1, rounds=1, failed=0, said="")


def test_what_grows_is_told() -> None:
    """The control for the test above."""
    assert grows(made()) == []
    assert grows(made(memory_kB=MOST_GROWTH_KB // 20 + 1)) != []
    assert grows(made(threads=1)) == ["threads of bridge grew from 15 to 35"]
    assert grows(made(files=1)) == ["files of bridge grew from 19 to 39"]
    more_files = msgspec.structs.replace(made(), on_disc=list(range(40)))
    assert grows(more_files) == ["files on disc grew from 19 to 30"]
    without = made()
    del without.samples[-1]["page"]
    assert grows(without) == ["there is no page"]
