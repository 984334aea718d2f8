"""Tides from harmonic constituents, computed in whole numbers as a 24-bit machine would.

Angles are fractions of a turn in a double word of 48 bits, so that they wrap round by themselves;
the cosine is a polynomial in fixed point. Floating point and libraries are not used.

The constituents' speeds are physical facts: they follow from the mean motions of moon and sun
(the tests derive them from those). The harbour does not exist: its amplitudes and phases are invented, but
those of S2 and K2 are such that springs come a day and a half after new and full moon, and are greatest
near the equinoxes. The moon's cycle of 18.6 years is left out, and so is the weather.
"""

from dataclasses import dataclass

TURN = 1 << 48
ONE = 1 << 24
HALF_PI = 26_353_589
"""pi/2 in 24-bit fixed point."""


@dataclass(frozen=True)
class Constituent:
    """One harmonic: its speed in 1e-7 degree an hour, amplitude, and phase at 1970-01-01 00.00."""

    name: str
    speed_1e7: int
    amplitude_mm: int
    phase_deg: int

    @property
    def turn_a_minute(self) -> int:
        """The angle by which it turns in a minute, in units of 2**-48 turn."""
        return (self.speed_1e7 * TURN + 108_000_000_000) // 216_000_000_000


MEAN_LEVEL_MM = 2_950
SALLOWMOUTH_BAR = (
    Constituent("M2", 289_841_042, 1_720, 143),
    Constituent("S2", 300_000_000, 560, 302),
    Constituent("N2", 284_397_295, 340, 118),
    Constituent("K2", 300_821_373, 155, 142),
    Constituent("K1", 150_410_686, 95, 37),
    Constituent("O1", 139_430_356, 80, 312),
    Constituent("P1", 149_589_314, 31, 76),
    Constituent("M4", 579_682_084, 90, 229),
)


def cosine(angle: int) -> int:
    """The cosine of `angle` (2**-48 turn, any whole number), in 24-bit fixed point; within 4 units."""
    angle %= TURN
    quarter, rest = divmod(angle, TURN // 4)
    if quarter in (1, 3):
        rest = TURN // 4 - rest
    x = rest * HALF_PI // (TURN // 4)
    square = x * x // ONE
    # The cosine's power series, from the inside out; at a quarter turn its seventh term is below 2**-24.
    sum_ = ONE
    for divisor in (182, 132, 90, 56, 30, 12, 2):
        sum_ = ONE - square * sum_ // (ONE * divisor)
    return -sum_ if quarter in (1, 2) else sum_


def height_mm(minute: int) -> int:
    """The height of the tide above chart datum, `minute` minutes after 1970-01-01 00.00."""
    sum_ = MEAN_LEVEL_MM * ONE
    for each in SALLOWMOUTH_BAR:
        sum_ += each.amplitude_mm * cosine(_angle(each, minute))
    return (sum_ + ONE // 2) // ONE


def rate(minute: int) -> int:
    """How fast the tide rises at that minute, in an arbitrary unit; negative when it falls."""
    sum_ = 0
    for each in SALLOWMOUTH_BAR:
        # The sine is the cosine a quarter of a turn back.
        sum_ -= each.amplitude_mm * each.speed_1e7 * cosine(_angle(each, minute) - TURN // 4)
    return sum_


def turn_between(early: int, late: int) -> int:
    """The minute nearest to the turn of the tide, between two minutes whose rates differ in sign."""
    rising = rate(early) > 0
    while late - early > 1:
        middle = (early + late) // 2
        if (rate(middle) > 0) == rising:
            early = middle
        else:
            late = middle
    return early if abs(rate(early)) <= abs(rate(late)) else late


def _angle(each: Constituent, minute: int) -> int:
    return each.phase_deg * TURN // 360 + each.turn_a_minute * minute


def metres(mm: int) -> str:
    """Millimetres as metres with two places, at least five characters wide."""
    hundredths = (abs(mm) + 5) // 10
    sign = "-" if mm < 0 and hundredths else ""
    return f"{sign}{hundredths // 100}.{hundredths % 100:02d}".rjust(5)
