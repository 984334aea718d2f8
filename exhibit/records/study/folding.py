"""Folds the stretches of a day in which nothing happened, so that the rest has room on its line."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple

from exhibit.facts.units import S_US

LEAST_FOLDED_US: Final = 120 * S_US
"""Shorter silences aren't folded."""
LEAST_SHARE: Final = 0.01
"""Nor are those that take less than this part of the day: they are in nobody's way."""
KEPT_US: Final = 5 * S_US
"""How much of a silence is shown at both its ends."""


class Fold(NamedTuple):
    """A silence that is folded, by the recording's clock."""

    from_us: int
    to_us: int


def folds(busy: Iterable[tuple[int, int]], start_us: int, end_us: int) -> list[Fold]:
    """The silences to fold between these two times. `busy` are the times, from and to, that aren't silent."""
    least_us = max(LEAST_FOLDED_US, int((end_us - start_us) * LEAST_SHARE))
    found = []
    quiet_us = start_us
    for from_us, to_us in sorted(busy):
        if from_us - quiet_us >= least_us:
            found.append(Fold(quiet_us + KEPT_US, from_us - KEPT_US))
        quiet_us = max(quiet_us, to_us)
    if end_us - quiet_us >= least_us:
        found.append(Fold(quiet_us + KEPT_US, end_us))
    return found
