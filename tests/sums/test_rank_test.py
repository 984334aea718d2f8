"""The exact rank-sum test against counting by hand, scipy, and all choices one by one."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from exhibit.sums.rank_test import MOST_EXACT, holm, rank_test

GROUP = st.lists(st.integers(0, 6).map(float), min_size=1, max_size=6)


def by_hand(first, second):
    """The share of all choices that are as far from the mean, chosen one by one."""
    both = [*first, *second]
    ranks = [
        sum(other < value for other in both) + (sum(other == value for other in both) + 1) / 2
        for value in both
    ]
    mean = len(first) * (len(both) + 1) / 2
    found = abs(sum(ranks[: len(first)]) - mean)
    sums = [sum(ranks[place] for place in chosen) for chosen in combinations(range(len(both)), len(first))]
    return sum(abs(one - mean) >= found - 1e-9 for one in sums) / len(sums)


def test_three_against_three_that_don_t_overlap():
    """Of the 20 choices of 3 ranks out of 6, two are as extreme: 2/20."""
    assert rank_test([1, 2, 3], [4, 5, 6]).chance == pytest.approx(0.1)


@settings(max_examples=150)
@given(first=GROUP, second=GROUP)
def test_it_agrees_with_all_choices_one_by_one_also_where_values_are_equal(first, second):
    assert rank_test(first, second).chance == pytest.approx(by_hand(first, second))


@pytest.mark.parametrize("seed", range(5))
def test_it_agrees_with_scipy_where_no_values_are_equal(seed):
    import numpy
    from scipy.stats import mannwhitneyu

    values = numpy.random.default_rng(seed).permutation(35).astype(float)
    first, second = [*values[:17]], [*(values[17:] + seed * 0.5)]
    expected = mannwhitneyu(first, [one + 0.01 for one in second], method="exact").pvalue
    assert rank_test(first, [one + 0.01 for one in second]).chance == pytest.approx(expected)


def test_groups_so_small_that_they_can_tell_nothing_say_so():
    assert rank_test([1], [2]).least == 1.0
    assert rank_test([1, 2, 3], [4, 5, 6]).least == pytest.approx(0.1)
    assert rank_test([1, 2, 3, 4], [5, 6, 7, 8]).least == pytest.approx(2 / 70)


def test_the_order_and_the_side_don_t_matter():
    first, second = [3.0, 1.0, 2.0, 2.5], [9.0, 2.0, 7.0]
    assert rank_test(first, second).chance == pytest.approx(rank_test(second, first[::-1]).chance)


def test_groups_of_thousands_are_thinned_evenly_and_done_at_once():
    found = rank_test(
        [float(one % 100) for one in range(5000)], [float(one % 100 + 60) for one in range(5000)]
    )
    assert (found.first, found.second) == (MOST_EXACT, MOST_EXACT)
    assert found.chance < 0.001


def test_an_empty_group_is_refused():
    with pytest.raises(ValueError, match="needs a value"):
        rank_test([], [1.0])


def test_many_looked_at_together_are_corrected_for_it():
    """Holm's method: the smallest times how many there are, the next times one less, never falling."""
    assert holm([0.01, 0.04, 0.03]) == pytest.approx([0.03, 0.06, 0.06])
    assert holm([0.9, 0.8]) == [1.0, 1.0]
    assert holm([]) == []
