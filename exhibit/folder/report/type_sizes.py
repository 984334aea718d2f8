"""Reports whether people can read the page from where they stand, and reach its buttons.

It covers each kind of text on the page as laid out beside the machine. If something is too small, the
report says what would be enough: the browser's zoom, another distance or another screen.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

import msgspec

from exhibit.decisions.machine.filling import PLACE
from exhibit.decisions.machine.script import Folder
from exhibit.folder.checks.captions import FIGURES
from exhibit.folder.report.screen_sizes import (
    BESIDE_FROM_PX,
    Kind,
    Screen,
    caption_mm,
    kinds_of,
    touch_mm,
)
from exhibit.sums import type_size as sizes

NEAR_MM: Final = 500.0
"""The reading distance of somebody who stands at the screen and touches it (our own choice)."""
TOUCH_MM: Final = 20.0
"""The required width and height of a button (our own choice)."""
ZOOM_STEP: Final = 0.05
LARGEST_INCHES: Final = 100
ISO: Final = "ISO 9241-303:2011, 5.5"

_UNITS_MM: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": sizes.INCH_MM, "ft": sizes.FOOT_MM}
_LENGTH: Final = re.compile(r"\s*([0-9]{1,5}(?:\.[0-9]{1,3})?)\s*(mm|cm|m|in|ft)\s*")


class TypeReport(msgspec.Struct, frozen=True):
    """The lines of the report, and whether something is too small or out of reach."""

    lines: list[str]
    falls_short: bool


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


def type_report(folder: Folder, screen: Screen, distance_mm: float, middle_mm: float) -> TypeReport:
    """Report on a screen whose middle is `middle_mm` above the floor, read from `distance_mm`."""
    captions = dict(_captions(folder))
    middle_m, from_m = middle_mm / 1000, distance_mm / 1000
    lines = [
        f"A screen of {screen.diagonal_mm / sizes.INCH_MM:g} inches with {screen.across_px} by "
        f"{screen.down_px} pixels, its middle {middle_m:.2f} m high, read from {from_m:.2f} m."
    ]
    if not screen.is_beside:
        lines.append(
            "The page is laid out for the screen beside the machine only if the screen is at least "
            f"{BESIDE_FROM_PX} pixels wide. This one gets the page for tablets and phones, "
            "on which this report says nothing."
        )
        return TypeReport(lines, falls_short=True)
    texts = _texts_on(screen, captions, distance_mm)
    lines += [_line_on(text) for text in texts]
    are_readable = all(text.is_large_enough for text in texts)
    if not are_readable:
        lines += list(_proposals(screen, captions, distance_mm))
    button_mm = touch_mm(screen)
    is_touchable = round(button_mm, 1) >= TOUCH_MM
    verdict = _verdict(is_touchable, f"{TOUCH_MM:g} mm are required")
    lines.append(f"Buttons are at least {button_mm:.1f} mm wide and high: {verdict}.")
    if not is_touchable:
        inches = screen.diagonal_mm / sizes.INCH_MM * TOUCH_MM / button_mm
        lines.append(f"  Use: a screen of {inches:.1f} inches or more.")
    is_reachable = _check_heights(lines, screen, button_mm, middle_mm)
    sign_mm = sizes.sign_letter_mm(middle_mm, distance_mm)
    lines.append(
        f"For comparison: a sign at that height and distance would have capitals of {sign_mm:.0f} mm "
        "(2010 ADA Standards, 703.5.5)."
    )
    return TypeReport(lines, falls_short=not (are_readable and is_touchable and is_reachable))


def _captions(folder: Folder) -> Iterator[tuple[str, str]]:
    for caption in folder.captions:
        for tag, words in caption.words.items():
            yield f"{caption.name} ({tag})", PLACE.sub(FIGURES, words)


def _texts_on(screen: Screen, captions: dict[str, str], distance_mm: float) -> list[_ReadText]:
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
    first = _ReadText(which, letters_mm[smallest], distance_mm, sizes.GOOD_ARCMIN)
    return [first, *(_text_of(kind, distance_mm) for kind in kinds_of(screen))]


def _text_of(kind: Kind, distance_mm: float) -> _ReadText:
    from_mm = distance_mm if kind.from_afar else NEAR_MM
    return _ReadText(kind.name, kind.letter_mm, from_mm, sizes.LEAST_ARCMIN)


def _line_on(text: _ReadText) -> str:
    far_m = sizes.farthest_mm(text.letter_mm, text.required_arcmin) / 1000
    verdict = _verdict(text.is_large_enough, f"{text.required_arcmin:g} are required, {ISO}")
    return (
        f"{text.name}: capitals of {text.letter_mm:.1f} mm, {text.arcmin:.1f} minutes of arc from "
        f"{text.from_mm / 1000:.2f} m: {verdict}; readable from up to {far_m:.2f} m"
    )


def _verdict(is_enough: bool, why: str) -> str:
    return "large enough" if is_enough else f"too small ({why})"


def _proposals(screen: Screen, captions: dict[str, str], distance_mm: float) -> Iterator[str]:
    """Yield changes of which each would be enough by itself, with the zoom that it needs."""
    zoom = _zoom_for(screen, captions, distance_mm)
    if zoom is not None:
        yield f"  Use: the browser's zoom at {zoom:.0%}."
        return
    for step in range(int(distance_mm / 100), 3, -1):
        if (zoom := _zoom_for(screen, captions, step * 100.0)) is not None:
            yield f"  Use: a place for people to stand within {step / 10:.1f} m{_zoom_phrase(zoom)}."
            break
    for inches in range(int(screen.diagonal_mm / sizes.INCH_MM) + 1, LARGEST_INCHES + 1):
        larger = msgspec.structs.replace(screen, diagonal_mm=inches * sizes.INCH_MM)
        if (zoom := _zoom_for(larger, captions, distance_mm)) is not None:
            yield f"  Or: a screen of {inches} inches{_zoom_phrase(zoom)}."
            break
    if len({caption_mm(screen, words) for words in captions.values()}) > 1:
        yield "  Or: fewer words in the captions that are too small; the shorter, the larger they are shown."


def _zoom_phrase(zoom: float) -> str:
    return "" if zoom == 1 else f", with the browser's zoom at {zoom:.0%}"


def _zoom_for(screen: Screen, captions: dict[str, str], distance_mm: float) -> float | None:
    """Return the smallest zoom from 100 % that makes all text large enough; None if there is none."""
    zoom = 1.0
    while (zoomed := screen.zoomed(zoom)).is_beside:
        if all(text.is_large_enough for text in _texts_on(zoomed, captions, distance_mm)):
            return zoom
        zoom = round(zoom + ZOOM_STEP, 2)
    return None


def _check_heights(lines: list[str], screen: Screen, button_mm: float, middle_mm: float) -> bool:
    """Add lines on who can see and reach the screen. Return whether it is within reach from a wheelchair."""
    low, best, high = (
        part / 1000 for part in (sizes.CENTRE_LOWEST_MM, sizes.CENTRE_BEST_MM, sizes.CENTRE_HIGHEST_MM)
    )
    is_seen = "" if low <= middle_mm / 1000 <= high else "not "
    lines.append(
        f"Its middle at {middle_mm / 1000:.2f} m is {is_seen}within {low:.2f} to {high:.2f} m, "
        f"with {best:.2f} m the best (Smithsonian Guidelines for Accessible Exhibition Design)."
    )
    half_mm = screen.height_mm / 2 - button_mm / 2
    top_mm, bottom_mm = middle_mm + half_mm, middle_mm - half_mm
    is_reachable = bottom_mm >= sizes.REACH_LOWEST_MM and top_mm <= sizes.REACH_HIGHEST_MM
    low, high = sizes.REACH_LOWEST_MM / 1000, sizes.REACH_HIGHEST_MM / 1000
    lines.append(
        f"Its buttons are from {bottom_mm / 1000:.2f} to {top_mm / 1000:.2f} m high, "
        f"{'' if is_reachable else 'not '}within {low:.2f} to {high:.2f} m, the reach from a wheelchair "
        "(2010 ADA Standards, 308.2.1, from memory)."
    )
    if not is_reachable:
        middle_m = (sizes.REACH_HIGHEST_MM - half_mm) / 1000
        lines.append(
            f"  Use: a screen with its middle at {middle_m:.2f} m, tilted back; or people's own phones."
        )
    return is_reachable
