"""A model of noise on a line, in one direction, with a chance for each kind of damage to a character.

Each character is damaged independently of the others, and at most one thing happens to it. Random noise
behaves like this; a burst, a loose plug or the wrong speed does worse, which this model doesn't cover.
"""

from __future__ import annotations

from collections import defaultdict
from functools import lru_cache
from typing import Final

import msgspec

PRINTABLE: Final = range(0x20, 0x7F)
SEVEN_BITS: Final = 0x7F
ALL_OF_SEVEN_BITS: Final = tuple(range(128))

Arrived = tuple[int, ...]
"""What arrives when one character was sent: no, one or two characters of seven bits."""


class Noise(msgspec.Struct, frozen=True, kw_only=True):
    """Chances from 0 to 1 of each kind of damage to a character. Raises ValueError if their sum exceeds 1.

    Only seven bits of a character matter here, because both machine and computer drop the eighth. A machine
    that checks parity rejects a character with one wrong bit, so `flipped` is then 0 on the way to it.
    """

    lost: float = 0.0
    doubled: float = 0.0
    flipped: float = 0.0
    """One bit is changed; all of `bits` are equally likely."""
    replaced: float = 0.0
    """A byte of `by` arrives instead; all are equally likely, and it can be the same one by chance."""
    garbled: float = 0.0
    """Another printable character arrives; all are equally likely."""
    bits: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6)
    by: tuple[int, ...] = ALL_OF_SEVEN_BITS

    def __post_init__(self) -> None:
        chances = (self.lost, self.doubled, self.flipped, self.replaced, self.garbled)
        if min(chances) < 0 or sum(chances) > 1:
            raise ValueError("each chance of damage, and their sum, must be from 0 to 1")


class Way:
    """One direction of a line, with its noise. It caches its results."""

    def __init__(self, noise: Noise) -> None:
        self.noise = noise
        self._arrivals: dict[int, dict[Arrived, float]] = {}

    def arrivals(self, character: int) -> dict[Arrived, float]:
        """Return everything that can arrive for a character of seven bits, with chances that add up to 1."""
        known = self._arrivals.get(character)
        if known is None:
            known = self._arrivals[character] = _arrivals(self.noise, character)
        return known


@lru_cache(maxsize=64)
def way_with(noise: Noise) -> Way:
    """Return the direction with this noise, from a cache."""
    return Way(noise)


def _arrivals(noise: Noise, character: int) -> dict[Arrived, float]:
    found: defaultdict[Arrived, float] = defaultdict(float)
    found[character,] += 1 - noise.lost - noise.doubled - noise.flipped - noise.replaced - noise.garbled
    found[()] += noise.lost
    found[character, character] += noise.doubled
    for bit in noise.bits:
        found[(character ^ 1 << bit) & SEVEN_BITS,] += noise.flipped / len(noise.bits)
    for other in noise.by:
        found[other & SEVEN_BITS,] += noise.replaced / len(noise.by)
    others = [other for other in PRINTABLE if other != character]
    for other in others:
        found[other,] += noise.garbled / len(others)
    return {arrived: chance for arrived, chance in found.items() if chance > 0}
