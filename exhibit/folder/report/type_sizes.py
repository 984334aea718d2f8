"""Reports whether people can read the page from where they stand, and reach its buttons.

It covers each kind of text on the page as laid out for a screen of the folder, or for one that the command
line describes. If something is too small or out of reach, the report says what would be enough.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Final

import msgspec

from exhibit.decisions.machine.filling import PLACE
from exhibit.decisions.machine.script import Folder
from exhibit.facts.parts_and_cards import Screen
from exhibit.folder.checks.captions import FIGURES
from exhibit.folder.report.screen_sizes import (
    LAYOUTS,
    MM_IN_A_CM,
    TOUCH_MM,
    Kind,
    caption_mm,
    controls_mm,
    diagonal_inches,
    is_in_reach,
    kinds_of,
    touch_mm,
)
from exhibit.sums import type_size as sizes

NEAR_MM: Final = 500.0
"""The reading distance of somebody who stands at the screen and touches it (our own choice)."""
LARGEST_INCHES: Final = 100
ISO: Final = "ISO 9241-303:2011, 5.5"
_REACH: Final = "the reach from a wheelchair (2010 ADA Standards, 308.2.1, from memory)"
_WALL: Final = "Smithsonian Guidelines for Accessible Exhibition Design"

_UNITS_MM: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": sizes.INCH_MM, "ft": sizes.FOOT_MM}
_LENGTH: Final = re.compile(r"\s*([0-9]{1,5}(?:\.[0-9]{1,3})?)\s*(mm|cm|m|in|ft)\s*")


class TypeReport(msgspec.Struct, frozen=True):
    """The lines of the report, and what is too small or out of reach, each as the end of a sentence."""

    lines: list[str]
    short: list[str]

    @property
    def falls_short(self) -> bool:
        """Whether something is too small or out of reach."""
        return bool(self.short)


class _ReadText(msgspec.Struct, frozen=True):
    """A kind of text, read from a distance."""

    name: str
    letter_mm: float
    from_mm: float
    required_arcmin: float

    @property
    def arcmin(self) -> float:
        return sizes.angle_arcmin(self.letter_mm, self.from_mm)

    @property
    def is_large_enough(self) -> bool:
        return round(self.arcmin, 1) >= self.required_arcmin


def length_mm(text: str) -> float:
    """Return the millimetres of a length such as "2.5m", "250 cm" or "24in". Raises ValueError otherwise."""
    found = _LENGTH.fullmatch(text)
    if found is None or float(found[1]) == 0:
        write = "write a number with mm, cm, m, in or ft, such as 2.5m or 24in"
        raise ValueError(f'"{text}" is not a length: {write}')
    return float(found[1]) * _UNITS_MM[found[2]]


def screen_of(
    diagonal_mm: float, pixels: tuple[int, int], distance_mm: float, middle_mm: float, *, touch: bool
) -> Screen:
    """Return a screen of this diagonal, with its middle so high above the floor."""
    width_mm, height_mm = sizes.screen_mm(diagonal_mm, *pixels)
    return Screen(
        layout="landscape" if pixels[0] >= pixels[1] else "portrait",
        width_cm=round(width_mm / MM_IN_A_CM, 1),
        height_cm=round(height_mm / MM_IN_A_CM, 1),
        distance_cm=distance_mm / MM_IN_A_CM,
        lower_edge_cm=max(0.0, round((middle_mm - height_mm / 2) / MM_IN_A_CM, 1)),
        touch=touch,
    )


def type_report(folder: Folder, screen: Screen, name: str = "") -> TypeReport:
    """Report on a screen, by its name in screens.toml or, without one, as described elsewhere."""
    captions = dict(_captions(folder))
    which = f"The screen {name}" if name else "A screen"
    lines = [
        f"{which}: {screen.layout}, {screen.width_cm:g} by {screen.height_cm:g} cm "
        f"({diagonal_inches(screen):.0f} inches), its lower edge {screen.lower_edge_cm / 100:.2f} m high, "
        f"read from {screen.distance_cm / 100:.2f} m."
    ]
    texts = _texts_on(screen, captions)
    lines += [_line_on(text) for text in texts]
    small = [text for text in texts if not text.is_large_enough]
    short = [f"{_short_name(text)} too small" for text in small]
    if small:
        lines += list(_proposals(screen, captions))
    if screen.touch:
        short += _check_reach(lines, screen)
    else:
        lines.append(_on_the_wall(screen))
    sign_mm = sizes.sign_letter_mm(_middle_mm(screen), screen.distance_cm * MM_IN_A_CM)
    lines.append(
        f"For comparison: a sign at that height and distance would have capitals of {sign_mm:.0f} mm "
        "(2010 ADA Standards, 703.5.5)."
    )
    return TypeReport(lines, short)


def verdict_on(report: TypeReport, name: str = "") -> str:
    """Return what people read last: that this screen falls short although the folder is in order."""
    which = f"On the screen {name}" if name else "On this screen"
    *others, last = report.short
    short = f"{', '.join(others)} and {last}" if others else last
    return f"{which}, though, {short}: what would be enough stands above."


def as_screens_toml(screen: Screen) -> list[str]:
    """Return how this screen is described in screens.toml, without which the page doesn't know of it."""
    return [
        "The page knows these measures if screens.toml has them, and if it is opened as /?screen=hall:",
        "    [screens.hall]",
        f'    width = "{screen.width_cm:g} cm"',
        f'    height = "{screen.height_cm:g} cm"',
        f'    distance = "{screen.distance_cm:g} cm"',
        f'    lower_edge = "{screen.lower_edge_cm:g} cm"',
        f"    touch = {'true' if screen.touch else 'false'}",
    ]


