"""Tolerance intervals and quantiles against the NIST/SEMATECH e-Handbook (doi:10.18434/M32189) and Wilks."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import integrate, stats

from exhibit.sums.statistical.intervals import (
    exact_factor,
    extremes_confidence,
    howe_factor,
    least_between_extremes,
    natrella_factor,
    natrella_terms,
    roughly_between_extremes,
)
from exhibit.sums.tolerance import normal_factor, quantile


def test_the_one_sided_factor_of_the_handbook_by_natrella():
    # 7.2.6.3 (prc263): n 43, coverage 0.90, confidence 0.99: a 0.9355727, b 1.5165164, k1 1.8751896.
    assert natrella_terms(43, 0.90, 0.99) == pytest.approx((0.9355727, 1.5165164), abs=5e-8)
    assert natrella_factor(43, 0.90, 0.99) == pytest.approx(1.8751896, abs=5e-8)


def test_the_exact_one_sided_factor_of_the_handbook():
    # 7.2.6.3 (prc263), by the noncentral t: 1.873954. Natrella's approximation lies above it.
    assert exact_factor(43, 0.90, 0.99) == pytest.approx(1.873954, abs=5e-7)
    assert natrella_factor(43, 0.90, 0.99) - exact_factor(43, 0.90, 0.99) > 1e-3


@pytest.mark.parametrize("n", [5, 20, 58])
def test_the_two_computations_of_the_exact_factor_agree(n):
    assert exact_factor(n, 0.95, 0.95) == pytest.approx(normal_factor(n), rel=1e-7)


def test_the_two_sided_factor_of_the_handbook_by_howe():
    # 7.2.6.3 (prc263): n 43, coverage 0.90, confidence 0.99: k2 2.217316.
    assert howe_factor(43, 0.90, 0.99) == pytest.approx(2.217316, abs=5e-7)


def test_howes_factor_is_not_the_exact_one():
    # Trap: an exact method gives 2.2228 for the same. Second computation: the defining integral over the
    # mean's error.
    def confidence_of(k: float) -> float:
        def given(z: float) -> float:
            middle = z / math.sqrt(43)
            half = math.sqrt(stats.ncx2.ppf(0.90, 1, middle**2))
            return float(stats.norm.pdf(z) * stats.chi2.sf(42 * (half / k) ** 2, 42))

        return float(integrate.quad(given, -8, 8)[0])

    assert confidence_of(2.2228) == pytest.approx(0.99, abs=2e-5)
    assert confidence_of(howe_factor(43, 0.90, 0.99)) < 0.9899


def test_too_few_values_for_natrella_are_refused():
    with pytest.raises(ValueError, match="too few"):
        natrella_factor(3, 0.95, 0.99)


# 7.2.6.4 (prc264): how sure the smallest and the largest of 25 values hold a share between them.
@pytest.mark.parametrize(
    ("share", "sure"),
    [(0.5, 1.0), (0.75, 0.993), (0.9, 0.729), (0.95, 0.358), (0.975, 0.129), (0.99, 0.026), (0.995, 0.007)],
)
def test_the_smallest_and_the_largest_of_25(share, sure):
    assert extremes_confidence(25, share) == pytest.approx(sure, abs=5e-4)
    # Second computation: the share between the extremes is beta distributed.
    assert extremes_confidence(25, share) == pytest.approx(stats.beta.sf(share, 24, 2))


@pytest.mark.parametrize(
    ("share", "sure", "least"), [(0.95, 0.95, 93), (0.90, 0.95, 46), (0.99, 0.95, 473), (0.99, 0.99, 662)]
)
def test_how_many_values_hold_a_share_between_their_extremes(share, sure, least):
    # Wilks, Ann. Math. Stat. 12 (1941) 91-96: two-sided.
    assert least_between_extremes(share, sure) == least
    assert extremes_confidence(least, share) >= sure > extremes_confidence(least - 1, share)


def test_rounding_up_the_handbooks_approximation_can_ask_for_one_too_many():
    # 7.2.6.4 (prc264): p 0.90 -> 45.57 -> 46; p 0.99 -> 472.5 -> 473. Trap: p 0.95 -> 93.005, of which
    # rounding up makes 94.
    assert roughly_between_extremes(0.90, 0.95) == pytest.approx(45.57, abs=0.006)
    assert roughly_between_extremes(0.99, 0.95) == pytest.approx(472.5, abs=0.06)
    rough = roughly_between_extremes(0.95, 0.95)
    assert rough == pytest.approx(93.005, abs=5e-4)
    assert math.ceil(rough) == 94 != least_between_extremes(0.95, 0.95)


def test_to_59_runs_the_extremes_do_not_hold_95_per_cent_between_them():
    # 59 are enough for a one-sided bound, and are not for an interval: 92 -> 0.94786, 93 -> 0.95002.
    assert extremes_confidence(59, 0.95) < 0.81
    assert (extremes_confidence(92, 0.95), extremes_confidence(93, 0.95)) == pytest.approx(
        (0.94786, 0.95002), abs=5e-6
    )


def test_the_90th_percentile_of_the_handbook_is_another_definition_than_numpys_own():
    # 7.2.6.2: 95.1981 by p (n + 1), which numpy calls weibull (type 6). Its default, type 7, gives 95.1957.
    values = [
        95.1772,
        95.1567,
        95.1937,
        95.1959,
        95.1442,
        95.0610,
        95.1591,
        95.1195,
        95.1065,
        95.0925,
        95.1990,
        95.1682,
    ]
    assert np.quantile(values, 0.9, method="weibull") == pytest.approx(95.1981, abs=5e-5)
    assert np.quantile(values, 0.9) == pytest.approx(95.1957, abs=5e-5)
    # Ours is type 8, of which numpy's computation is a second one.
    assert quantile(values, 0.9) == pytest.approx(np.quantile(values, 0.9, method="median_unbiased"))
    assert 95.1957 < quantile(values, 0.9) < 95.1981


# Hyndman and Fan, The American Statistician 50 (1996) 361-365: their nine definitions for 1 to 10.
NINE = {
    0.10: (1, 1.5, 1, 1, 1.5, 1.1, 1.9, 1.3667, 1.4),
    0.25: (3, 3, 2, 2.5, 3, 2.75, 3.25, 2.9167, 2.9375),
    0.50: (5, 5.5, 5, 5, 5.5, 5.5, 5.5, 5.5, 5.5),
    0.90: (9, 9.5, 9, 9, 9.5, 9.9, 9.1, 9.6333, 9.6),
    0.95: (10, 10, 10, 9.5, 10, 10, 9.55, 10, 10),
    0.99: (10, 10, 10, 9.9, 10, 10, 9.91, 10, 10),
}
NUMPYS = ("inverted_cdf", "averaged_inverted_cdf", "closest_observation", "interpolated_inverted_cdf",
          "hazen", "weibull", "linear", "median_unbiased", "normal_unbiased")  # fmt: skip


@pytest.mark.parametrize("share", NINE)
def test_ours_is_the_eighth_of_nine_definitions(share):
    values = list(range(1, 11))
    assert [np.quantile(values, share, method=name) for name in NUMPYS] == pytest.approx(
        NINE[share], abs=5e-5
    )
    assert quantile(values, share) == pytest.approx(NINE[share][7], abs=5e-5)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: exact_factor(1, 0.9, 0.9),
        lambda: howe_factor(43, 1.0, 0.9),
        lambda: howe_factor(43, 0.9, 0.0),
        lambda: extremes_confidence(1, 0.9),
    ],
)
def test_what_can_not_be_calculated_is_refused(wrong):
    with pytest.raises(ValueError, match=r"\w+"):
        wrong()
