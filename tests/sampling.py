"""How many of its cases a long test takes: a sample in every run, and all of them in the trials.

A test that would take too long for every run is marked `trial(name=...)`, and asks `sample` or `number_of`
what to take. In `sh tests/run` that is a sample, which follows from the number TESTS_SEED: another one each
time on a person's computer, always the same in CI, and stated whenever such a test fails. In
`sh tests/trials/run` it is everything.
"""

from __future__ import annotations

import os
import random
from collections.abc import Callable, Collection, Hashable, Sequence
from typing import TypeVar

Case = TypeVar("Case")

WHOLE = os.environ.get("TESTS_WHOLE") == "true"
IN_CI = os.environ.get("CI") == "true"
# Whoever comes first chooses: the workers that share the tests inherit it, and must choose the same cases.
SEED = int(
    os.environ.setdefault("TESTS_SEED", "1" if IN_CI else f"{random.SystemRandom().randrange(1, 10**6)}")
)


def sample(
    cases: Sequence[Case], keep: int, kinds: Callable[[Case], Collection[Hashable]] = lambda case: ()
) -> list[Case]:
    """`keep` of the cases in their order, or more where each kind needs one of its own; in the trials all.

    `kinds` says of a case what kinds of thing it stands for.
    """
    if WHOLE:
        return list(cases)
    shuffled = random.Random(SEED).sample(range(len(cases)), len(cases))
    kinds_at = [frozenset(kinds(case)) for case in cases]
    lacking = set().union(*kinds_at)
    chosen: list[int] = []
    while lacking:
        chosen.append(max(shuffled, key=lambda place: len(kinds_at[place] & lacking)))
        lacking -= kinds_at[chosen[-1]]
    chosen += [place for place in shuffled if place not in chosen][: max(0, keep - len(chosen))]
    return [cases[place] for place in sorted(chosen)]


def number_of(whole: int, daily: int) -> int:
    """How many there are of something: `daily` in a run, `whole` in the trials."""
    return whole if WHOLE else daily


def how_sampled() -> str:
    """What a person needs to know to take the same cases again."""
    return "all cases (TESTS_WHOLE=true)" if WHOLE else f"sampled cases, again with TESTS_SEED={SEED}"
