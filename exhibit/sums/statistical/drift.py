"""Finds a lasting change in a sequence without knowing what its values should be, nor how they are
distributed.

A step's times have a hard lower end and a long upper one, and nobody knows beforehand what they should be. So
each value is replaced by its sequential normal score: if it has rank R among the n values up to and including
it, the score is the (R - 1/2)/n point of the normal distribution. As long as nothing changes, each rank is
equally likely whatever the distribution, and independent of the ones before; so the scores behave like
standard normal values, from the first one on, and the charts' rates of false alarms hold. (W. J. Conover, V.
G. Tercero-Gómez, A. E. Cordero-Franco, The sequential normal scores transformation, Sequential Analysis 36,
2017, 397-414: from memory; tests and a trial check the rates.) Equal values share the mean of their ranks.

On these scores run a CUSUM chart (k 1/2, h 7) and an EWMA chart (weight 0.2, 3.55 deviations). Each gives a
false alarm once in about 3,500 values: an engineer looks at some thirty steps at a time, so the usual limits,
which are wrong once in 465 or 500 values, would cry wolf each week. At the beginning there are still fewer,
since among few values no rank is extreme.
"""

from __future__ import annotations

import bisect
from collections.abc import Sequence
from statistics import NormalDist, median

import msgspec

from exhibit.sums.statistical.basis import Basis, TooFew
from exhibit.sums.statistical.charts import Cusum, Ewma, cusum, ewma

FEWEST = 10
"""No chart of scores can signal much earlier, whatever the values."""
SLACK, LIMIT = 0.5, 7.0
VALUES_A_FALSE_CUSUM = 3483
"""The mean run length of the two-sided CUSUM of normal values (tests compute it as a Markov chain)."""
WEIGHT, DEVIATIONS = 0.2, 3.55
VALUES_A_FALSE_EWMA = 3442
"""The same for the EWMA chart."""
SIGNALLING = 0.0013
"""The share of all times at which one of the two charts of normal values signals (simulated by the tests)."""
ASSUMES = "independent values in the order of time; any distribution, as long as it is one"
_NORMAL = NormalDist()


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """A lasting change; of several the latest. Places count from 0."""

    began: int
    """The value from which it most likely holds."""
    noticed: int
    """The value from which a chart signals."""
    by: str
    """The charts that signal, such as "CUSUM, EWMA"."""
    up: bool
    before: float
    """The median of the values before it began, in their unit."""
    after: float
    """The median of those since, as long as it was noticed."""
    in_latest: bool
    """Whether one of the charts still signals at the last value."""


class Drift(msgspec.Struct, frozen=True, kw_only=True):
    """The scores of a sequence, their charts, and the change that these show, if any."""

    basis: Basis
    scores: list[float]
    cusum: Cusum
    ewma: Ewma
    change: Change | None
    expected_false: float
    """Which share of sequences of this length shows a change by chance alone, at most."""


def sequential_scores(values: Sequence[float]) -> list[float]:
    """The sequential normal score of each value, from all the values up to it. Takes n log n time."""
    so_far: list[float] = []
    scores = []
    for value in values:
        below = bisect.bisect_left(so_far, value)
        upto = bisect.bisect_right(so_far, value)
        rank = (below + upto + 2) / 2  # the mean rank of all that are equal to it, itself included
        scores.append(_NORMAL.inv_cdf((rank - 0.5) / (len(so_far) + 1)))
        so_far.insert(upto, value)
    return scores


def drift(values: Sequence[float], of: str = "values", finest: float = 0.0) -> Drift | TooFew:
    """Whether the values have changed for good, when that began, and by how much.

    Differences below `finest`, in the values' unit, can't be measured: values are rounded to it before they
    are ranked. Returns TooFew for fewer than ten values. Raises ValueError for a negative `finest`.
    """
    if finest < 0:
        raise ValueError("the finest difference can't be negative")
    method = "Drift by CUSUM (k 0.5, h 7) and EWMA (0.2, 3.55) of sequential normal scores"
    if len(values) < FEWEST:
        return TooFew(method=method, n=len(values), wanted=FEWEST, of=of)
    scores = sequential_scores([round(value / finest) for value in values] if finest else values)
    sums = cusum(scores, 0.0, SLACK, LIMIT)
    means = ewma(scores, 0.0, 1.0, WEIGHT, DEVIATIONS)
    assert isinstance(sums, Cusum)
    assert isinstance(means, Ewma)
    return Drift(
        basis=Basis(method=method, n=len(values), of=of, assumes=ASSUMES),
        scores=scores,
        cusum=sums,
        ewma=means,
        change=_change(values, sums, means),
        expected_false=min(1.0, len(values) * (1 / VALUES_A_FALSE_CUSUM + 1 / VALUES_A_FALSE_EWMA)),
    )


def _change(values: Sequence[float], sums: Cusum, means: Ewma) -> Change | None:
    """The change of the latest time during which a chart signalled; None if none ever did."""
    signalling = {"CUSUM": frozenset(sums.signals), "EWMA": frozenset(means.signals)}
    either = frozenset().union(*signalling.values())
    if not either:
        return None
    ended = noticed = max(either)
    while noticed - 1 in either:
        noticed -= 1
    up = sums.is_up(noticed) if noticed in signalling["CUSUM"] else means.means[noticed] > 0
    began = _began(sums.high if up else sums.low, noticed)
    span = range(noticed, ended + 1)
    return Change(
        began=began,
        noticed=noticed,
        by=", ".join(name for name, places in signalling.items() if not places.isdisjoint(span)),
        up=up,
        before=median(values[:began]),
        after=median(values[began : ended + 1]),
        in_latest=ended == len(values) - 1,
    )


def _began(sums: Sequence[float], noticed: int) -> int:
    """The first value of the run of the sum that led to what was noticed, but not the very first of all."""
    began = next((place + 1 for place in range(noticed, -1, -1) if sums[place] == 0), 0)
    return min(max(began, 1), noticed)
