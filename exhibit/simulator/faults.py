"""What can be made to go wrong on purpose."""

import random
from dataclasses import dataclass, field

MINUTE_US = 60_000_000
WARMS_FROM_US, WARM_US = 20 * MINUTE_US, 40 * MINUTE_US
"""When a drive with a fault that comes with warmth begins to fail, and when it fails as often as it will."""


@dataclass
class Faults:
    """The faults that are on now. Rates are probabilities from 0 to 1 for each character or transfer."""

    disc_rate: float = 0.0
    warm_disc_rate: float = 0.0
    """The same once a drive is warm: 0 up to WARMS_FROM_US after it came to speed, all from WARM_US on."""
    garble_in_rate: float = 0.0
    garble_out_rate: float = 0.0
    lose_in_rate: float = 0.0
    lose_out_rate: float = 0.0
    lookalike: bool = False
    echo_word: bool = False
    slow_echo_us: int = 0
    slow_starts: dict[str, float] = field(default_factory=dict)
    """By drive: how many times as long as usual it takes to come up to speed."""

    def disc_rate_after(self, turning_us: int) -> float:
        """How likely a transfer fails on a drive that came up to speed so long ago."""
        warmth = (turning_us - WARMS_FROM_US) / (WARM_US - WARMS_FROM_US)
        return min(1.0, self.disc_rate + self.warm_disc_rate * min(1.0, max(0.0, warmth)))

    def clear(self) -> None:
        """Turn all of them off."""
        self.__dict__.update(Faults().__dict__)


class BadLine:
    """Loses and garbles characters at the given rates, by throwing the dice it was given."""

    def __init__(self, faults: Faults, dice: random.Random) -> None:
        self._faults = faults
        self._dice = dice

    def inward(self, byte: int) -> int | None:
        """What reaches the machine: the character, perhaps with one bit changed, or None if it is lost."""
        return self._spoil(byte, self._faults.lose_in_rate, self._faults.garble_in_rate)

    def outward(self, byte: int) -> int | None:
        """What reaches the far end of the line: the same for a character that the machine sent."""
        return self._spoil(byte, self._faults.lose_out_rate, self._faults.garble_out_rate)

    def _spoil(self, byte: int, lose_rate: float, garble_rate: float) -> int | None:
        if lose_rate and self._dice.random() < lose_rate:
            return None
        if garble_rate and self._dice.random() < garble_rate:
            return byte ^ (1 << self._dice.randrange(7))
        return byte
