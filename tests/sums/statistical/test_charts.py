"""The control charts against the worked examples of the NIST/SEMATECH e-Handbook, doi:10.18434/M32189."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy import stats

from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.charts import D2, D4, Cusum, Ewma, Individuals, cusum, ewma, individuals

# NIST/SEMATECH e-Handbook 6.3.2.4 (pmc324): lambda 0.3, EWMA0 50, s 2.0539, k 3; z printed to 2 places.
EWMA_X = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
          49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]  # fmt: skip
EWMA_Z = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33,
          50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]  # fmt: skip
# NIST/SEMATECH e-Handbook 6.3.2.3 (pmc323): mu 325, k 0.3175, h 4.1959.
CUSUM_X = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600,
           324.625, 325.150, 328.325, 327.250, 327.825, 328.500, 326.675, 327.775,
           326.875, 328.350]  # fmt: skip
CUSUM_HIGH = [
    0,
    0,
    0,
    0,
    0.0325,
    0,
    0,
    0,
    0,
    0,
    0,
    0,
    3.0075,
    4.94,
    7.4475,
    10.63,
    11.9875,
    14.445,
    16.0025,
    19.035,
]
CUSUM_LOW = [0, 0.0075, 0, 0.3325, 0, 0, 0.5575, 0.715, 0.1725, 0.255, 0.3125, *[0] * 9]
# NIST/SEMATECH e-Handbook 6.3.2.2 (pmc322), read at second hand and recomputed.
X_MR = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def ewma_chart(*args: object, **options: object) -> Ewma:
    chart = ewma(*args, **options)
    assert isinstance(chart, Ewma)
    return chart


def individuals_chart(*args: object, **options: object) -> Individuals:
    chart = individuals(*args, **options)
    assert isinstance(chart, Individuals)
    return chart


def nists_cusum() -> Cusum:
    chart = cusum(CUSUM_X, 325, 0.3175, 4.1959)
    assert isinstance(chart, Cusum)
    return chart


def test_ewma_gives_all_twenty_of_nists_means_and_no_signal():
    chart = ewma_chart(EWMA_X, 50, 2.0539, 0.3, 3, settled=True)
    assert [round(z, 2) for z in chart.means] == EWMA_Z
    assert chart.signals == []


def test_ewma_has_nists_limits():
    # Printed: 52.5884 and 47.4115. The page cuts the lower one off, where rounding gives 47.4116.
    chart = ewma_chart(EWMA_X, 50, 2.0539, 0.3, 3, settled=True)
    assert chart.upper[-1] == pytest.approx(52.5884, abs=1e-3)
    assert chart.lower[-1] == pytest.approx(47.4115, abs=1e-3)
    assert (chart.upper[-1], chart.lower[-1]) == pytest.approx((52.588432, 47.411568), abs=1e-6)


def test_the_first_limits_of_an_ewma_are_narrower():
    # pmc324: at the first value the deviation of the mean is lambda s; later it grows to the settled one.
    chart = ewma_chart(EWMA_X, 50, 2.0539, 0.3, 3)
    assert chart.upper[0] - 50 == pytest.approx(3 * 0.3 * 2.0539)
    assert chart.upper[-1] == pytest.approx(52.588432, abs=1e-4)
    off = 3 * 2.0539 * math.sqrt(0.3 / 1.7 * (1 - 0.7**8))
    assert chart.upper[3] - 50 == pytest.approx(off)


def test_cusum_gives_nists_table_and_signals_first_at_the_14th():
    chart = nists_cusum()
    assert chart.high == pytest.approx(CUSUM_HIGH, abs=1e-9)
    assert chart.low == pytest.approx(CUSUM_LOW, abs=1e-9)
    assert chart.signals[0] + 1 == 14
    # As the page prints them, to two places, some of them cut off.
    assert chart.high[12:] == pytest.approx([3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04], abs=0.02)


def test_a_cusum_says_where_the_change_began_and_which_way():
    chart = nists_cusum()
    assert chart.began(chart.signals[0]) + 1 == 13
    assert chart.is_up(chart.signals[0])
    down = cusum([650 - x for x in CUSUM_X], 325, 0.3175, 4.1959)
    assert isinstance(down, Cusum)
    assert (down.signals[0] + 1, down.is_up(13), down.began(13) + 1) == (14, False, 13)


def test_individuals_have_nists_limits():
    chart = individuals_chart(X_MR, d2=1.128)
    assert chart.centre == pytest.approx(50.81)
    assert chart.mean_range == pytest.approx(1.87778, abs=5e-6)
    assert (chart.upper, chart.lower) == pytest.approx((55.8041, 45.8159), abs=5e-5)
    assert chart.range_upper == pytest.approx(6.1347, abs=2e-3)  # D4 3.267 there, exact here
    assert chart.outside == chart.jumps == []


def test_the_rounded_factor_differs_in_the_fourth_place():
    # 2.66 for 3/1.128 = 2.659574: 55.8049 and 45.8151.
    assert 50.81 + 2.66 * individuals_chart(X_MR).mean_range == pytest.approx(55.8049, abs=5e-5)
    assert abs(individuals_chart(X_MR, d2=1.128).upper - 55.8049) > 5e-4


def test_the_factors_are_those_of_the_ranges_of_two_normal_values():
    # Second computation: the mean and the deviation of |x - y|, a half-normal variable with scale sqrt(2).
    half = stats.halfnorm(scale=math.sqrt(2))
    assert pytest.approx(half.mean()) == D2
    assert pytest.approx((half.mean() + 3 * half.std()) / half.mean()) == D4
    assert pytest.approx((1.128379, 3.266532), abs=5e-7) == (D2, D4)


def test_ewma_is_scipys_filter():
    from scipy.signal import lfilter

    expected = 50 + lfilter([0.3], [1, -0.7], np.array(EWMA_X) - 50)
    assert ewma_chart(EWMA_X, 50, 2.0539).means == pytest.approx(list(expected))


def test_cusum_is_the_random_walk_above_its_lowest_point():
    # Second computation: S_i = W_i - min(0, W_1 .. W_i), where W is the walk with the steps x - target - k.
    walk = np.cumsum(np.array(CUSUM_X) - 325 - 0.3175)
    assert nists_cusum().high == pytest.approx(
        list(walk - np.minimum(0, np.minimum.accumulate(walk))), abs=1e-9
    )


def test_one_value_far_off_is_outside_and_a_jump_there_and_back():
    values = [10.0, 10.1, 9.9, 10.05, 9.95, 10.1, 9.9, 10.0, 10.05, 9.95, 10.1, 9.9, 11.5, 10.0, 9.95]
    chart = individuals_chart(values)
    assert chart.outside == [12]
    assert chart.jumps == [12, 13]


def test_values_that_never_differ_are_never_outside_if_nothing_finer_can_be_measured():
    chart = individuals_chart([5.0] * 12 + [5.01], finest=0.01)
    assert chart.sigma == 0.01
    assert chart.outside == []


def test_a_slow_drift_does_not_widen_the_limits():
    # The deviation from moving ranges stays that of the noise; the sample's own deviation grows with the
    # drift.
    dice = random.Random(3)
    values = [place * 0.5 + dice.gauss(0, 1) for place in range(60)]
    chart = individuals_chart(values)
    assert chart.sigma < 1.5 < 5 < np.std(values)
    assert chart.outside[0] < 10
    assert chart.outside[-1] == 59


@pytest.mark.parametrize("count", [0, 1, 9])
def test_too_few_values_have_no_individuals_chart_and_it_says_so(count):
    found = individuals([1.0] * count)
    assert isinstance(found, TooFew)
    assert f"too little data ({count} values of 10)" in found.line


def test_no_values_have_no_chart():
    assert isinstance(ewma([], 0, 1), TooFew)
    assert isinstance(cusum([], 0, 1, 5), TooFew)


def test_a_result_says_what_it_rests_on_in_one_line():
    for chart in (individuals_chart(X_MR), ewma_chart(EWMA_X, 50, 2), nists_cusum()):
        assert "chart" in chart.basis.line
        assert f"n = {chart.basis.n} values" in chart.basis.line
        assert "assumes independent values" in chart.basis.line
        assert "\n" not in chart.basis.line


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: individuals(X_MR, sigmas=0),
        lambda: individuals(X_MR, d2=0),
        lambda: ewma(EWMA_X, 50, 0),
        lambda: ewma(EWMA_X, 50, 1, 0),
        lambda: ewma(EWMA_X, 50, 1, 1.1),
        lambda: cusum(CUSUM_X, 325, -1, 5),
        lambda: cusum(CUSUM_X, 325, 1, 0),
    ],
)
def test_what_can_not_be_charted_is_refused(wrong):
    with pytest.raises(ValueError, match=r"\w+"):
        wrong()
