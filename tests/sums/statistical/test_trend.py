"""Tests of a trend and the power law against the example of the NIST/SEMATECH e-Handbook,
doi:10.18434/M32189.
"""

from __future__ import annotations

import itertools
import math
import random

import pytest
from scipy import stats

from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.power_law import ConstantRate, PowerLaw, constant_mtbf, power_law
from exhibit.sums.statistical.trend import (
    Trend,
    gaps_of,
    laplace,
    military_handbook,
    reversals,
    reversals_as_rare,
    reversals_deviation,
    reverse_arrangements,
)

# NIST/SEMATECH e-Handbook 8.2.2.3 (apr223), 8.2.3.4 (apr234) and 8.4.5.2 (apr452): 10 failures of a
# repaired system, in hours; the observation ended at 1500 h.
AGES = [5.0, 40.0, 43.0, 175.0, 389.0, 712.0, 747.0, 795.0, 1299.0, 1478.0]
END = 1500.0


def trend(result: Trend | TooFew) -> Trend:
    assert isinstance(result, Trend)
    return result


def fitted(*args: object) -> PowerLaw:
    result = power_law(*args)
    assert isinstance(result, PowerLaw)
    return result


def test_the_gaps_of_the_example_hold_a_tie():
    assert gaps_of(AGES) == [5, 35, 3, 132, 214, 323, 35, 48, 504, 179]


def test_the_example_has_33_reversals_and_the_tie_is_none():
    # apr234: R = 33 of at most 45, 22.5 expected; "a later inter-arrival time being strictly greater".
    gaps = gaps_of(AGES)
    assert reversals(gaps) == 33
    assert sum(later >= earlier for earlier, later in itertools.combinations(gaps, 2)) == 34
    assert trend(reverse_arrangements(AGES)).statistic == 33


def test_the_reversals_of_the_example_are_significant_at_5_per_cent():
    # Exact P(R >= 33) for 10 gaps, by Mahonian numbers.
    result = trend(reverse_arrangements(AGES))
    assert result.fewer == pytest.approx(0.03628, abs=5e-6)
    assert result.verdict() == "fewer"
    assert result.verdict(0.01) == "no trend shown"


