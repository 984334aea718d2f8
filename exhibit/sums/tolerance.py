"""Calculates upper tolerance bounds: from past runs, a limit that most future runs will keep.

"95/95" means that with 95 % confidence at least 95 % of runs keep the limit. There are two methods.

*Distribution-free* (Wilks, Annals of Mathematical Statistics 12, 1941, 91-96). The s-th largest of n
runs lies above the 95 % point unless fewer than s runs do, and each run does with a chance of 5 %. So the
confidence is 1 - P(binomial(n, 0.05) < s). The largest of 59 runs is enough, whatever the distribution.

*Normal theory*, for fewer runs. If the runs are normally distributed, mean + k standard deviations is a
bound, where k sqrt(n) is a point of the noncentral t distribution (NIST/SEMATECH e-Handbook 7.2.6.3). A
normal distribution can't be proven; if it is plainly not normal, no bound is given.

Both methods assume that the runs are independent and of one kind. If a machine warms up, drifts or is
given more to do, that is untrue, and the bound says nothing about such days.
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
"""With fewer runs, a distribution that isn't normal is seldom detected (our own choice)."""
_NORMAL: Final = NormalDist()
_SLICES: Final = 2000
_SLICES_FOR_A_FEW: Final = 40_000
"""For less than five degrees of freedom, where k is large and the integrand is steep."""


class Bound(msgspec.Struct, frozen=True):
    """The bound that the runs support. `upper` is in the unit of the runs, and None if there are too few."""

    kind: Literal["distribution-free", "normal theory", "too few runs"]
    upper: float | None
    runs: int
    """The number of runs, including those that were cut off."""
    wanted: int
    """The number of runs that a distribution-free bound needs."""
    deviations: float = 0.0
    """k, for normal theory only."""


def confidence(runs: int, coverage: float = COVERAGE, rank: int = 1) -> float:
    """Return the confidence, from 0 to 1, that at least `coverage` of all runs don't exceed a certain one.

    That one is the `rank`-th largest of this many runs. Raises ValueError for a rank below 1 and for a
    coverage outside 0 to 1.
    """
    _check(coverage, rank)
    if rank > runs:
        return 0.0
    return 1 - math.fsum(_binomial(runs, above, 1 - coverage) for above in range(rank))


def least_runs(coverage: float = COVERAGE, wanted: float = CONFIDENCE, rank: int = 1) -> int:
    """Return the fewest runs whose `rank`-th largest is a bound: 59, 93, 124 for 95/95 and ranks 1, 2, 3.

    Raises ValueError if no number of runs would be enough.
    """
    _check(coverage, rank)
    if not 0 < wanted < 1:
        raise ValueError("a confidence must be between 0 and 1")
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


def supported_coverage(runs: int, wanted: float = CONFIDENCE, rank: int = 1) -> float:
    """Return the share of all runs, from 0 to 1, that don't exceed the `rank`-th largest of this many.

    It is the largest share for which the confidence is at least `wanted`: for rank 1, (1 - wanted)^(1/runs).
    0 if `rank` is larger than `runs`. Raises ValueError for a rank below 1, or a confidence outside 0 to 1.
    """
    _check(COVERAGE, rank)
    if not 0 < wanted < 1:
        raise ValueError("a confidence must be between 0 and 1")
    if rank > runs:
        return 0.0
    low, high = 0.0, 1.0
    while high - low > 1e-12:
        middle = (low + high) / 2
        low, high = (middle, high) if confidence(runs, middle, rank) >= wanted else (low, middle)
    return low


@lru_cache(maxsize=1024)
def normal_factor(runs: int, coverage: float = COVERAGE, wanted: float = CONFIDENCE) -> float:
    """Return k such that mean + k standard deviations of this many normal runs is an upper bound.

    Given the sample's deviation s (as a multiple of the true one), the mean is at least z - k s with the
    chance F(sqrt(n) (k s - z)), where F is the normal distribution and z its `coverage` point. This is
    integrated over s, which has n - 1 degrees of freedom, by Simpson's rule, and k is found by bisection. It
    is the point of the noncentral t distribution divided by sqrt(n), to nine digits. Raises ValueError for
    fewer than two runs.
    """
    _check(coverage, 1)
    if runs < 2:
        raise ValueError("a deviation needs at least two runs")
    if not 0 < wanted < 1:
        raise ValueError("a confidence must be between 0 and 1")
    point, root = _NORMAL.inv_cdf(coverage), math.sqrt(runs)
    weights = _deviations(runs - 1)

    def confidence_of(k: float) -> float:
        return math.fsum(weight * _NORMAL.cdf(root * (k * s - point)) for s, weight in weights)

    low, high = -1.0, 1.0
    while confidence_of(low) > wanted:
        low *= 2
    while confidence_of(high) < wanted:
        high *= 2
    while high - low > 1e-10 * max(1.0, abs(high)):
        middle = (low + high) / 2
        low, high = (middle, high) if confidence_of(middle) < wanted else (low, middle)
    return high


def normality(values: Sequence[float]) -> float:
    """Return the Anderson-Darling statistic A*2 of the values, with their own mean and deviation.

    It is corrected for few values, A2 (1 + 0.75/n + 2.25/n^2), and infinite if all values are the same
    (D'Agostino and Stephens, Goodness-of-Fit Techniques, 1986, table 4.7; from memory, and its 5 %
    point is checked by simulation). Raises ValueError for fewer than two values.
    """
    count = len(values)
    if count < 2:
        raise ValueError("a distribution needs at least two values")
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
"""A normal sample has a larger A*2 five times in a hundred."""


def upper_bound(good: Sequence[float], beyond: int = 0) -> Bound:
    """Return the 95/95 bound that these runs support, which is never below the largest of them.

    `beyond`: the number of further runs that were cut off because they took too long. How long they would
    have taken is unknown, so they count as longer than all others. The largest good run then has the rank
    `beyond` + 1, which takes more runs, and normal theory can't be used.
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
    """Return the value below which `share` (0 to 1) of the distribution lies; 0.5 gives the median.

    Definition 8 of Hyndman and Fan (The American Statistician 50, 1996, 361-365), approximately
    median-unbiased for any distribution: the position (n + 1/3) share + 1/3 among the ordered values, with
    linear interpolation. Raises ValueError for no values, and for a share outside 0 to 1.
    """
    if not values or not 0 <= share <= 1:
        raise ValueError("a quantile needs values and a share from 0 to 1")
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
        raise ValueError("a coverage must be between 0 and 1")
    if rank < 1:
        raise ValueError("a rank must be at least 1, that of the largest")


def _binomial(runs: int, above: int, chance: float) -> float:
    ways = math.lgamma(runs + 1) - math.lgamma(above + 1) - math.lgamma(runs - above + 1)
    return math.exp(ways + above * math.log(chance) + (runs - above) * math.log1p(-chance))


def _log_below(value: float) -> float:
    """Return the logarithm of the normal distribution, finite even far below the mean."""
    return math.log(max(0.5 * math.erfc(-value / math.sqrt(2)), 1e-300))


def _deviations(freedom: int) -> list[tuple[float, float]]:
    """Return deviations of normal samples, as multiples of the true one, with the weights for integration."""
    # The deviation of s is about 1 / sqrt(2 freedom), and beyond twelve times that its density is negligible.
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
