"""Errors per hour: exact limits and the comparison of two spans, against published figures and scipy."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.rates import (
    Bunching,
    Comparison,
    Rate,
    bunching,
    compare,
    most_per_hour,
    rate,
)


def compared(*args: object) -> Comparison:
    result = compare(*args)
    assert isinstance(result, Comparison)
    return result


def limits(errors: int, hours: float, confidence: float = 0.95) -> tuple[float, float]:
    result = rate(errors, hours, confidence)
    assert isinstance(result, Rate)
    return result.lower, result.upper


@given(st.integers(1, 300), st.floats(0.01, 5000), st.sampled_from([0.8, 0.9, 0.95, 0.99]))
def test_the_limits_are_those_for_which_the_count_is_just_too_rare(errors, hours, confidence):
    # The definition of exact limits, computed with scipy's Poisson distribution.
    lower, upper = limits(errors, hours, confidence)
    tail = (1 - confidence) / 2
    assert stats.poisson.sf(errors - 1, lower * hours) == pytest.approx(tail, rel=1e-6)
    assert stats.poisson.cdf(errors, upper * hours) == pytest.approx(tail, rel=1e-6)


def test_no_errors_still_have_an_upper_limit():
    # Zero failures in T hours: rate <= 2.9957/T, one-sided 95 % (chi-square; -ln 0.05).
    assert most_per_hour(0, 1) == pytest.approx(2.9957, abs=5e-5)
    assert most_per_hour(0, 40) == pytest.approx(-math.log(0.05) / 40)
    assert limits(0, 10) == pytest.approx((0, -math.log(0.025) / 10))


def test_nists_interval_for_two_failures_in_800_hours():
    # NIST/SEMATECH e-Handbook 8.4.5.1 (that it prints this example: from memory), as rates: 1 / 2251.2 and
    # 1 / 127.1.
    lower, upper = limits(2, 800, 0.9)
    assert (1 / upper, 1 / lower) == pytest.approx((127.1, 2251.2), abs=0.06)


@given(
    st.tuples(st.integers(0, 60), st.integers(0, 60)).filter(sum),
    st.tuples(st.floats(0.1, 900), st.floats(0.1, 900)),
)
def test_the_comparison_is_the_binomial_test(errors, hours):
    # Second computation: both tails of the binomial distribution, and its limits as points of the beta.
    result = compared(errors, hours)
    total, share = sum(errors), hours[1] / sum(hours)
    low, high = stats.binom.cdf(errors[1], total, share), stats.binom.sf(errors[1] - 1, total, share)
    assert result.chance == pytest.approx(min(1, 2 * min(low, high)), rel=1e-9)
    if errors[1]:
        edge = stats.beta.ppf(0.025, errors[1], errors[0] + 1)
        assert result.ratio_lower == pytest.approx(edge / (1 - edge) * hours[0] / hours[1], rel=1e-6)
    else:
        assert result.ratio_lower == 0
    # The chance and the limits never contradict each other.
    assert result.differs == (not result.ratio_lower <= 1 <= result.ratio_upper)


def test_the_comparison_of_two_equal_spans_worked_by_hand():
    # 8 errors before and 1 after, in as many hours: 2 * (1 + 9) / 2^9 = 0.0390625.
    result = compared((8, 1), (20.0, 20.0))
    assert result.chance == pytest.approx(0.0390625)
    assert result.differs
    assert result.ratio == pytest.approx(1 / 8)


def test_few_errors_prove_nothing():
    # 5 and none in as many hours: 2 / 2^5 = 0.0625. It looks mended, and may be chance.
    result = compared((5, 0), (20.0, 20.0))
    assert result.chance == pytest.approx(0.0625)
    assert not result.differs


def test_hours_count_and_not_only_errors():
    # Fewer errors in far fewer hours are no improvement.
    assert compared((30, 10), (100.0, 10.0)).ratio > 3
    assert compared((30, 10), (100.0, 10.0)).differs
    assert not compared((30, 10), (100.0, 33.0)).differs


def test_two_equal_rates_are_called_different_at_most_5_times_in_100():
    # The exact test is conservative. 0.999 point of the binomial distribution for 2,000 tries at 5 %.
    dice = random.Random(11)

    def poisson(mean: float) -> int:
        count, product = 0, dice.random()
        while product > math.exp(-mean):
            count, product = count + 1, product * dice.random()
        return count

    differ = 0
    for _ in range(2000):
        errors = poisson(6), poisson(9)
        result = compare(errors, (2.0, 3.0))
        differ += isinstance(result, Comparison) and result.differs
    assert differ <= stats.binom.ppf(0.999, 2000, 0.05)


def test_independent_errors_do_not_bunch_and_others_do():
    calm = bunching([3, 5, 4, 6, 2, 4, 5, 3], [1.0] * 8)
    assert isinstance(calm, Bunching)
    assert not calm.bunched
    wild = bunching([0, 0, 31, 0, 1, 0, 0, 0], [1.0] * 8)
    assert isinstance(wild, Bunching)
    assert wild.bunched
    assert wild.index > 20


def test_bunching_is_the_chi_square_test_of_scipy():
    errors, hours = [3, 9, 4, 6], [1.0, 2.0, 1.5, 0.5]
    result = bunching(errors, hours)
    assert isinstance(result, Bunching)
    expected = [22 * h / 5 for h in hours]
    assert result.chance == pytest.approx(stats.chisquare(errors, expected).pvalue)


def test_too_little_is_said_and_not_computed():
    assert isinstance(rate(0, 0.0), TooFew)
    for nothing in (compare((0, 0), (5.0, 5.0)), compare((3, 1), (5.0, 0.0)), bunching([1, 2], [1.0, 1.0]),
                    bunching([1, 0, 0, 0], [1.0] * 4)):  # fmt: skip
        assert isinstance(nothing, TooFew)
        assert "too little data" in nothing.line


def test_results_say_what_they_rest_on():
    result = compared((8, 1), (20.0, 20.0))
    assert "n = 9 errors in both spans; assumes independent errors at a constant rate" in result.basis.line
    assert "n = 8 errors in 20 h" in result.first.basis.line


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: rate(-1, 5.0),
        lambda: rate(1, -5.0),
        lambda: rate(1, 5.0, 1.0),
        lambda: most_per_hour(1, 0.0),
        lambda: bunching([1], [1.0, 2.0]),
    ],
)
def test_what_can_not_be_is_refused(wrong):
    with pytest.raises(ValueError, match=r"\w+"):
        wrong()
