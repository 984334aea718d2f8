"""Lasting changes: found soon where they are, and found by chance as seldom as the charts' published rates
say.
"""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
from scipy import stats

from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.drift import (
    DEVIATIONS,
    LIMIT,
    SIGNALLING,
    SLACK,
    VALUES_A_FALSE_CUSUM,
    VALUES_A_FALSE_EWMA,
    WEIGHT,
    Drift,
    drift,
    sequential_scores,
)


def found(values: list[float], **options: float) -> Drift:
    result = drift(values, **options)
    assert isinstance(result, Drift)
    return result


def run_length(moves: np.ndarray, start: int) -> float:
    """The mean number of steps until a Markov chain leaves its states."""
    return float(np.linalg.solve(np.eye(len(moves)) - moves, np.ones(len(moves)))[start])


def cusum_run_length(slack: float, limit: float) -> float:
    """Brook and Evans' Markov chain (Biometrika 59, 1972, 539-549) with 400 states; two sides halve it."""
    states = 400
    width, place = limit / (states - 0.5), np.arange(states)
    middles = (place[None, :] - place[:, None]) * width + slack
    above, below = stats.norm.cdf(middles + width / 2), stats.norm.cdf(middles - width / 2)
    below[:, 0] = 0
    return run_length(above - below, 0) / 2


