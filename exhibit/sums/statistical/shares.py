"""Shares of trials that went wrong: exact limits, and the comparison of two spans.

The limits are those of Clopper and Pearson (Biometrika 26, 1934, 404-413), the comparison is Fisher's exact
test; both are scipy's.
"""

from __future__ import annotations

import msgspec

from exhibit.sums.statistical.basis import Basis, TooFew
from exhibit.sums.statistical.library import distributions

ALIKE = "independent trials with one chance of going wrong"


class Share(msgspec.Struct, frozen=True, kw_only=True):
    """A share, from 0 to 1, with limits."""

    basis: Basis
    wrong: int
    trials: int
    share: float
    lower: float
    upper: float
    confidence: float


class TwoShares(msgspec.Struct, frozen=True, kw_only=True):
    """The shares of two spans."""

    basis: Basis
    first: Share
    second: Share
    chance: float
    """How often two equal chances would differ so much, or more."""
    confidence: float

    @property
    def differs(self) -> bool:
        """Whether they differ by more than chance, at this confidence."""
        return self.chance < 1 - self.confidence


def share(wrong: int, trials: int, confidence: float = 0.95) -> Share | TooFew:
    """The share of trials that went wrong, with exact two-sided limits; TooFew if there were no trials.

    Raises ValueError for more wrong ones than trials, a negative number, or a confidence outside 0 to 1.
    """
    if not 0 < confidence < 1:
        raise ValueError("a confidence must be between 0 and 1")
    if not 0 <= wrong <= trials:
        raise ValueError("there can't be more wrong trials than trials")
    method = f"Exact (Clopper-Pearson) limits, {confidence:.0%}"
    if trials == 0:
        return TooFew(method=method, n=0, wanted=1, of="trials")
    limits = distributions().binomtest(wrong, trials).proportion_ci(confidence, method="exact")
    return Share(
        basis=Basis(method=method, n=trials, of="trials", assumes=ALIKE),
        wrong=wrong,
        trials=trials,
        share=wrong / trials,
        lower=float(limits.low),
        upper=float(limits.high),
        confidence=confidence,
    )


def most_of_trials(wrong: int, trials: int, confidence: float = 0.95) -> float:
    """The one-sided upper limit of a share: with none wrong of 59 and 95 %, 0.0495. Raises ValueError as
    `share`, and for no trials.
    """
    if trials < 1:
        raise ValueError("no trials, so no share")
    test = distributions().binomtest(wrong, trials, alternative="less")
    return float(test.proportion_ci(confidence, method="exact").high)


def compare_shares(
    wrong: tuple[int, int], trials: tuple[int, int], confidence: float = 0.95
) -> TwoShares | TooFew:
    """Compares two shares by Fisher's exact test; TooFew if a span has no trials. Raises ValueError as
    `share`.
    """
    first, second = (share(one, of, confidence) for one, of in zip(wrong, trials, strict=True))
    method = f"Fisher's exact comparison of two shares, {confidence:.0%}"
    if isinstance(first, TooFew) or isinstance(second, TooFew):
        return TooFew(method=method, n=sum(one > 0 for one in trials), wanted=2, of="spans with trials")
    table = [[wrong[place], trials[place] - wrong[place]] for place in (0, 1)]
    return TwoShares(
        basis=Basis(method=method, n=sum(trials), of="trials in both spans", assumes=ALIKE + " in each span"),
        first=first,
        second=second,
        chance=float(distributions().fisher_exact(table).pvalue),
        confidence=confidence,
    )
