"""What noise on a line may do to a character on its way: a model, one way, with a chance for each damage.

Each character is damaged independently of the others, and at most one thing happens to it. That is how
noise at random behaves; a burst, a loose plug or the wrong speed does worse, and no model covers it.
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
"""What arrives for one character: none, one or two characters of seven bits."""


class Noise(msgspec.Struct, frozen=True, kw_only=True):
    """Chances from 0 to 1 that a character is damaged so on its way. Raises ValueError above 1 in all.

    Only seven bits of a character matter here: machine and computer alike drop the eighth. A machine that
    checks parity takes no character with one bit changed: then leave `flipped` out on the way to it.
    """

    lost: float = 0.0
    doubled: float = 0.0
    flipped: float = 0.0
    """One bit is changed, each of `bits` as likely as the others."""
    replaced: float = 0.0
    """Another byte comes, each of `by` as likely as the others; it may be the same by chance."""
    garbled: float = 0.0
    """Another printable character comes, each as likely as the others."""
    bits: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6)
    by: tuple[int, ...] = ALL_OF_SEVEN_BITS

    def __post_init__(self) -> None:
        chances = (self.lost, self.doubled, self.flipped, self.replaced, self.garbled)
        if min(chances) < 0 or sum(chances) > 1:
            raise ValueError("the chances of all damages lie between 0 and 1, and so does their sum")


class Way:
    """One way of a line, with its noise. It remembers what it has worked out."""

    def __init__(self, noise: Noise) -> None:
        self.noise = noise
        self._arrivals: dict[int, dict[Arrived, float]] = {}

    def arrivals(self, character: int) -> dict[Arrived, float]:
        """All that may arrive for a character of seven bits, with its chance; the chances add up to 1."""
        known = self._arrivals.get(character)
        if known is None:
            known = self._arrivals[character] = _arrivals(self.noise, character)
        return known


@lru_cache(maxsize=64)
def way_with(noise: Noise) -> Way:
    """The way with this noise."""
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
