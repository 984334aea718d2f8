"""Works out how large text and buttons are on a given screen, and how high its buttons are above the floor.

The figures are those of web/visitor/screens.js and kiosk.css, and a test measures them in a browser. A page
that is opened for a named screen is laid out in units, 1920 across and 1080 down (portrait: 1080 and 1920).
So it looks the same however many pixels there are. Captions are as large as the screen's distance wants.
"""

from __future__ import annotations

import math
from typing import Final

import msgspec

from exhibit.facts.parts_and_cards import Screen
from exhibit.sums import type_size as sizes

CAPTION_FACE: Final = 0.668
CONSOLE_FACE: Final = 0.67
"""The height of a capital, as a fraction of the type size, in the typeface of each."""
WIDTH: Final = 0.53
"""The width of a letter in captions, as a fraction of the type size: a little more than the average."""
LINE: Final = 1.11
"""The line height of a caption, as a multiple of its type size."""
SPARE: Final = 20.0
"""What the caption's space has below its lines, in units."""
SMALLER: Final = 0.96
"""A caption that doesn't fit becomes smaller by this factor until it does."""
TOUCH_MM: Final = 20.0
"""The width and height of a button (our own choice)."""
MM_IN_A_CM: Final = 10.0


class _Layout(msgspec.Struct, frozen=True):
    """How the page is laid out, in units."""

    across: int
    down: int
    least_caption: float
    most_caption: float
    story_across: int
    """How wide a line of a caption can be."""
    story_lines: int
    one_line_more: float
    """Captions of a larger type size than this have space for one line more."""
    controls: tuple[tuple[float, float], ...]
    """Where the buttons can be, as parts of the height from the top. The page takes the first in reach."""


LAYOUTS: Final = {
    "landscape": _Layout(1920, 1080, 88, 132, 1792, 2, 96, ((0, 88 / 1080), (1004 / 1080, 1))),
    "portrait": _Layout(1080, 1920, 98, 150, 968, 4, 110, ((1844 / 1920, 1),)),
}


class Kind(msgspec.Struct, frozen=True):
    """A kind of text on the page, and the height of its capitals."""

    name: str
    letter_mm: float
    from_afar: bool
    """Whether it must be readable from the given distance; other text is for people who come near."""


def unit_mm(screen: Screen) -> float:
    """Return the size of a unit: the page is as large as the screen's shape allows."""
    layout = LAYOUTS[screen.layout]
    return min(screen.width_cm / layout.across, screen.height_cm / layout.down) * MM_IN_A_CM


def diagonal_inches(screen: Screen) -> float:
    """Return the diagonal of the picture."""
    return math.hypot(screen.width_cm, screen.height_cm) * MM_IN_A_CM / sizes.INCH_MM


def kinds_of(screen: Screen) -> list[Kind]:
    """Return the kinds of text other than captions."""
    units = {"the badge": 48, "the kind of caption": 28, "tables and cards": 24, "notes": 22}
    letters_mm = {name: size * unit_mm(screen) * CAPTION_FACE for name, size in units.items()}
    kinds = [Kind(name, mm, from_afar=name == "the badge") for name, mm in letters_mm.items()]
    return [*kinds, Kind("the console", 17 * unit_mm(screen) * CONSOLE_FACE, from_afar=False)]


def wanted_caption_units(screen: Screen) -> float:
    """Return the type size of captions at the screen's distance, within what its layout has room for."""
    layout = LAYOUTS[screen.layout]
    capital_mm = sizes.height_mm(sizes.GOOD_ARCMIN, screen.distance_cm * MM_IN_A_CM)
    return min(layout.most_caption, max(layout.least_caption, capital_mm / unit_mm(screen) / CAPTION_FACE))


def caption_units(screen: Screen, words: str) -> float:
    """Return the type size of a caption of these words: the wanted one, or what fits if it is longer."""
    layout = LAYOUTS[screen.layout]
    wanted = size = wanted_caption_units(screen)
    lines = layout.story_lines + (1 if wanted > layout.one_line_more else 0)
    room = lines * LINE * wanted + SPARE
    while _lines(words, int(layout.story_across / (WIDTH * size))) * LINE * size > room:
        size *= SMALLER
    return size


def caption_mm(screen: Screen, words: str) -> float:
    """Return the height of the capitals in a caption of these words."""
    return caption_units(screen, words) * unit_mm(screen) * CAPTION_FACE


def touch_mm(screen: Screen) -> float:
    """Return the width and height of a button."""
    return math.ceil(TOUCH_MM / unit_mm(screen)) * unit_mm(screen)


def controls_mm(screen: Screen) -> tuple[float, float]:
    """Return how high above the floor the lower and the upper end of the buttons are."""
    places = [_above_floor_mm(screen, place) for place in LAYOUTS[screen.layout].controls]
    return next((place for place in places if is_in_reach(place)), places[-1])


def is_in_reach(place_mm: tuple[float, float]) -> bool:
    """Whether somebody in a wheelchair can touch all from the lower to the upper end."""
    return place_mm[0] >= sizes.REACH_LOWEST_MM and place_mm[1] <= sizes.REACH_HIGHEST_MM


def _above_floor_mm(screen: Screen, place: tuple[float, float]) -> tuple[float, float]:
    top, bottom = place
    low, high = (screen.lower_edge_cm + screen.height_cm * (1 - part) for part in (bottom, top))
    return low * MM_IN_A_CM, high * MM_IN_A_CM


def _lines(text: str, most: int) -> int:
    """Count the lines that the words take, each line filled before the next."""
    lines, room = 1, most
    for word in text.split():
        if len(word) > room and room < most:
            lines, room = lines + 1, most
        room -= len(word) + 1
    return lines
