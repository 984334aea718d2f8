"""Whether a repaired machine fails more and more often, or less and less: three tests of a trend.

`ages` are the operating hours (or any other measure of use) at which it failed, in order, counted from the
beginning of the observation at 0. The observation ended at the age `end`, or, with `end` None, with the last
failure. The two cases are different sums: after an end at the last failure, that failure says nothing of its
own. NIST/SEMATECH e-Handbook 8.2.3.4 (apr234) for reverse arrangements, Military Handbook and Laplace.

Chances are one-sided: `fewer` is how often a machine without any trend would look at least so much like one
that fails less and less often (improves), `more` the same for more and more often (wears out).
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from statistics import NormalDist
from typing import Literal

import msgspec

from exhibit.sums.statistical.basis import Basis, TooFew
from exhibit.sums.statistical.library import distributions

FEWEST_FAILURES = 4
"""With three, no order of the gaps is unlikely enough: the rarest comes once in six times."""
EXACT_UP_TO = 60
"""Failures up to which reverse arrangements are counted out exactly."""
_NORMAL = NormalDist()
_Test = Callable[[list[float], float], tuple[float, float, float]]


class Trend(msgspec.Struct, frozen=True, kw_only=True):
    """The result of one test."""

    basis: Basis
    statistic: float
    fewer: float
    more: float

    def verdict(self, significance: float = 0.05) -> Literal["fewer", "more", "no trend shown"]:
        """Failures come more and more seldom, more and more often, or neither can be told."""
        if self.fewer < significance:
            return "fewer"
        return "more" if self.more < significance else "no trend shown"


def gaps_of(ages: Sequence[float]) -> list[float]:
    """The time before each failure. Raises ValueError if the ages aren't in order, or begin below 0."""
    gaps = [after - before for before, after in pairwise([0.0, *ages])]
    if any(gap < 0 or not math.isfinite(gap) for gap in gaps):
        raise ValueError("ages at failure must be in order, and not below 0")
    return gaps


def reversals(gaps: Sequence[float]) -> int:
    """The number of pairs of gaps of which the later one is strictly greater. Equal ones don't count."""
    earlier: list[float] = []
    count = 0
    for gap in gaps:
        count += bisect.bisect_left(earlier, gap)
        bisect.insort(earlier, gap)
    return count


def reversals_as_rare(failures: int, least: int) -> float:
    """The exact chance of at least this many reversals among so many gaps in random order, without ties.

    The orders with k reversals are counted by Mahonian numbers. Takes failures^3 steps.
    """
    orders = [1]
    for added in range(1, failures):
        longer = [0] * (len(orders) + added)
        running = 0
        for place in range(len(longer)):
            running += orders[place] if place < len(orders) else 0
            running -= orders[place - added - 1] if place > added else 0
            longer[place] = running
        orders = longer
    return sum(orders[max(0, least) :]) / math.factorial(failures)


def reversals_deviation(count: int, failures: int, correction: float = 0.5) -> float:
    """The normal approximation: how many deviations this count lies above the one expected.

    z = (count - r (r - 1) / 4 + correction) / sqrt((2r + 5) (r - 1) r / 72). The handbook prints + 0.5, and
    uses it for more than 12 failures. A correction of - 0.5 is the one for "at least as many". Raises
    ValueError below two failures.
    """
    if failures < 2:
        raise ValueError("two failures are the fewest with an order")
    spread = math.sqrt((2 * failures + 5) * (failures - 1) * failures / 72)
    return (count - failures * (failures - 1) / 4 + correction) / spread


def reverse_arrangements(ages: Sequence[float]) -> Trend | TooFew:
    """The reverse arrangement test: are later gaps longer than earlier ones?

    Exact up to 60 failures, and for more by the normal approximation. Equal gaps speak for neither side, so
    they never make one look surer. Needs no end of the observation. Raises ValueError as `gaps_of`.
    """
    gaps = gaps_of(ages)
    failures = len(gaps)
    exact = failures <= EXACT_UP_TO
    method = f"Reverse arrangement test, {'exact' if exact else 'normal approximation'}"
    if failures < FEWEST_FAILURES:
        return TooFew(method=method, n=failures, wanted=FEWEST_FAILURES, of="failures")
    count, other_way = reversals(gaps), reversals(gaps[::-1])
    if exact:
        fewer, more = reversals_as_rare(failures, count), reversals_as_rare(failures, other_way)
    else:
        fewer, more = (
            1 - _NORMAL.cdf(reversals_deviation(one, failures, -0.5)) for one in (count, other_way)
        )
    assumes = "gaps that, without a trend, could come in any order"
    return Trend(
        basis=Basis(method=method, n=failures, of="failures", assumes=assumes),
        statistic=float(count),
        fewer=fewer,
        more=more,
    )


def laplace(ages: Sequence[float], end: float | None) -> Trend | TooFew:
    """The Laplace test: do the ages at failure lie early or late in the observation?

    z = sqrt(12 r) sum(t_i - T/2) / (r T), which is nearly normal; below 0 the failures became fewer. Raises
    ValueError as `gaps_of`, and if a failure lies after the end.
    """
    return _of_times("Laplace test", ages, end, _laplace)


def military_handbook(ages: Sequence[float], end: float | None) -> Trend | TooFew:
    """The Military Handbook test: chi2 = 2 sum ln(T/t_i), with 2r degrees of freedom; best under a power law.

    A large value means that the failures became fewer. Raises ValueError as `laplace`, and for a failure at
    age 0.
    """
    return _of_times("Military Handbook test", ages, end, _military_handbook)


def counted_failures(ages: Sequence[float], end: float | None) -> tuple[list[float], float]:
    """The ages that count, and the end: with `end` None the last failure is the end, and doesn't count.

    Raises ValueError as `laplace`.
    """
    gaps_of(ages)
    if end is None:
        return list(ages[:-1]), ages[-1] if ages else 0.0
    if ages and ages[-1] > end:
        raise ValueError("a failure after the end of the observation")
    return list(ages), end


def ended_by(end: float | None) -> str:
    """How the observation ended, as part of a line."""
    return "ended at the last failure" if end is None else "ended at a time"


def _of_times(method: str, ages: Sequence[float], end: float | None, test: _Test) -> Trend | TooFew:
    counted, whole = counted_failures(ages, end)
    method = f"{method}, observation {ended_by(end)}"
    if len(counted) < FEWEST_FAILURES - (end is None):
        return TooFew(method=method, n=len(ages), wanted=FEWEST_FAILURES, of="failures")
    if whole <= 0:
        raise ValueError("an observation without length")
    statistic, fewer, more = test(counted, whole)
    assumes = "independent failures, at a constant rate if there is no trend"
    return Trend(
        basis=Basis(method=method, n=len(ages), of="failures", assumes=assumes),
        statistic=statistic,
        fewer=fewer,
        more=more,
    )


def _laplace(ages: list[float], end: float) -> tuple[float, float, float]:
    count = len(ages)
    z = math.sqrt(12 * count) * math.fsum(age - end / 2 for age in ages) / (count * end)
    return z, _NORMAL.cdf(z), 1 - _NORMAL.cdf(z)


def _military_handbook(ages: list[float], end: float) -> tuple[float, float, float]:
    if ages[0] <= 0:
        raise ValueError("a failure at age 0 has no logarithm")
    statistic = 2 * math.fsum(math.log(end / age) for age in ages)
    chi2 = distributions().chi2
    return statistic, float(chi2.sf(statistic, 2 * len(ages))), float(chi2.cdf(statistic, 2 * len(ages)))