def _captions(folder: Folder) -> Iterator[tuple[str, str]]:
    for caption in folder.captions:
        for tag, words in caption.words.items():
            yield f"{caption.name} ({tag})", PLACE.sub(FIGURES, words)


def _texts_on(screen: Screen, captions: dict[str, str]) -> list[_ReadText]:
    distance_mm = screen.distance_cm * MM_IN_A_CM
    kinds = [_text_of(kind, distance_mm) for kind in kinds_of(screen)]
    if not captions:
        return kinds
    letters_mm = {name: caption_mm(screen, words) for name, words in captions.items()}
    smallest = min(letters_mm, key=lambda name: letters_mm[name])
    small = [
        letter_mm
        for letter_mm in letters_mm.values()
        if not _ReadText("", letter_mm, distance_mm, sizes.GOOD_ARCMIN).is_large_enough
    ]
    which = f"the smallest of {len(letters_mm)} captions, {smallest}"
    if small:
        how_many = "all" if len(small) == len(letters_mm) else f"{len(small)} of"
        which = f"{how_many} {len(letters_mm)} captions, above all {smallest}"
    return [_ReadText(which, letters_mm[smallest], distance_mm, sizes.GOOD_ARCMIN), *kinds]


def _text_of(kind: Kind, distance_mm: float) -> _ReadText:
    from_mm = distance_mm if kind.from_afar else min(distance_mm, NEAR_MM)
    return _ReadText(kind.name, kind.letter_mm, from_mm, sizes.LEAST_ARCMIN)


def _short_name(text: _ReadText) -> str:
    name, _, _ = text.name.partition(",")
    return f"{name} {'are' if name.endswith('s') else 'is'}"


def _line_on(text: _ReadText) -> str:
    far_m = sizes.farthest_mm(text.letter_mm, text.required_arcmin) / 1000
    verdict = "large enough"
    if not text.is_large_enough:
        verdict = f"too small ({text.required_arcmin:g} are required, {ISO})"
    return (
        f"{text.name}: capitals of {text.letter_mm:.1f} mm, {text.arcmin:.1f} minutes of arc from "
        f"{text.from_mm / 1000:.2f} m: {verdict}; readable from up to {far_m:.2f} m"
    )


def _proposals(screen: Screen, captions: dict[str, str]) -> Iterator[str]:
    """Yield changes of which each would be enough by itself for all text to be large enough."""

    def is_enough(changed: Screen) -> bool:
        return all(text.is_large_enough for text in _texts_on(changed, captions))

    for step in range(int(screen.distance_cm / 10), 3, -1):
        if is_enough(msgspec.structs.replace(screen, distance_cm=step * 10.0)):
            yield f"  Use: a place for people to stand within {step / 10:.1f} m."
            break
    inches = diagonal_inches(screen)
    for larger in range(math.floor(inches) + 1, LARGEST_INCHES + 1):
        times = larger / inches
        sized = {"width_cm": screen.width_cm * times, "height_cm": screen.height_cm * times}
        if is_enough(msgspec.structs.replace(screen, **sized)):
            yield f"  Or: a screen of {larger} inches."
            break
    if len({caption_mm(screen, words) for words in captions.values()}) > 1:
        yield "  Or, for captions alone: fewer words in those that are too small; they are shown larger then."


def _middle_mm(screen: Screen) -> float:
    return (screen.lower_edge_cm + screen.height_cm / 2) * MM_IN_A_CM


def _check_reach(lines: list[str], screen: Screen) -> list[str]:
    """Add lines on who can touch the screen. Return what falls short."""
    button_mm = touch_mm(screen)
    is_large = round(button_mm, 1) >= TOUCH_MM
    enough = "large enough" if is_large else f"too small ({TOUCH_MM:g} mm are required)"
    lines.append(f"Buttons are at least {button_mm:.1f} mm wide and high: {enough}.")
    if not is_large:
        lines.append("  Use: a screen of the usual shape, 16 to 9 or nearly so.")
    low_mm, high_mm = controls_mm(screen)
    is_reached = is_in_reach((low_mm, high_mm))
    lowest, highest = sizes.REACH_LOWEST_MM / 1000, sizes.REACH_HIGHEST_MM / 1000
    lines.append(
        f"Its buttons are from {low_mm / 1000:.2f} to {high_mm / 1000:.2f} m high, "
        f"{'' if is_reached else 'not '}within {lowest:.2f} to {highest:.2f} m, {_REACH}."
    )
    if not is_reached:
        foot = 1 - LAYOUTS[screen.layout].controls[-1][0]
        most_m = math.floor(highest * 100 - foot * screen.height_cm) / 100
        lines.append(
            f"  Use: a lower edge from {lowest:.2f} to {most_m:.2f} m above the floor, tilted back if it is "
            "low; or touch = false, if people have their own phones."
        )
    short = [] if is_large else ["its buttons are too small"]
    return short if is_reached else [*short, "its buttons are out of reach from a wheelchair"]


def _on_the_wall(screen: Screen) -> str:
    """Return a line on the height of a screen that nobody touches: a recommendation, and no more."""
    low, best, high = (
        part / 1000 for part in (sizes.CENTRE_LOWEST_MM, sizes.CENTRE_BEST_MM, sizes.CENTRE_HIGHEST_MM)
    )
    middle_m = _middle_mm(screen) / 1000
    line = (
        f"Nobody touches it. Its middle is {middle_m:.2f} m high; recommended is {low:.2f} to {high:.2f} m, "
        f"with {best:.2f} m the best ({_WALL})."
    )
    if low <= round(middle_m, 2) <= round(high, 2):
        return line
    return f"{line} A lower edge at {best - screen.height_cm / 200:.2f} m would be better."
