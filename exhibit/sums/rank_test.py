"""Whether two groups of values differ by more than chance, by their ranks alone: the exact rank-sum test.

All values are ranked together, and equal ones share the mean of their ranks. If both groups come from one
distribution, every choice of which ranks belong to the first group is equally likely. The chance is the
share of the choices whose sum is at least as far from its mean as the one found (F. Wilcoxon, Biometrics
Bulletin 1, 1945, 80-83; H. B. Mann and D. R. Whitney, Annals of Mathematical Statistics 18, 1947, 50-60: from
memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import comb
from typing import Final

import msgspec

MOST_EXACT: Final = 40
"""Of larger groups, so many values spread evenly over their order count: more would take minutes."""


class RankTest(msgspec.Struct, frozen=True, kw_only=True):
    """The result. `chance` is p, two-sided."""

    first: int
    second: int
    """How many values of each group counted."""
    chance: float
    least: float
    """The smallest chance that groups of this size can give; above 0.05 they can tell nothing."""

    @property
    def line(self) -> str:
        """What it rests on."""
        return (
            f"Exact rank-sum test, two-sided; n = {self.first} and {self.second} runs; assumes that runs are "
            "independent of each other."
        )


def rank_test(first: Sequence[float], second: Sequence[float]) -> RankTest:
    """Compares two groups, in their order in time. Raises ValueError if one is empty."""
    if not first or not second:
        raise ValueError("each group needs a value")
    one, other = _thinned(first), _thinned(second)
    ranks = _doubled_ranks([*one, *other])
    mean = len(one) * (len(ranks) + 1)  # of the doubled sums
    distance = abs(sum(ranks[: len(one)]) - mean)
    far = sum(count for total, count in _sums(ranks, len(one)).items() if abs(total - mean) >= distance)
    chance = far / comb(len(ranks), len(one))
    return RankTest(first=len(one), second=len(other), chance=chance, least=_least(len(one), len(other)))


def holm(chances: Sequence[float]) -> list[float]:
    """The chances corrected for how many were looked at (S. Holm, Scandinavian Journal of Statistics 6, 1979,
    65-70: from memory): then one below 0.05 in all of them is as rare as a single one was."""
    order = sorted(range(len(chances)), key=lambda place: chances[place])
    corrected, highest = [0.0] * len(chances), 0.0
    for number, place in enumerate(order):
        highest = max(highest, min(1.0, (len(chances) - number) * chances[place]))
        corrected[place] = highest
    return corrected


def _least(first: int, second: int) -> float:
    return min(1.0, 2 / comb(first + second, first))


def _thinned(values: Sequence[float]) -> list[float]:
    if len(values) <= MOST_EXACT:
        return [*values]
    return [values[place * len(values) // MOST_EXACT] for place in range(MOST_EXACT)]


def _doubled_ranks(values: Sequence[float]) -> list[int]:
    """Twice the rank of each value, which is whole although equal ones share the mean of theirs."""
    order = sorted(values)
    first = {value: place for place, value in reversed([*enumerate(order)])}
    last = {value: place for place, value in enumerate(order)}
    return [first[value] + last[value] + 2 for value in values]


def _sums(ranks: Sequence[int], size: int) -> dict[int, int]:
    """How many choices of `size` of the ranks have each sum.

    The counts for each number of chosen ranks are packed into one large whole number, a field for each sum,
    so that adding a rank is a shift and an addition.
    """
    width = comb(len(ranks), size).bit_length() + 1
    packed = [1, *[0] * size]
    for number, rank in enumerate(ranks):
        for chosen in range(min(size, number + 1), 0, -1):
            packed[chosen] += packed[chosen - 1] << (rank * width)
    data = packed[size].to_bytes(packed[size].bit_length() // 8 + 1, "little")
    mask = (1 << width) - 1
    found: dict[int, int] = {}
    for total in range(len(data) * 8 // width + 1):
        start, shift = divmod(total * width, 8)
        field = int.from_bytes(data[start : start + width // 8 + 2], "little") >> shift & mask
        if field:
            found[total] = field
    return found