def ewma_run_length(weight: float, deviations: float) -> float:
    """The same chain for an EWMA chart."""
    states = 401
    edge = deviations * math.sqrt(weight / (2 - weight))
    width = 2 * edge / states
    middles = -edge + (np.arange(states) + 0.5) * width
    steps, half = (middles[None, :] - (1 - weight) * middles[:, None]) / weight, width / weight / 2
    return run_length(stats.norm.cdf(steps + half) - stats.norm.cdf(steps - half), states // 2)


def test_the_computed_run_lengths_are_the_published_ones():
    # CUSUM with k 0.5 and h 5: 465 (both sides); EWMA with weight 0.2 and 2.962 deviations: 500 (J. M.
    # Lucas and M. S. Saccucci, Technometrics 32, 1990, 1-12). Both from memory.
    assert cusum_run_length(0.5, 5) == pytest.approx(465, rel=0.002)
    assert ewma_run_length(0.2, 2.962) == pytest.approx(500, rel=0.002)


def test_the_charts_of_normal_values_are_wrong_as_seldom_as_stated():
    assert cusum_run_length(SLACK, LIMIT) == pytest.approx(VALUES_A_FALSE_CUSUM, rel=0.005)
    assert ewma_run_length(WEIGHT, DEVIATIONS) == pytest.approx(VALUES_A_FALSE_EWMA, rel=0.005)


def test_the_charts_of_normal_values_signal_at_one_time_in_800():
    # Simulated, a million values; batches of a thousand give the error of the share.
    values = np.random.default_rng(7).standard_normal(1_000_000)
    high = low = mean = 0.0
    signals = []
    edge = DEVIATIONS * math.sqrt(WEIGHT / (2 - WEIGHT))
    for value in values.tolist():
        high, low = max(0.0, high + value - SLACK), max(0.0, low - value - SLACK)
        mean += WEIGHT * (value - mean)
        signals.append(high > LIMIT or low > LIMIT or abs(mean) > edge)
    shares = np.array(signals).reshape(1000, 1000).mean(axis=1)
    assert shares.mean() == pytest.approx(SIGNALLING, abs=4 * shares.std() / math.sqrt(1000))


def test_scores_are_those_of_the_ranks_so_far():
    # Worked by hand: ranks 1, 2, 1, 3 of 1, 2, 3, 4 values; then an equal one, whose two ranks are 3 and 4
    # of 5.
    points = [1 / 2, 1.5 / 2, 0.5 / 3, 2.5 / 4, 3 / 5]
    assert sequential_scores([5.0, 9.0, 2.0, 6.0, 6.0]) == pytest.approx(list(stats.norm.ppf(points)))


def test_scores_are_scipys_ranks():
    dice = random.Random(4)
    values = [float(dice.randrange(30)) for _ in range(80)]
    expected = [
        stats.norm.ppf((stats.rankdata(values[: place + 1])[-1] - 0.5) / (place + 1)) for place in range(80)
    ]
    assert sequential_scores(values) == pytest.approx(expected)


def test_scores_depend_on_the_order_of_the_values_alone():
    dice = random.Random(8)
    values = [dice.gauss(0, 1) for _ in range(50)]
    assert sequential_scores(values) == sequential_scores([math.exp(3 * value) for value in values])


def test_a_slow_drift_is_found_and_its_beginning_too():
    # 20 days as ever, then each day half a deviation slower than the one before; over 200 seeds.
    began, wrong = [], 0
    for seed in range(200):
        dice = random.Random(seed)
        values = [8 + 0.1 * max(0, day - 19) + dice.gauss(0, 0.2) for day in range(34)]
        change = found(values).change
        if change is None or not change.up or not change.in_latest:
            wrong += 1
        else:
            began.append(change.began)
    assert wrong <= 10
    # Twice in three the beginning is told to within four days of the true one.
    assert 18 <= sorted(began)[95] <= 23
    assert sum(16 <= one <= 24 for one in began) >= 133


def test_before_and_after_are_in_the_units_of_the_values():
    change = found(
        [8.0 + 0.01 * (day * 7 % 11) for day in range(20)] + [9.0 + 0.01 * day for day in range(12)]
    ).change
    assert change is not None
    assert (change.before, change.after) == pytest.approx((8.05, 9.055), abs=0.011)


def test_a_drift_that_was_there_from_the_beginning_is_found():
    dice = random.Random(2)
    change = found([8 + 0.2 * day + dice.gauss(0, 0.1) for day in range(20)]).change
    assert change is not None
    assert change.up


def test_a_step_that_became_quicker_is_told_from_one_that_became_slower():
    values = [8.0 + 0.01 * (place * 7 % 11) for place in range(22)]
    change = found(values + [value - 1 for value in values]).change
    assert change is not None
    assert not change.up
    assert 20 <= change.began <= 23


def test_a_single_slow_run_is_no_lasting_change():
    changed = 0
    for seed in range(200):
        dice = random.Random(seed)
        values = [dice.gauss(8, 0.2) for _ in range(40)]
        values[25] = 30.0
        changed += found(values).change is not None
    # No oftener than without it: 2.3 in 100.
    assert changed <= stats.binom.ppf(0.999, 200, found([1.0] * 40).expected_false)


def test_of_two_changes_the_latest_is_told_and_one_that_is_over_is_called_so():
    level = [8.0 + 0.01 * (day * 7 % 11) for day in range(40)]
    high = [value + 1 for value in level]
    there = found([*level, *high[:15]]).change
    assert there is not None
    assert there.in_latest
    assert 39 <= there.began <= 41
    back = found([*level, *high[:15], *level]).change
    assert back is not None
    assert not back.in_latest


@pytest.mark.parametrize("shape", ["normal", "long tail", "two kinds"])
def test_good_sequences_are_called_changed_no_oftener_than_stated(shape):
    # 1,500 sequences of 40 runs: 40 (1/3483 + 1/3442) = 2.3 in 100 at most; the 0.999 point for that.
    dice = random.Random(17)
    draw = {
        "normal": lambda: dice.gauss(8, 0.2),
        "long tail": lambda: dice.lognormvariate(2, 0.5),
        "two kinds": lambda: 8.0 + (dice.random() < 0.3) + dice.random() / 50,
    }[shape]
    changed = sum(found([draw() for _ in range(40)]).change is not None for _ in range(1500))
    assert changed <= stats.binom.ppf(0.999, 1500, found([1.0] * 40).expected_false)


def test_values_that_never_differ_have_no_drift():
    assert found([20.0] * 200).change is None


def test_what_can_not_be_measured_is_no_drift():
    # A simulated machine in virtual time, whose step takes a microsecond longer each day.
    values = [20.0 + day * 1e-6 for day in range(40)]
    assert found(values).change is not None
    assert found(values, finest=0.01).change is None


@pytest.mark.parametrize("count", [0, 9])
def test_too_few_runs_are_not_judged_and_it_says_so(count):
    result = drift([float(place) for place in range(count)], "runs")
    assert isinstance(result, TooFew)
    assert f"too little data ({count} runs of 10)" in result.line


def test_it_says_what_it_rests_on():
    line = found([1.0, 2.0] * 6).basis.line
    assert "sequential normal scores; n = 12 values; assumes independent values in the order of time" in line


def test_a_negative_resolution_is_refused():
    with pytest.raises(ValueError, match="negative"):
        drift([1.0] * 20, finest=-1)


def test_in_a_long_sequence_the_scores_signal_as_often_as_normal_values():
    # 40 sequences of 4,000 values with a long tail. Each gives one share; four errors of their mean.
    dice = random.Random(23)
    shares = []
    for _ in range(40):
        result = found([dice.lognormvariate(2, 0.8) for _ in range(4000)])
        shares.append(len({*result.cusum.signals, *result.ewma.signals}) / 4000)
    error = float(np.std(shares)) / math.sqrt(len(shares))
    assert float(np.mean(shares)) == pytest.approx(SIGNALLING, abs=4 * error)
    assert error < SIGNALLING / 2
