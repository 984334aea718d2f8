"""Tolerance bounds and quantiles against published tables, and against scipy and numpy."""

import math
import random
from statistics import fmean, stdev

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from exhibit.sums.tolerance import (
    FEWEST_NORMAL_RUNS,
    NORMAL_BELOW,
    confidence,
    least_runs,
    normal_factor,
    normality,
    quantile,
    supported_coverage,
    upper_bound,
)

NORMAL_25 = [10 + float(stats.norm.ppf((i + 0.5) / 25)) for i in range(25)]
"""Values that lie just as normal ones should."""


# Wilks, Ann. Math. Stat. 12 (1941) 91-96: the published 59 for 95/95; the others follow from his
# formula 1 - p^n >= confidence.
@pytest.mark.parametrize(
    ("coverage", "sure", "runs"),
    [
        (0.95, 0.95, 59), (0.90, 0.90, 22), (0.90, 0.95, 29), (0.90, 0.99, 44), (0.95, 0.90, 45),
        (0.95, 0.99, 90), (0.99, 0.90, 230), (0.99, 0.95, 299), (0.99, 0.99, 459),
    ],
)  # fmt: skip
def test_the_largest_of_so_many_runs_is_a_bound_and_of_one_fewer_is_not(coverage, sure, runs):
    assert least_runs(coverage, sure) == runs
    assert confidence(runs, coverage) >= sure > confidence(runs - 1, coverage)


@pytest.mark.parametrize(("runs", "share"), [(10, 0.7411), (22, 0.8727), (59, 0.9505)])
def test_of_fewer_runs_the_largest_is_kept_by_fewer(runs, share):
    # Wilks' formula 1 - p^n = 0.95 solved for p: 0.05^(1/n).
    assert supported_coverage(runs) == pytest.approx(0.05 ** (1 / runs), abs=1e-9)
    assert supported_coverage(runs) == pytest.approx(share, abs=5e-5)


def test_with_runs_cut_off_it_is_the_clopper_pearson_bound():
    assert supported_coverage(40, rank=3) == pytest.approx(stats.beta.ppf(0.05, 38, 3), abs=1e-9)
    assert supported_coverage(2, rank=3) == 0


def test_58_runs_give_not_quite_95_per_cent_and_59_do():
    # Wilks' formula, to five places: 1 - 0.95^58 and 1 - 0.95^59.
    assert confidence(58) == pytest.approx(0.94895, abs=5e-6)
    assert confidence(59) == pytest.approx(0.95151, abs=5e-6)


def test_with_the_sth_largest_more_runs_are_needed():
    # The order-statistics table for 95/95 as used with Wilks' formula (recomputed with scipy below).
    assert [least_runs(rank=rank) for rank in range(1, 9)] == [59, 93, 124, 153, 181, 208, 234, 260]


@given(st.integers(1, 40), st.integers(1, 2000), st.sampled_from([0.5, 0.9, 0.95, 0.99]))
def test_the_confidence_is_that_of_the_binomial_distribution(rank, runs, coverage):
    assert confidence(runs, coverage, rank) == pytest.approx(
        stats.binom.sf(rank - 1, runs, 1 - coverage) if rank <= runs else 0.0, abs=1e-9
    )


def test_hundreds_of_runs_can_be_cut_off():
    runs = least_runs(rank=501)
    assert stats.binom.sf(500, runs, 0.05) >= 0.95 > stats.binom.sf(500, runs - 1, 0.05)


def test_the_normal_factor_is_the_one_of_the_handbook():
    # NIST/SEMATECH e-Handbook 7.2.6.3: n 43, coverage 0.90, confidence 0.99, by the noncentral t.
    assert normal_factor(43, 0.90, 0.99) == pytest.approx(1.873954, abs=5e-7)
    assert normal_factor(43, 0.90, 0.99) == pytest.approx(1.87395361, abs=5e-9)


# Recomputed with scipy 1.17.1: nct.ppf(confidence, n - 1, z sqrt(n)) / sqrt(n); to four places.
@pytest.mark.parametrize(
    ("runs", "factors"),
    [
        (5, (4.2027, 5.7411, 3.4066, 3.3998)),
        (10, (2.9110, 3.9811, 2.3546, 2.5684)),
        (20, (2.3960, 3.2952, 1.9260, 2.2078)),
        (30, (2.2198, 3.0639, 1.7773, 2.0798)),
        (50, (2.0650, 2.8624, 1.6456, 1.9653)),
        (100, (1.9265, 2.6840, 1.5267, 1.8613)),
    ],
)
def test_the_normal_factors_of_the_table(runs, factors):
    pairs = [(0.95, 0.95), (0.99, 0.95), (0.90, 0.95), (0.95, 0.90)]
    assert [normal_factor(runs, *pair) for pair in pairs] == pytest.approx(factors, abs=5.1e-5)


@pytest.mark.parametrize("runs", [2, 3, 7, 20, 58, 400])
@pytest.mark.parametrize(("coverage", "sure"), [(0.95, 0.95), (0.5, 0.95), (0.99, 0.5), (0.3, 0.2)])
def test_the_normal_factor_is_the_point_of_the_noncentral_t(runs, coverage, sure):
    point = stats.nct.ppf(sure, runs - 1, stats.norm.ppf(coverage) * math.sqrt(runs)) / math.sqrt(runs)
    assert normal_factor(runs, coverage, sure) == pytest.approx(point, rel=1e-7, abs=1e-7)


