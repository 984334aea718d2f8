"""Upper tolerance bounds: a limit that most runs to come will keep, told from the runs that there were.

"95/95" means: with 95 % confidence, at least 95 % of runs keep the limit. Two ways lead there.

*Distribution-free* (Wilks, Annals of Mathematical Statistics 12, 1941, 91-96). The s-th largest of n
runs lies above the 95 % point unless fewer than s runs do, and each does with a chance of 5 %: so the
confidence is 1 - P(binomial(n, 0.05) < s). The largest of 59 will do, whatever the distribution is.

*Normal theory*, for fewer runs. If the runs are normal, mean + k deviations is a bound, where
k sqrt(n) is a point of the noncentral t distribution (NIST/SEMATECH e-Handbook 7.2.6.3). That the runs
are normal can't be proven; where it is plainly untrue, nothing is claimed.

Both take the runs to be independent and of one kind. A machine that warms up, drifts, or is given
more to do breaks that, and the bound says nothing of such days.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from statistics import NormalDist, fmean, stdev
from typing import Final, Literal

import msgspec

COVERAGE: Final = 0.95
CONFIDENCE: Final = 0.95
FEWEST_NORMAL_RUNS: Final = 20
"""With fewer, a distribution that isn't normal is seldom found out (our own choice)."""
_NORMAL: Final = NormalDist()
_SLICES: Final = 2000
_SLICES_FOR_A_FEW: Final = 40_000
"""For less than five degrees of freedom: k is large then, and what is summed over steep."""


class Bound(msgspec.Struct, frozen=True):
    """What the runs support. `upper` is in their own unit, and None where there are too few."""

    kind: Literal["distribution-free", "normal theory", "too few runs"]
    upper: float | None
    runs: int
    """How many there are, those beyond among them."""
    wanted: int
    """How many a distribution-free bound needs."""
    deviations: float = 0.0
    """Normal theory only: k."""


def confidence(runs: int, coverage: float = COVERAGE, rank: int = 1) -> float:
    """How sure it is that the `rank`-th largest of so many runs is kept by `coverage` of all runs.

    From 0 to 1. Raises ValueError for a rank below 1 and for a coverage outside 0 to 1.
    """
    _check(coverage, rank)
    if rank > runs:
        return 0.0
    return 1 - math.fsum(_binomial(runs, above, 1 - coverage) for above in range(rank))


def least_runs(coverage: float = COVERAGE, wanted: float = CONFIDENCE, rank: int = 1) -> int:
    """The fewest runs whose `rank`-th largest is a bound: 59, 93, 124 for 95/95 and the ranks 1, 2, 3.

    Raises ValueError where no number of runs would do.
    """
    _check(coverage, rank)
    if not 0 < wanted < 1:
        raise ValueError("a confidence lies between 0 and 1")
    enough = rank
    while confidence(enough, coverage, rank) < wanted:
        enough *= 2
    too_few = enough // 2 if enough > rank else rank - 1
    while enough - too_few > 1:
        middle = (enough + too_few) // 2
        if confidence(middle, coverage, rank) < wanted:
            too_few = middle
        else:
            enough = middle
    return enough


@lru_cache(maxsize=1024)
def normal_factor(runs: int, coverage: float = COVERAGE, wanted: float = CONFIDENCE) -> float:
    """k, so that mean + k standard deviations of so many normal runs is an upper bound.

    Given the deviation s (in true ones), the mean reaches z - k s with the chance F(sqrt(n) (k s - z)),
    F being the normal distribution and z its `coverage` point. That is summed over s, which has n - 1
    degrees of freedom, by Simpson's rule, and k is bisected for: the noncentral t's point over sqrt(n),
    to nine digits. Raises ValueError for fewer than two runs.
    """
    _check(coverage, 1)
    if runs < 2:
        raise ValueError("a single run has no deviation")
    if not 0 < wanted < 1:
        raise ValueError("a confidence lies between 0 and 1")
    point, root = _NORMAL.inv_cdf(coverage), math.sqrt(runs)
    weights = _deviations(runs - 1)

    def sure(k: float) -> float:
        return math.fsum(weight * _NORMAL.cdf(root * (k * s - point)) for s, weight in weights)

    low, high = -1.0, 1.0
    while sure(low) > wanted:
        low *= 2
    while sure(high) < wanted:
        high *= 2
    while high - low > 1e-10 * max(1.0, abs(high)):
        middle = (low + high) / 2
        low, high = (middle, high) if sure(middle) < wanted else (low, middle)
    return high


