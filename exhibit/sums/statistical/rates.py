"""Errors per hour: exact limits, the comparison of two spans, and whether the errors come in bunches.

If errors come independently and at a constant rate, their number in a span is Poisson distributed. Its exact
limits are points of the chi-square distribution (F. Garwood, Biometrika 28, 1936, 437-442). For two spans,
given the number of errors in both, the number in the second is binomial with the share of its hours (J.
Przyborowski and H. Wilenski, Biometrika 31, 1940, 313-323). Titles and pages are from memory; the tests hold
the figures to published ones and to second computations.

Hours are of any kind: exerciser-hours, hours since power-on. Numbers of errors are whole.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from exhibit.sums.statistical.basis import Basis, TooFew
from exhibit.sums.statistical.library import distributions

POISSON = "independent errors at a constant rate"


class Rate(msgspec.Struct, frozen=True, kw_only=True):
    """A rate per hour with limits; `lower` is 0 if there were no errors."""

    basis: Basis
    errors: int
    hours: float
    per_hour: float
    lower: float
    upper: float
    confidence: float


def rate(errors: int, hours: float, confidence: float = 0.95) -> Rate | TooFew:
    """The rate of errors per hour, with exact two-sided limits that hold with this confidence at least.

    lower = chi2((1-c)/2; 2 errors) / (2 hours); upper = chi2((1+c)/2; 2 errors + 2) / (2 hours). Returns
    TooFew if there are no hours. Raises ValueError for a negative number, or a confidence outside 0 to 1.
    """
    _check(errors, hours, confidence)
    method = f"Exact Poisson limits, {confidence:.0%}"
    if hours == 0:
        return TooFew(method=method, n=0, wanted=1, of="hours")
    chi2 = distributions().chi2
    tail = (1 - confidence) / 2
    return Rate(
        basis=Basis(method=method, n=errors, of=f"errors in {hours:.3g} h", assumes=POISSON),
        errors=errors,
        hours=hours,
        per_hour=errors / hours,
        lower=float(chi2.ppf(tail, 2 * errors)) / (2 * hours) if errors else 0.0,
        upper=float(chi2.ppf(1 - tail, 2 * errors + 2)) / (2 * hours),
        confidence=confidence,
    )


def most_per_hour(errors: int, hours: float, confidence: float = 0.95) -> float:
    """The one-sided upper limit: with no errors in T hours and 95 %, 2.9957/T. Raises ValueError as `rate`,
    and if there are no hours."""
    _check(errors, hours, confidence)
    if hours == 0:
        raise ValueError("no hours, so no rate")
    return float(distributions().chi2.ppf(confidence, 2 * errors + 2)) / (2 * hours)


class Comparison(msgspec.Struct, frozen=True, kw_only=True):
    """The rates of two spans. `ratio` is the second divided by the first, with exact limits."""

    basis: Basis
    first: Rate
    second: Rate
    ratio: float
    """Infinite if the first span had no errors."""
    ratio_lower: float
    ratio_upper: float
    chance: float
    """p: how often two equal rates would differ so much, either way, or more."""
    confidence: float

    @property
    def differs(self) -> bool:
        """Whether the rates differ by more than chance, at this confidence."""
        return self.chance < 1 - self.confidence


def compare(
    errors: tuple[int, int], hours: tuple[float, float], confidence: float = 0.95
) -> Comparison | TooFew:
    """Compares the rates of two spans by the exact conditional test.

    `chance` is twice the smaller tail of the binomial distribution, 1 at most, so that it agrees with the
    limits of the ratio, which are those of Clopper and Pearson for the share of the second span. Returns
    TooFew if a span has no hours, or there were no errors in either. Raises ValueError as `rate`.
    """
    first, second = (rate(n, h, confidence) for n, h in zip(errors, hours, strict=True))
    method = f"Exact conditional (binomial) comparison of two Poisson rates, {confidence:.0%}"
    if isinstance(first, TooFew) or isinstance(second, TooFew):
        return TooFew(method=method, n=sum(one > 0 for one in hours), wanted=2, of="spans with hours")
    total = sum(errors)
    if total == 0:
        return TooFew(method=method, n=0, wanted=1, of="errors")
    share = hours[1] / sum(hours)
    test = distributions().binomtest
    tails = [float(test(errors[1], total, share, alternative=way).pvalue) for way in ("less", "greater")]
    limits = test(errors[1], total, share).proportion_ci(confidence, method="exact")
    return Comparison(
        basis=Basis(method=method, n=total, of="errors in both spans", assumes=POISSON + " within each span"),
        first=first,
        second=second,
        ratio=second.per_hour / first.per_hour if errors[0] else math.inf,
        ratio_lower=_odds(float(limits.low)) * hours[0] / hours[1],
        ratio_upper=_odds(float(limits.high)) * hours[0] / hours[1],
        chance=min(1.0, 2 * min(tails)),
        confidence=confidence,
    )


class Bunching(msgspec.Struct, frozen=True, kw_only=True):
    """Whether the errors of several spans vary more than independent ones would."""

    basis: Basis
    index: float
    """Their variance divided by what chance alone gives: about 1 for independent errors."""
    chance: float
    """How often independent errors would vary so much or more."""

    @property
    def bunched(self) -> bool:
        """Whether they come in bunches: then a rate is less sure than its Poisson limits say."""
        return self.chance < 0.01


def bunching(errors: Sequence[int], hours: Sequence[float]) -> Bunching | TooFew:
    """The index of dispersion of the errors of these spans about their common rate, and its chi-square test.

    The sum of (errors - expected)^2 / expected has about one degree of freedom less than there are spans (R.
    A. Fisher's index of dispersion). Spans without hours don't count. Returns TooFew below three spans, or if
    fewer than one error is expected in a span on average. Raises ValueError if there aren't as many hours as
    errors.
    """
    method = "Index of dispersion"
    spans = [(n, h) for n, h in zip(errors, hours, strict=True) if h > 0]
    total, all_hours = sum(n for n, _ in spans), math.fsum(h for _, h in spans)
    if len(spans) < 3:
        return TooFew(method=method, n=len(spans), wanted=3, of="spans")
    if total < len(spans):
        return TooFew(method=method, n=total, wanted=len(spans), of="errors")
    common = total / all_hours
    squared = math.fsum((n - common * h) ** 2 / (common * h) for n, h in spans)
    freedom = len(spans) - 1
    return Bunching(
        basis=Basis(method=method, n=len(spans), of="spans", assumes="one rate for all of them"),
        index=squared / freedom,
        chance=float(distributions().chi2.sf(squared, freedom)),
    )


def _odds(share: float) -> float:
    return share / (1 - share) if share < 1 else math.inf


def _check(errors: int, hours: float, confidence: float) -> None:
    if errors < 0 or hours < 0:
        raise ValueError("errors and hours can't be negative")
    if not 0 < confidence < 1:
        raise ValueError("a confidence must be between 0 and 1")
