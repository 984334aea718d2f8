"""What can be made to go wrong on purpose."""

import random
from dataclasses import dataclass


@dataclass
class Faults:
    """The faults that are on now. Rates are probabilities from 0 to 1 for each character or transfer."""

    disc_rate: float = 0.0
    garble_in_rate: float = 0.0
    garble_out_rate: float = 0.0
    lose_in_rate: float = 0.0
    lose_out_rate: float = 0.0
    lookalike: bool = False
    echo_word: bool = False
    slow_echo_us: int = 0


class BadLine:
    """Loses and garbles characters at the given rates, with the machine's own dice."""

    def __init__(self, faults: Faults, dice: random.Random) -> None:
        self._faults = faults
        self._dice = dice

    def inward(self, byte: int) -> int | None:
        """The character as it arrives: perhaps with one bit changed, perhaps None."""
        return self._spoil(byte, self._faults.lose_in_rate, self._faults.garble_in_rate)

    def outward(self, byte: int) -> int | None:
        """The character as it leaves the line at the far end."""
        return self._spoil(byte, self._faults.lose_out_rate, self._faults.garble_out_rate)

    def _spoil(self, byte: int, lose_rate: float, garble_rate: float) -> int | None:
        if lose_rate and self._dice.random() < lose_rate:
            return None
        if garble_rate and self._dice.random() < garble_rate:
            return byte ^ (1 << self._dice.randrange(7))
        return byte
