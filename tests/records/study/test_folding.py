"""Only long silences are folded, and never a moment at which something happened."""

from __future__ import annotations

import random

from exhibit.facts.units import H_US, MIN_US, S_US
from exhibit.records.study.folding import KEPT_US, folds


def test_a_silence_of_hours_is_folded_but_for_its_ends() -> None:
    assert folds([(0, 10 * MIN_US), (5 * H_US, 6 * H_US)], 0, 6 * H_US) == [
        (10 * MIN_US + KEPT_US, 5 * H_US - KEPT_US)
    ]


def test_a_short_silence_is_not_folded() -> None:
    assert folds([(0, MIN_US), (2 * MIN_US, 3 * MIN_US)], 0, 3 * MIN_US) == []


def test_a_recording_in_which_nothing_happens_at_its_end_is_folded_there() -> None:
    assert folds([(0, S_US)], 0, H_US) == [(S_US + KEPT_US, H_US)]


def test_no_moment_at_which_something_happened_is_ever_folded() -> None:
    chance = random.Random(1313)
    for _ in range(200):
        busy = []
        for _ in range(chance.randrange(12)):
            from_us = chance.randrange(8 * H_US)
            busy.append((from_us, from_us + chance.randrange(20 * MIN_US)))
        folded = folds(busy, 0, 9 * H_US)
        assert all(a < b for a, b in folded)
        assert all(b <= c for (_, b), (c, _) in zip(folded, folded[1:], strict=False))
        for from_us, to_us in busy:
            assert not any(a < to_us and from_us < b for a, b in folded)
            assert not any(a <= from_us <= b for a, b in folded)