def test_normality_is_the_statistic_of_anderson_and_darling():
    dice = random.Random(5)
    for count in (2, 8, 20, 58, 300):
        values = [dice.lognormvariate(1, 0.4) for _ in range(count)]
        zs = np.sort((np.array(values) - np.mean(values)) / np.std(values, ddof=1))
        i = np.arange(1, count + 1)
        plain = -count - np.mean((2 * i - 1) * (stats.norm.logcdf(zs) + stats.norm.logsf(zs[::-1])))
        assert normality(values) == pytest.approx(plain * (1 + 0.75 / count + 2.25 / count**2), rel=1e-9)


@pytest.mark.parametrize("count", [FEWEST_NORMAL_RUNS, 58])
def test_normal_runs_are_taken_for_normal_19_times_in_20(count):
    dice = random.Random(20)
    tries = 4000
    refused = sum(normality([dice.gauss(8, 2) for _ in range(count)]) >= NORMAL_BELOW for _ in range(tries))
    # The 99.9 % range if the true rate is 5 %.
    low, high = stats.binom.interval(0.999, tries, 0.05)
    assert low <= refused <= high


def test_runs_with_a_long_tail_are_not_taken_for_normal():
    dice = random.Random(7)
    values = [dice.expovariate(1) for _ in range(40)]
    assert upper_bound(values).kind == "too few runs"


def test_runs_that_all_took_the_same_time_are_not_taken_for_normal():
    assert upper_bound([7.0] * 58).upper is None
    assert upper_bound([7.0] * 59).upper == 7.0


def test_59_good_runs_support_the_largest_of_them():
    values = [3.0 + i / 10 for i in range(59)]
    bound = upper_bound(values)
    assert (bound.kind, bound.upper, bound.runs) == ("distribution-free", max(values), 59)


def test_fewer_runs_support_the_normal_bound_and_say_so():
    bound = upper_bound(NORMAL_25)
    assert bound.kind == "normal theory"
    assert bound.deviations == normal_factor(25)
    assert bound.upper == pytest.approx(fmean(NORMAL_25) + normal_factor(25) * stdev(NORMAL_25))
    assert bound.wanted == 59


def test_a_normal_bound_is_never_below_the_largest_run():
    values = [*NORMAL_25, 12.9]
    assert normality(values) < NORMAL_BELOW
    assert fmean(values) + normal_factor(26) * stdev(values) < 12.9
    assert upper_bound(values).upper == 12.9


@pytest.mark.parametrize("count", [0, 1, 12, FEWEST_NORMAL_RUNS - 1])
def test_a_handful_of_runs_supports_nothing(count):
    bound = upper_bound(NORMAL_25[:count])
    assert (bound.kind, bound.upper, bound.runs, bound.wanted) == ("too few runs", None, count, 59)


def test_runs_that_were_cut_off_count_as_longer_than_all_others():
    values = [float(i) for i in range(92)]
    assert upper_bound(values, beyond=1).upper == 91.0  # 93 runs, the second largest
    assert upper_bound(values[:-1], beyond=1).upper is None  # 92 runs
    assert upper_bound(values, beyond=2).wanted == 124
    assert upper_bound(NORMAL_25, beyond=1).kind == "too few runs"


@pytest.mark.parametrize("distribution", ["lognormal", "normal"])
def test_95_of_100_bounds_hold_for_95_of_100_runs(distribution):
    # Simulated: the bound of 59 runs holds for any distribution, and that of 30 runs for a normal one.
    dice = random.Random(9)
    tries, count = 3000, 59 if distribution == "lognormal" else 30
    held = tried = 0
    while tried < tries:
        values = [dice.gauss(0, 1) for _ in range(count)]
        true_point = stats.norm.ppf(0.95)
        if distribution == "lognormal":
            values, true_point = [math.exp(value) for value in values], math.exp(true_point)
            upper = upper_bound(values).upper
        else:
            upper = fmean(values) + normal_factor(count) * stdev(values)
        tried += 1
        held += upper >= true_point
    expected = 0.9515 if distribution == "lognormal" else 0.95
    low, high = stats.binom.interval(0.999, tries, expected)
    assert low <= held <= high


def test_quantiles_of_one_to_ten():
    # Hyndman and Fan 1996, definition 8, x = 1..10 (numpy's median_unbiased gives the same).
    shares = [0.10, 0.25, 0.50, 0.90, 0.95, 0.99]
    found = [quantile(range(1, 11), share) for share in shares]
    assert found == pytest.approx([1.3667, 2.9167, 5.5, 9.6333, 10, 10], abs=5e-5)


@given(
    st.lists(st.floats(-1e6, 1e6, allow_nan=False), min_size=1, max_size=40), st.floats(0, 1, allow_nan=False)
)
def test_a_quantile_is_that_of_numpy(values, share):
    expected = np.quantile(np.array(values), share, method="median_unbiased")
    assert quantile(values, share) == pytest.approx(expected, rel=1e-9, abs=1e-4)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: confidence(5, 1.0),
        lambda: confidence(5, rank=0),
        lambda: least_runs(0.95, 1.0),
        lambda: normal_factor(1),
        lambda: normal_factor(5, 0.95, 0.0),
        lambda: normality([1.0]),
        lambda: quantile([], 0.5),
        lambda: quantile([1.0], 1.5),
    ],
)
def test_what_can_not_be_calculated_is_refused(wrong):
    with pytest.raises(ValueError, match=r"\w+"):
        wrong()
