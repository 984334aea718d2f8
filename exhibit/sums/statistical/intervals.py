"""Tolerance intervals: between or below which limits a share of all values lies, with a given confidence.

`exhibit.sums.tolerance` has what a step's limit needs without scipy: the exact one-sided normal factor, the
largest of 59, and quantiles. Here are the other factors and intervals of the NIST/SEMATECH e-Handbook 7.2.6.3
and 7.2.6.4. Factors multiply the sample's deviation. `coverage` and `confidence` lie between 0 and 1.
"""

from __future__ import annotations

import math
from statistics import NormalDist

from exhibit.sums.statistical.library import distributions

_NORMAL = NormalDist()


def exact_factor(n: int, coverage: float, confidence: float) -> float:
    """One-sided, exact for normal values: the point of the noncentral t divided by sqrt(n).

    A second computation of `exhibit.sums.tolerance.normal_factor`. Raises ValueError for n below 2.
    """
    _check(n, coverage, confidence)
    point = distributions().nct.ppf(confidence, n - 1, _NORMAL.inv_cdf(coverage) * math.sqrt(n))
    return float(point) / math.sqrt(n)


def natrella_factor(n: int, coverage: float, confidence: float) -> float:
    """One-sided, by Natrella's approximation: k = (z_p + sqrt(z_p^2 - a b)) / a, where a = 1 - z_c^2 / (2 (n
    - 1)) and b = z_p^2 - z_c^2 / n. Raises ValueError for n below 2, and if n is too small for it.
    """
    _check(n, coverage, confidence)
    z_share, z_sure = _NORMAL.inv_cdf(coverage), _NORMAL.inv_cdf(confidence)
    a, b = natrella_terms(n, coverage, confidence)
    if a <= 0 or z_share * z_share < a * b:
        raise ValueError(f"{n} values are too few for this approximation with z {z_sure:.2f}")
    return (z_share + math.sqrt(z_share * z_share - a * b)) / a


def natrella_terms(n: int, coverage: float, confidence: float) -> tuple[float, float]:
    """The terms a and b of `natrella_factor`."""
    z_share, z_sure = _NORMAL.inv_cdf(coverage), _NORMAL.inv_cdf(confidence)
    return 1 - z_sure * z_sure / (2 * (n - 1)), z_share * z_share - z_sure * z_sure / n


def howe_factor(n: int, coverage: float, confidence: float) -> float:
    """Two-sided, by Howe's approximation: sqrt(nu (1 + 1/n) z^2 / chi2(1 - confidence; nu)), nu = n - 1.

    The exact factor is a little larger (2.2228 for 2.2173): don't mix them. Raises ValueError for n below 2.
    """
    _check(n, coverage, confidence)
    z = _NORMAL.inv_cdf((1 + coverage) / 2)
    point = float(distributions().chi2.ppf(1 - confidence, n - 1))
    return math.sqrt((n - 1) * (1 + 1 / n) * z * z / point)


def extremes_confidence(n: int, coverage: float) -> float:
    """How sure it is that `coverage` of all values lie between the smallest and the largest of n.

    1 - n p^(n-1) + (n-1) p^n, whatever the distribution (NIST 7.2.6.4). Raises ValueError for n below 2.
    """
    _check(n, coverage, 0.5)
    return float(1 - n * coverage ** (n - 1) + (n - 1) * coverage**n)


def least_between_extremes(coverage: float, confidence: float) -> int:
    """The fewest values between whose extremes that share lies: 93 for 95/95, exactly.

    The handbook's approximation (`roughly_between_extremes`) is 93.005 there, and rounding it up would give
    94.
    """
    n = 2
    while extremes_confidence(n, coverage) < confidence:
        n += 1
    return n


def roughly_between_extremes(coverage: float, confidence: float) -> float:
    """The handbook's approximation: (1 + p) / (1 - p) chi2(confidence; 4) / 4 + 1/2, not rounded."""
    _check(2, coverage, confidence)
    point = float(distributions().chi2.ppf(confidence, 4))
    return (1 + coverage) / (1 - coverage) * point / 4 + 0.5


def _check(n: int, coverage: float, confidence: float) -> None:
    if n < 2:
        raise ValueError("a deviation needs at least two values")
    if not (0 < coverage < 1 and 0 < confidence < 1):
        raise ValueError("a coverage and a confidence must be between 0 and 1")
