"""Works out how large text and buttons are on a given screen, on the page beside the machine.

The figures are those of the style sheets in web/visitor, and a test measures them in a browser.
Lengths on the page are CSS pixels; a screen set to show everything larger has fewer of them.
"""

from __future__ import annotations

from typing import Final

import msgspec

from exhibit.sums.type_size import screen_mm

CAPTION_FACE: Final = 0.668
CONSOLE_FACE: Final = 0.67
"""The height of a capital, as a fraction of the type size, in the typeface of each."""
CONSOLE_WIDTH: Final = 0.632
"""The width of a character of the console, as a fraction of the type size."""
WIDTH: Final = 0.53
"""The same for captions: a little more than the average."""
STEP: Final = 1.25
LARGEST_STEP: Final = 9
FEWEST_CHARACTERS: Final = 26
LINE: Final = 1.2
"""The line height of a caption, as a multiple of its type size."""
BESIDE_FROM_PX: Final = 1120
"""From this width on, the page is laid out for the screen beside the machine."""
WIDE_FROM_PX: Final = 1600
LOW_UNDER_PX: Final = 800
SIDE: Final = 0.37
SIDE_LEAST_REM: Final = 36.5
BESIDE_CAPTION_REM: Final = 8.4
OVER_AND_UNDER_REM: Final = 38.0
"""The space that everything but the caption takes: beside it, and above and below it."""
TOUCH: Final = 0.038
TOUCH_LEAST_REM: Final = 2.75


class Screen(msgspec.Struct, frozen=True):
    """A screen, and how many pixels the page has on it."""

    diagonal_mm: float
    across_px: int
    down_px: int

    @property
    def height_mm(self) -> float:
        """The height of the picture."""
        return screen_mm(self.diagonal_mm, self.across_px, self.down_px)[1]

    @property
    def px_mm(self) -> float:
        """The width of a pixel."""
        return screen_mm(self.diagonal_mm, self.across_px, self.down_px)[0] / self.across_px

    @property
    def rem_px(self) -> float:
        """The page's base type size."""
        if self.across_px > 1920:
            return 2 + 0.007292 * self.across_px
        return 14.0 if self.down_px <= LOW_UNDER_PX and self.across_px >= BESIDE_FROM_PX else 16.0

    @property
    def is_beside(self) -> bool:
        """Whether the page is laid out for the screen beside the machine."""
        return self.across_px >= BESIDE_FROM_PX

    def zoomed(self, times: float) -> Screen:
        """Return the same screen with everything shown `times` as large."""
        return Screen(self.diagonal_mm, round(self.across_px / times), round(self.down_px / times))


class Kind(msgspec.Struct, frozen=True):
    """A kind of text on the page, and the height of its capitals."""

    name: str
    letter_mm: float
    from_afar: bool
    """Whether it must be readable from the given distance; other text is for people who come near."""


def kinds_of(screen: Screen) -> list[Kind]:
    """Return the kinds of text other than captions, whose size depends on their length."""
    rem_mm = screen.rem_px * screen.px_mm

    def plain(name: str, rem: float, from_afar: bool = False) -> Kind:
        return Kind(name, rem * rem_mm * CAPTION_FACE, from_afar)

    return [
        plain("the badge", 2.441 if screen.across_px >= WIDE_FROM_PX else 1.953, from_afar=True),
        plain("the kind of caption", 1.25),
        plain("tables and cards", 1.0),
        plain("sources and notes", 0.8),
        Kind("the console", console_px(screen) * screen.px_mm * CONSOLE_FACE, from_afar=False),
    ]


def console_px(screen: Screen, columns: int = 80) -> float:
    """Return the type size of the console."""
    inside_px = max(SIDE * screen.across_px, SIDE_LEAST_REM * screen.rem_px) - screen.rem_px - 4
    return max(0.6875 * screen.rem_px, inside_px / (columns * CONSOLE_WIDTH))


def caption_px(screen: Screen, text: str) -> float:
    """Return the type size of a caption of these words, the largest that fits its place, or a little less."""
    rem_px = screen.rem_px
    side_px = max(SIDE * screen.across_px, SIDE_LEAST_REM * rem_px)
    width_px = screen.across_px - side_px - BESIDE_CAPTION_REM * rem_px
    height_px = screen.down_px - OVER_AND_UNDER_REM * rem_px
    for step in range(LARGEST_STEP, -1, -1):
        size_px = STEP**step * rem_px
        if width_px < FEWEST_CHARACTERS * 0.5 * size_px:
            continue
        if _lines(text, int(width_px / (WIDTH * size_px))) * LINE * size_px <= height_px:
            return size_px
    return rem_px


def caption_mm(screen: Screen, text: str) -> float:
    """Return the minimum height of the capitals in a caption of these words."""
    return caption_px(screen, text) * screen.px_mm * CAPTION_FACE


def touch_mm(screen: Screen) -> float:
    """Return the minimum width and height of a button."""
    return max(TOUCH * screen.across_px, TOUCH_LEAST_REM * screen.rem_px) * screen.px_mm


def _lines(text: str, most: int) -> int:
    """Count the lines that the words take, each line filled before the next."""
    lines, room = 1, most
    for word in text.split():
        if len(word) > room and room < most:
            lines, room = lines + 1, most
        room -= len(word) + 1
    return lines
