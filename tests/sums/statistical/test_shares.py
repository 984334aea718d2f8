"""Shares with exact limits, against published figures and second computations."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.shares import Share, TwoShares, compare_shares, most_of_trials, share


@pytest.mark.parametrize(("trials", "most"), [(59, 0.04951), (100, 0.02951)])
def test_no_failure_in_so_many_trials(trials, most):
    # Clopper and Pearson, one-sided 95 %; the rule of three says 3/100 = 0.03.
    assert most_of_trials(0, trials) == pytest.approx(most, abs=5e-6)
    assert most_of_trials(3, trials) == pytest.approx(stats.beta.ppf(0.95, 4, trials - 3))


@given(st.integers(1, 400).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_the_limits_are_points_of_the_beta_distribution(case):
    wrong, trials = case
    result = share(wrong, trials)
    assert isinstance(result, Share)
    lower = stats.beta.ppf(0.025, wrong, trials - wrong + 1) if wrong else 0
    upper = stats.beta.ppf(0.975, wrong + 1, trials - wrong) if wrong < trials else 1
    assert (result.lower, result.upper) == pytest.approx((lower, upper), abs=1e-9)


def test_the_comparison_is_fishers_worked_out_by_hand():
    # None wrong of 8, and 4 of 4: of C(12, 4) = 495 ways of placing four wrong ones, one is as extreme.
    result = compare_shares((0, 4), (8, 4))
    assert isinstance(result, TwoShares)
    assert result.chance == pytest.approx(1 / 495)
    assert result.differs


def test_few_trials_prove_nothing():
    result = compare_shares((0, 2), (5, 5))
    assert isinstance(result, TwoShares)
    assert not result.differs


def test_without_trials_nothing_is_computed():
    assert isinstance(share(0, 0), TooFew)
    nothing = compare_shares((0, 1), (0, 5))
    assert isinstance(nothing, TooFew)
    assert "too little data (1 spans with trials of 2)" in nothing.line


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: share(2, 1),
        lambda: share(-1, 5),
        lambda: share(1, 5, 1.0),
        lambda: most_of_trials(0, 0),
        lambda: most_of_trials(2, 1),
    ],
)
def test_what_can_not_be_is_refused(wrong):
    with pytest.raises(ValueError, match=r"\w+"):
        wrong()
