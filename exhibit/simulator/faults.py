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