def normality(values: Sequence[float]) -> float:
    """The Anderson-Darling statistic A*2 of the values, mean and deviation taken from them.

    It is made larger for few values: A2 (1 + 0.75/n + 2.25/n^2); infinite where all are the same
    (D'Agostino and Stephens, Goodness-of-Fit Techniques, 1986, table 4.7; from memory, and its 5 %
    point is checked by simulation). Raises ValueError for fewer than two values.
    """
    count = len(values)
    if count < 2:
        raise ValueError("a single value has no distribution")
    mean, deviation = fmean(values), stdev(values)
    if deviation <= 1e-12 * abs(mean):
        return math.inf
    ordered = [(value - mean) / deviation for value in sorted(values)]
    below = [_log_below(value) for value in ordered]
    above = [_log_below(-value) for value in reversed(ordered)]
    total = math.fsum((2 * i + 1) * (below[i] + above[i]) for i in range(count))
    squared = -count - total / count
    return squared * (1 + 0.75 / count + 2.25 / count**2)


NORMAL_BELOW: Final = 0.752
"""A sample that is normal has a larger A*2 five times in a hundred."""


def upper_bound(good: Sequence[float], beyond: int = 0) -> Bound:
    """The 95/95 bound that these runs support, never below the largest of them.

    `beyond`: how many runs more were cut off because they took too long. How long they would have taken
    isn't known, so they count as longer than all others: the largest good run is then the one of rank
    `beyond` + 1, for which more runs are needed, and normal theory can't be used.
    """
    runs = len(good) + beyond
    wanted = least_runs(rank=beyond + 1)
    if runs >= wanted:
        return Bound("distribution-free", max(good), runs, wanted)
    if beyond == 0 and runs >= FEWEST_NORMAL_RUNS and normality(good) < NORMAL_BELOW:
        k = normal_factor(runs)
        upper = max(fmean(good) + k * stdev(good), *good)
        return Bound("normal theory", upper, runs, wanted, k)
    return Bound("too few runs", None, runs, wanted)


def quantile(values: Sequence[float], share: float) -> float:
    """The value below which about `share` of the distribution lies, from 0 to 1; 0.5 is the median.

    Definition 8 of Hyndman and Fan (The American Statistician 50, 1996, 361-365), for any distribution
    nearly right in the middle: the place (n + 1/3) share + 1/3 among the ordered values, between two of
    them in proportion. Raises ValueError for no values, or a share outside 0 to 1.
    """
    if not values or not 0 <= share <= 1:
        raise ValueError("a quantile needs values, and a share from 0 to 1")
    ordered = sorted(values)
    place = (len(ordered) + 1 / 3) * share + 1 / 3
    whole = math.floor(place + 1e-12)
    part = max(0.0, place - whole)
    if whole < 1:
        return ordered[0]
    if whole >= len(ordered):
        return ordered[-1]
    return ordered[whole - 1] + part * (ordered[whole] - ordered[whole - 1])


def _check(coverage: float, rank: int) -> None:
    if not 0 < coverage < 1:
        raise ValueError("a coverage lies between 0 and 1")
    if rank < 1:
        raise ValueError("the largest has rank 1")


def _binomial(runs: int, above: int, chance: float) -> float:
    ways = math.lgamma(runs + 1) - math.lgamma(above + 1) - math.lgamma(runs - above + 1)
    return math.exp(ways + above * math.log(chance) + (runs - above) * math.log1p(-chance))


def _log_below(value: float) -> float:
    """The logarithm of the normal distribution, not 0 far below."""
    return math.log(max(0.5 * math.erfc(-value / math.sqrt(2)), 1e-300))


def _deviations(freedom: int) -> list[tuple[float, float]]:
    """Standard deviations of normal samples, in true ones, with the weights by which to sum over them."""
    # Beyond twelve of its own deviations, about 1 / sqrt(2 freedom), nothing is left that counts.
    far = 12 / math.sqrt(2 * freedom)
    low, high = max(0.0, 1 - far), 1 + far
    slices = _SLICES if freedom >= 5 else _SLICES_FOR_A_FEW
    width = (high - low) / slices
    constant = math.log(2) + (freedom / 2) * math.log(freedom / 2) - math.lgamma(freedom / 2)
    points = []
    for place in range(slices + 1):
        s = low + place * width
        if s > 0:
            density = math.exp(constant + (freedom - 1) * math.log(s) - freedom * s * s / 2)
        else:
            density = math.exp(constant) if freedom == 1 else 0.0
        simpson = 1 if place in (0, slices) else 4 if place % 2 else 2
        points.append((s, density * simpson * width / 3))
    return points