# One-sided exact critical numbers of reversals at 10, 5 and 1 per cent, recomputed; the handbook prints
# such a table.
@pytest.mark.parametrize(
    ("failures", "critical"),
    [
        (4, (6, 6, None)), (5, (9, 9, 10)), (6, (12, 13, 14)), (7, (16, 17, 19)), (8, (20, 22, 24)),
        (9, (25, 27, 30)), (10, (31, 33, 36)), (11, (37, 39, 43)), (12, (43, 46, 51)),
    ],
)  # fmt: skip
def test_the_critical_numbers_of_reversals(failures, critical):
    for least, level in zip(critical, (0.10, 0.05, 0.01), strict=True):
        if least is None:
            assert reversals_as_rare(failures, failures * (failures - 1) // 2) > level
        else:
            assert reversals_as_rare(failures, least) <= level < reversals_as_rare(failures, least - 1)


@pytest.mark.parametrize("failures", [2, 3, 4, 5, 6, 7])
def test_the_exact_chances_are_those_of_all_orders_counted_out(failures):
    counts = [reversals(order) for order in itertools.permutations(range(failures))]
    for least in range(failures * (failures - 1) // 2 + 2):
        share = sum(count >= least for count in counts) / len(counts)
        assert reversals_as_rare(failures, least) == pytest.approx(share)


def test_without_ties_it_is_scipys_exact_rank_correlation():
    dice = random.Random(6)
    ages = list(itertools.accumulate(dice.expovariate(1) for _ in range(15)))
    result = trend(reverse_arrangements(ages))
    for way, chance in (("greater", result.fewer), ("less", result.more)):
        expected = stats.kendalltau(range(15), gaps_of(ages), method="exact", alternative=way).pvalue
        assert chance == pytest.approx(expected)


def test_with_the_tie_scipys_is_another_figure():
    # kendalltau: tau-b 0.494413, two-sided p 0.048193 by its normal approximation. S = 33 - 11 = 22.
    result = stats.kendalltau(range(10), gaps_of(AGES))
    assert (result.statistic, result.pvalue) == pytest.approx((0.494413, 0.048193), abs=5e-7)
    assert reversals(gaps_of(AGES)) - reversals(gaps_of(AGES)[::-1]) == 22


def test_the_normal_approximation_of_the_handbook_adds_a_half():
    # As printed, z = 1.9677; with -0.5, the correction for "at least as many", 1.7889.
    assert reversals_deviation(33, 10) == pytest.approx(1.9677, abs=5e-5)
    assert reversals_deviation(33, 10, -0.5) == pytest.approx(1.7889, abs=5e-5)


def test_many_failures_are_judged_by_the_approximation_and_it_says_so():
    dice = random.Random(2)
    ages = list(itertools.accumulate(dice.expovariate(1 / (1 + place / 9)) for place in range(80)))
    result = trend(reverse_arrangements(ages))
    assert "normal approximation" in result.basis.line
    assert result.verdict() == "fewer"
    exact = reversals_as_rare(80, round(result.statistic))
    assert result.fewer == pytest.approx(exact, abs=2e-3)


def test_military_handbook():
    # apr234: chi2 = 2 sum ln(T/t) = 37.22808 with 20 degrees of freedom; above 31.410 (95 %) and 34.170
    # (97.5 %), below 37.566 (99 %).
    result = trend(military_handbook(AGES, END))
    assert result.statistic == pytest.approx(37.22808, abs=5e-6)
    assert result.fewer == pytest.approx(0.010986, abs=5e-7)
    assert [result.verdict(level) for level in (0.05, 0.025, 0.01)] == ["fewer", "fewer", "no trend shown"]
    assert stats.chi2.ppf([0.95, 0.975, 0.99], 20) == pytest.approx([31.410, 34.170, 37.566], abs=5e-4)


def test_laplace():
    # apr234, and a second library's value for the same data: -1.32694918; one-sided 0.0923, so at 10 % only.
    result = trend(laplace(AGES, END))
    assert result.statistic == pytest.approx(-1.32694918, abs=5e-9)
    assert result.fewer == pytest.approx(0.0923, abs=5e-5)
    assert [result.verdict(level) for level in (0.10, 0.05)] == ["fewer", "no trend shown"]


def test_an_observation_that_ends_with_a_failure_is_another_sum():
    # Trap: ages at failure 1478 taken for the end. The last failure then doesn't count: 9 ages, T = 1478.
    rest = AGES[:-1]
    at_failure = trend(laplace(AGES, None))
    z = math.sqrt(12 * 9) * sum(age - 739 for age in rest) / (9 * 1478)
    assert at_failure.statistic == pytest.approx(z)
    assert at_failure.statistic != pytest.approx(-1.32694918, abs=0.01)
    handbook = trend(military_handbook(AGES, None))
    assert handbook.statistic == pytest.approx(2 * sum(math.log(1478 / age) for age in rest))
    assert handbook.fewer == pytest.approx(stats.chi2.sf(handbook.statistic, 18))
    assert "ended at the last failure" in handbook.basis.line
    assert "ended at a time" in trend(laplace(AGES, END)).basis.line


def test_failures_at_a_constant_rate_lie_evenly_whichever_way_the_observation_ends():
    # Given the end, Laplace's statistic is normal: of 2,000 constant rates about 5 % are called improving.
    dice = random.Random(5)
    for end in (None, 30.0):
        improving = judged = 0
        for _ in range(2000):
            ages = list(itertools.accumulate(dice.expovariate(1) for _ in range(80)))
            ages = ages[:20] if end is None else [age for age in ages if age <= end]
            judged += 1
            improving += trend(laplace(ages, end)).fewer < 0.05
        low, high = stats.binom.interval(0.999, judged, 0.05)
        assert low <= improving <= high


def test_wearing_out_is_told_from_improving():
    ages = [END - age for age in reversed(AGES)]
    assert trend(military_handbook([1000 + age / 10 for age in ages], 1150.0)).verdict() == "more"
    assert trend(laplace(ages, END)).more == pytest.approx(0.0923, abs=5e-5)
    quickening = list(itertools.accumulate([9.0, 8, 7, 6, 5, 4, 3, 2]))
    assert trend(reverse_arrangements(quickening)).verdict() == "more"


def test_the_power_law_of_the_handbook():
    # apr452, printed by its program: 0.516494 0.2913003 0.483506 310.234.
    result = fitted(AGES, END)
    assert (result.growth, result.b) == pytest.approx((0.516494, 0.483506), abs=5e-7)
    assert result.a == pytest.approx(0.2913003, abs=5e-8)
    assert result.mtbf == pytest.approx(310.234, abs=5e-4)


def test_the_80_per_cent_limits_of_the_handbook():
    # apr452, printed by its program: 157.7138 and 548.5566, from z = 1.281552.
    result = fitted(AGES, END, 0.8)
    assert (result.lower, result.upper) == pytest.approx((157.7138, 548.5566), abs=5e-5)


def test_the_estimate_is_the_modified_one():
    # Plain maximum likelihood has r above, which gives b = 0.5372289.
    plain = len(AGES) / sum(math.log(END / age) for age in AGES)
    assert plain == pytest.approx(0.5372289, abs=5e-8)
    assert fitted(AGES, END).b == pytest.approx(plain * 9 / 10)


def test_a_line_through_a_duane_plot_is_another_estimate():
    # Regression of ln(t/i) on ln t: slope 0.613561, intercept 0.596355; the handbook prefers the likelihood.
    points = [(math.log(age), math.log(age / number)) for number, age in enumerate(AGES, 1)]
    line = stats.linregress(*zip(*points, strict=True))
    assert (line.slope, line.intercept) == pytest.approx((0.613561, 0.596355), abs=5e-7)
    assert abs(fitted(AGES, END).growth - line.slope) > 0.09


def test_the_last_failure_is_not_taken_for_the_end():
    # Trap: a library that takes it so gives 0.541527 = 10 / sum ln(1478/t), whatever the end was.
    wrong = len(AGES) / sum(math.log(1478 / age) for age in AGES)
    assert wrong == pytest.approx(0.541527, abs=5e-7)
    assert fitted(AGES, END).b != pytest.approx(wrong, abs=0.01)
    # If it did end there, the estimate has r - 2 above (from memory), and is unbiased: see the next test.
    assert fitted(AGES, None).b == pytest.approx(8 / 10 * wrong)


@pytest.mark.parametrize("at_failure", [False, True])
def test_the_modified_estimate_is_unbiased_however_the_observation_ends(at_failure):
    # Simulated: b = 0.7, 12 failures; given their number, (t/T)^b of an observation that ends at a time are
    # uniform.
    dice = random.Random(31)
    found = []
    for _ in range(3000):
        count = 11 if at_failure else 12
        ages = sorted(100 * dice.random() ** (1 / 0.7) for _ in range(count))
        found.append(fitted([*ages, 100.0], None).b if at_failure else fitted(ages, 100.0).b)
    error = 4 * 0.7 / math.sqrt(10 * 3000)
    assert sum(found) / 3000 == pytest.approx(0.7, abs=error)


def test_the_interval_of_a_constant_rate():
    # NIST/SEMATECH e-Handbook 8.4.5.1 (that it prints this example: from memory): 2 failures in 800 h;
    # factors 0.31767 and 5.62807 of 400 h.
    result = constant_mtbf(2, 800.0, 0.9)
    assert isinstance(result, ConstantRate)
    assert result.mtbf == 400
    assert (result.lower / 400, result.upper / 400) == pytest.approx((0.31767, 5.62807), abs=5e-6)


def test_without_a_failure_only_the_lower_limit_is_known():
    result = constant_mtbf(0, 300.0, 0.9)
    assert isinstance(result, ConstantRate)
    assert (result.mtbf, result.upper) == (math.inf, math.inf)
    assert result.lower == pytest.approx(300 / 2.9957, rel=1e-4)


def test_too_few_failures_are_said_and_not_judged():
    for nothing in (reverse_arrangements(AGES[:3]), laplace(AGES[:3], END), military_handbook(AGES[:3], END),
                    laplace(AGES[:3], None), power_law(AGES[:4], END), constant_mtbf(1, 0.0),
                    laplace([], None), power_law([], None)):  # fmt: skip
        assert isinstance(nothing, TooFew)
        assert "too little data" in nothing.line


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: reverse_arrangements([3.0, 2.0, 4.0, 5.0]),
        lambda: reverse_arrangements([-1.0, 2.0, 4.0, 5.0]),
        lambda: reverse_arrangements([1.0, 2.0, 4.0, math.nan]),
        lambda: laplace(AGES, 1000.0),
        lambda: laplace([0.0, 0.0, 0.0, 0.0], 0.0),
        lambda: military_handbook([0.0, 1.0, 2.0, 3.0], 5.0),
        lambda: power_law([0.0, 1.0, 2.0, 3.0, 4.0], 5.0),
        lambda: power_law(AGES, END, 0.0),
        lambda: constant_mtbf(-1, 5.0),
        lambda: reversals_deviation(1, 1),
    ],
)
def test_what_can_not_be_is_refused(wrong):
    with pytest.raises(ValueError, match=r"\w+"):
        wrong()
