"""Control charts of a sequence of measurements in the order in which they were made.

Three charts, as the NIST/SEMATECH e-Handbook of Statistical Methods (doi:10.18434/M32189) defines them:
individuals with moving ranges (6.3.2.2), EWMA (6.3.2.4) and tabular CUSUM (6.3.2.3). The first sees one value
that lies far off; the other two see a small change that lasts.

Values have any one unit, and so have centre, sigma and limits. A place in a sequence counts from 0.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from statistics import fmean

import msgspec

from exhibit.sums.statistical.basis import Basis, TooFew

D2 = 2 / math.sqrt(math.pi)
"""The mean range of two normal values, in deviations: 1.128379. Tables print 1.128."""
D4 = 1 + 3 * math.sqrt(1 - 2 / math.pi) / math.sqrt(2 / math.pi)
"""The upper limit of a range of two, as a multiple of the mean range: 3.266532. Tables print 3.267."""
FEWEST_INDIVIDUALS = 10
"""With fewer, the mean moving range says next to nothing about the spread (our own choice)."""
NORMAL = "independent values from one normal distribution"


class Individuals(msgspec.Struct, frozen=True, kw_only=True):
    """An individuals chart: each value against limits, and each moving range against its own."""

    basis: Basis
    centre: float
    mean_range: float
    sigma: float
    lower: float
    upper: float
    range_upper: float
    ranges: list[float]
    """One less than there are values."""
    outside: list[int]
    """The places of the values outside the limits."""
    jumps: list[int]
    """The places of the values whose distance from the one before is above `range_upper`."""


def individuals(
    values: Sequence[float], sigmas: float = 3.0, d2: float = D2, finest: float = 0.0
) -> Individuals | TooFew:
    """The individuals chart of these values; its limits are `sigmas` deviations from their own mean.

    The deviation is the mean moving range divided by `d2` (NIST 6.3.2.2), so a slow drift doesn't widen it.
    It is never below `finest`, the smallest difference that can be measured. With known limits, 27 values in
    10,000 lie outside three deviations. Raises ValueError for `sigmas` or `d2` of 0 or less.
    """
    if sigmas <= 0 or d2 <= 0:
        raise ValueError("limits must be apart")
    method = "Individuals chart (X-mR)"
    if len(values) < FEWEST_INDIVIDUALS:
        return TooFew(method=method, n=len(values), wanted=FEWEST_INDIVIDUALS)
    ranges = [abs(after - before) for before, after in pairwise(values)]
    centre, mean_range = fmean(values), fmean(ranges)
    sigma = max(mean_range / d2, finest)
    lower, upper = centre - sigmas * sigma, centre + sigmas * sigma
    range_upper = max(D4 * mean_range, 3 * finest)
    return Individuals(
        basis=Basis(
            method=f"{method}, {sigmas:g} deviations from the mean moving range",
            n=len(values),
            assumes=NORMAL,
        ),
        centre=centre,
        mean_range=mean_range,
        sigma=sigma,
        lower=lower,
        upper=upper,
        range_upper=range_upper,
        ranges=ranges,
        outside=[place for place, value in enumerate(values) if not lower <= value <= upper],
        jumps=[place for place, size in enumerate(ranges, 1) if size > range_upper],
    )


class Ewma(msgspec.Struct, frozen=True, kw_only=True):
    """An EWMA chart: the exponentially weighted mean after each value, with its limits."""

    basis: Basis
    means: list[float]
    lower: list[float]
    upper: list[float]
    signals: list[int]
    """The places at which the mean lies outside."""


def ewma(
    values: Sequence[float],
    target: float,
    sigma: float,
    weight: float = 0.3,
    deviations: float = 3.0,
    *,
    settled: bool = False,
) -> Ewma | TooFew:
    """The EWMA chart of values whose mean should be `target`, and whose deviation is `sigma`.

    z_i = weight x_i + (1 - weight) z_(i-1), from z_0 = target (NIST 6.3.2.4). The limits are those at the
    i-th value, deviations sigma sqrt(weight / (2 - weight) (1 - (1 - weight)^(2i))); with `settled` those to
    which they grow, which is what NIST's example prints. Raises ValueError for a weight outside 0 to 1, or a
    sigma of 0 or less.
    """
    if not 0 < weight <= 1 or sigma <= 0 or deviations <= 0:
        raise ValueError("a weight must be above 0 and at most 1, and sigma and deviations above 0")
    method = f"EWMA chart, weight {weight:g}, limits at {deviations:g} deviations"
    if not values:
        return TooFew(method=method, n=0, wanted=1)
    means, lower, upper = [], [], []
    mean, rest = target, 1.0
    for value in values:
        mean = weight * value + (1 - weight) * mean
        rest *= (1 - weight) ** 2
        off = deviations * sigma * math.sqrt(weight / (2 - weight) * (1.0 if settled else 1 - rest))
        means.append(mean)
        lower.append(target - off)
        upper.append(target + off)
    return Ewma(
        basis=Basis(method=method, n=len(values), assumes=f"{NORMAL} with a known mean and deviation"),
        means=means,
        lower=lower,
        upper=upper,
        signals=[place for place, mean in enumerate(means) if not lower[place] <= mean <= upper[place]],
    )


class Cusum(msgspec.Struct, frozen=True, kw_only=True):
    """A tabular CUSUM chart: how far the values have run up, and down, in all."""

    basis: Basis
    high: list[float]
    low: list[float]
    limit: float
    signals: list[int]
    """The places at which one of the sums is above the limit."""

    def began(self, signal: int) -> int:
        """The place of the first value of the run that led to this signal: where the change most likely
        began.
        """
        sums = self.high if self.high[signal] > self.limit else self.low
        return next((place + 1 for place in range(signal, -1, -1) if sums[place] == 0), 0)

    def is_up(self, signal: int) -> bool:
        """Whether the signal is about larger values; otherwise smaller ones."""
        return self.high[signal] > self.limit


def cusum(values: Sequence[float], target: float, slack: float, limit: float) -> Cusum | TooFew:
    """The CUSUM chart of values whose mean should be `target`; slack (k) and limit (h) have their unit.

    S_hi(i) = max(0, S_hi(i-1) + x_i - target - k), and S_lo(i) = max(0, S_lo(i-1) + target - k - x_i), both
    from 0 (NIST 6.3.2.3). A sum above h is a signal. For k and h of half a deviation and five deviations, a
    signal comes once in 465 normal values. Raises ValueError for a slack below 0, or a limit of 0 or less.
    """
    if slack < 0 or limit <= 0:
        raise ValueError("a slack must not be below 0, and a limit must be above it")
    method = f"CUSUM chart, slack {slack:g}, limit {limit:g}"
    if not values:
        return TooFew(method=method, n=0, wanted=1)
    high, low = [], []
    above = below = 0.0
    for value in values:
        above = max(0.0, above + value - target - slack)
        below = max(0.0, below + target - slack - value)
        high.append(above)
        low.append(below)
    return Cusum(
        basis=Basis(method=method, n=len(values), assumes=f"{NORMAL} with a known mean and deviation"),
        high=high,
        low=low,
        limit=limit,
        signals=[place for place in range(len(values)) if max(high[place], low[place]) > limit],
    )
