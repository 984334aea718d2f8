"""Calculates how large text looks from a distance, and how large it should look.

The size of text is the height of its capitals. To the eye it is an angle, in minutes of arc:
`angle = 2 atan(height / 2 distance)`. ISO 9241-303:2011, clause 5.5, requires at least 16 minutes, and
prefers 20 to 22. A sign on a wall can be read against the light and in passing, so the 2010 ADA Standards,
703.5.5, require more, depending on its height above the floor and the distance. All lengths are millimetres.
"""

from __future__ import annotations

import math
from typing import Final

LEAST_ARCMIN: Final = 16.0
"""The minimum of ISO 9241-303:2011, clause 5.5."""
GOOD_ARCMIN: Final = 22.0
"""The upper end of what that clause prefers, required here of what is read from the given distance."""
INCH_MM: Final = 25.4
FOOT_MM: Final = 12 * INCH_MM

CENTRE_LOWEST_MM: Final = 1220.0
CENTRE_BEST_MM: Final = 1370.0
CENTRE_HIGHEST_MM: Final = 1675.0
"""The middle of what hangs on a wall: Smithsonian Guidelines for Accessible Exhibition Design, 1220 to 1675
mm above the floor, with 1370 as the best for everyone, standing or in a wheelchair."""
REACH_LOWEST_MM: Final = 380.0
REACH_HIGHEST_MM: Final = 1220.0
"""What somebody in a wheelchair can touch: 15 to 48 inches, 2010 ADA Standards, 308.2.1 (from memory)."""


def angle_arcmin(height_mm: float, distance_mm: float) -> float:
    """Return the angle that something of this height takes. Raises ValueError unless both are above 0."""
    if height_mm <= 0 or distance_mm <= 0:
        raise ValueError("a height and a distance must be above 0")
    return math.degrees(2 * math.atan(height_mm / (2 * distance_mm))) * 60


def height_mm(angle_arcmin: float, distance_mm: float) -> float:
    """Return the height that takes this angle. Raises ValueError unless both are above 0."""
    if angle_arcmin <= 0 or distance_mm <= 0:
        raise ValueError("an angle and a distance must be above 0")
    return 2 * distance_mm * math.tan(math.radians(angle_arcmin / 60) / 2)


def farthest_mm(letter_mm: float, angle_arcmin: float) -> float:
    """Return the distance from which a letter takes this angle. Raises ValueError unless both are above 0."""
    if letter_mm <= 0 or angle_arcmin <= 0:
        raise ValueError("a height and an angle must be above 0")
    return letter_mm / (2 * math.tan(math.radians(angle_arcmin / 60) / 2))


def sign_letter_mm(baseline_mm: float, distance_mm: float) -> float:
    """Return the minimum height of a sign's capitals by the 2010 ADA Standards, table 703.5.5.

    `baseline_mm` is the height of the text above the floor. Below 40 inches (1015 mm) the table says
    nothing, and its lowest row is used.
    """
    baseline_in, distance_in = baseline_mm / INCH_MM, distance_mm / INCH_MM
    if baseline_in <= 70:
        least_in, from_in = 5 / 8, 72
    elif baseline_in <= 120:
        least_in, from_in = 2.0, 180
    else:
        least_in, from_in = 3.0, 252
    return (least_in + max(0.0, distance_in - from_in) / 12 / 8) * INCH_MM


def screen_mm(diagonal_mm: float, across: int, down: int) -> tuple[float, float]:
    """Return width and height of a screen of `across` by `down` square pixels.

    Raises ValueError unless all are above 0.
    """
    if diagonal_mm <= 0 or across <= 0 or down <= 0:
        raise ValueError("the size and the pixels of a screen must be above 0")
    whole = math.hypot(across, down)
    return diagonal_mm * across / whole, diagonal_mm * down / whole
