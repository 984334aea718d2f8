"""Bytes pass unchanged between machine and terminal, whatever becomes of the rest of the program."""

from __future__ import annotations

import pytest

from tests.sampling import number_of, sample
from tests.trials.passing import MEANWHILE, PACED_BYTES, SEED, SPEEDS_BAUD, UNPACED, pass_through

CASES = [(baud, meanwhile) for baud in (UNPACED, *SPEEDS_BAUD) for meanwhile in MEANWHILE]
FAST_BAUD = 1200
"""In a run, the slow speeds are left to the trials."""
DAILY = [case for case in CASES if case[0] == UNPACED or case[0] >= FAST_BAUD]


def kinds_of(case: tuple[int, str]) -> list[str]:
    return ["unpaced" if case[0] == UNPACED else "paced", case[1]]


@pytest.mark.trial(name="passing", seed=SEED)
@pytest.mark.waits
@pytest.mark.timeout(300)
def test_every_byte_is_passed_unchanged_both_ways(tmp_path, capsys):
    for number, (baud, meanwhile) in enumerate(sample(number_of(CASES, DAILY), 3, kinds_of)):
        place = tmp_path / f"{number}"
        place.mkdir()
        passed = pass_through(place, baud, meanwhile, number_of(PACED_BYTES, 300))
        with capsys.disabled():
            print(f"\n{passed}", end="")
        assert passed.unchanged == (True, True), passed
