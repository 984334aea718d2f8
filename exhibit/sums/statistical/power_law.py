"""How long a machine runs between failures now, if its rate follows a power law, or is constant.

The power law (also called the Duane or AMSAA model) has a rate of failures a b t^(b-1) at the age t. With b
below 1 failures become fewer. NIST/SEMATECH e-Handbook 8.4.5.2 (apr452) for the estimates and the limits.
`ages` and `end` are as in `trend`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

import msgspec

from exhibit.sums.statistical.basis import Basis, TooFew
from exhibit.sums.statistical.library import distributions
from exhibit.sums.statistical.trend import counted_failures, ended_by

FEWEST_FAILURES = 5
"""With fewer, the limits lie further apart than is of any use (our own choice)."""
_NORMAL = NormalDist()


class PowerLaw(msgspec.Struct, frozen=True, kw_only=True):
    """A fitted power law. `mtbf` is the mean time between failures at the end, in the unit of the ages."""

    basis: Basis
    b: float
    """The exponent; below 1 if failures become fewer."""
    a: float
    growth: float
    """1 - b, which the handbook calls beta."""
    mtbf: float
    lower: float
    upper: float
    confidence: float


def power_law(ages: Sequence[float], end: float | None, confidence: float = 0.8) -> PowerLaw | TooFew:
    """Fits a power law by modified (unbiased) maximum likelihood, and gives two-sided limits for the MTBF.

    b = (r - 1) / sum ln(T/t_i), a = r / T^b, MTBF(T) = T / (r b), and with M = MTBF(T) and z the normal point
    of (1 + confidence) / 2 the limits are M r (r-1) / (r + z^2/4 + sqrt(r z^2/2 + z^4/16))^2 and M r (r-1) /
    (r - z sqrt(r/2))^2. If the observation ended with the last failure, the sum is over those before it and b
    has r - 2 above (from memory). Raises ValueError as `military_handbook`, and for a confidence outside 0 to
    1.
    """
    if not 0 < confidence < 1:
        raise ValueError("a confidence must be between 0 and 1")
    method = f"Power law, modified maximum likelihood, observation {ended_by(end)}"
    failures = len(ages)
    counted, whole = counted_failures(ages, end)
    if failures < FEWEST_FAILURES:
        return TooFew(method=method, n=failures, wanted=FEWEST_FAILURES, of="failures")
    if counted[0] <= 0:
        raise ValueError("a failure at age 0 has no logarithm")
    logarithms = math.fsum(math.log(whole / age) for age in counted)
    b = (len(counted) - 1) / logarithms if logarithms else math.inf
    mtbf = whole / (failures * b)
    z = _NORMAL.inv_cdf((1 + confidence) / 2)
    above = failures - z * math.sqrt(failures / 2)
    scale = mtbf * failures * (failures - 1)
    below = failures + z * z / 4 + math.sqrt(failures * z * z / 2 + z**4 / 16)
    return PowerLaw(
        basis=Basis(
            method=f"{method}, {confidence:.0%} limits",
            n=failures,
            of="failures",
            assumes="independent failures whose rate follows a power of the age",
        ),
        b=b,
        a=failures / whole**b if math.isfinite(b) else 0.0,
        growth=1 - b,
        mtbf=mtbf,
        lower=scale / below**2,
        upper=scale / above**2 if above > 0 else math.inf,
        confidence=confidence,
    )


class ConstantRate(msgspec.Struct, frozen=True, kw_only=True):
    """The mean time between failures if their rate is constant, in the unit of the span."""

    basis: Basis
    mtbf: float
    """Infinite if there was no failure."""
    lower: float
    upper: float
    confidence: float


def constant_mtbf(failures: int, span: float, confidence: float = 0.9) -> ConstantRate | TooFew:
    """The mean time between failures in an observation that ended at a time, with two-sided limits.

    2 span / chi2((1+c)/2; 2r+2) and 2 span / chi2((1-c)/2; 2r) (NIST 8.4.5.1). Without a failure only the
    lower limit is known. Raises ValueError for a negative number of failures or span, or a confidence outside
    0 to 1.
    """
    if failures < 0 or span < 0 or not 0 < confidence < 1:
        raise ValueError("failures and span can't be negative, and a confidence is between 0 and 1")
    method = f"Constant rate, {confidence:.0%} limits"
    if span == 0:
        return TooFew(method=method, n=0, wanted=1, of="hours")
    chi2, tail = distributions().chi2, (1 - confidence) / 2
    return ConstantRate(
        basis=Basis(
            method=method, n=failures, of="failures", assumes="independent failures at a constant rate"
        ),
        mtbf=span / failures if failures else math.inf,
        lower=2 * span / float(chi2.ppf(1 - tail, 2 * failures + 2)),
        upper=2 * span / float(chi2.ppf(tail, 2 * failures)) if failures else math.inf,
        confidence=confidence,
    )
