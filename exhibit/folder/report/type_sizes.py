"""Is the type large enough for where people stand, and can all of them reach it: part of `exhibit check`.

Told is what holds for the page as it is laid out beside the machine, for each kind of text on it, and what to
set where it doesn't: the browser's zoom, another distance, another screen.
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
"""From how far somebody reads who stands before the screen and touches it (our own choice)."""
TOUCH_MM: Final = 20.0
"""How wide and high what is touched must be (our own choice)."""
ZOOM_STEP: Final = 0.05
LARGEST_INCHES: Final = 100
ISO: Final = "ISO 9241-303:2011, 5.5"

_UNITS_MM: Final = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": sizes.INCH_MM, "ft": sizes.FOOT_MM}
_LENGTH: Final = re.compile(r"\s*([0-9]{1,5}(?:\.[0-9]{1,3})?)\s*(mm|cm|m|in|ft)\s*")


class TypeReport(msgspec.Struct, frozen=True):
    """What was found, and whether something is too small or out of reach."""

    lines: list[str]
    falls_short: bool


class _Shown(msgspec.Struct, frozen=True):
    name: str
    letter_mm: float
    from_mm: float
    wanted: float

    @property
    def angle(self) -> float:
        return sizes.angle_arcmin(self.letter_mm, self.from_mm)

    @property
    def is_enough(self) -> bool:
        return round(self.angle, 1) >= self.wanted


def length_mm(text: str) -> float:
    """Millimetres of a length such as "2.5m", "250 cm" or "24in". Raises ValueError for anything else."""
    found = _LENGTH.fullmatch(text)
    if found is None or float(found[1]) == 0:
        raise ValueError(f'"{text}" is not a length: write a figure and mm, cm, m, in or ft, as 2.5m or 24in')
    return float(found[1]) * _UNITS_MM[found[2]]


def type_report(folder: Folder, screen: Screen, distance_mm: float, middle_mm: float) -> TypeReport:
    """The report for a screen whose middle hangs `middle_mm` over the floor, read from `distance_mm`."""
    captions = dict(_captions(folder))
    middle_m, from_m = middle_mm / 1000, distance_mm / 1000
    lines = [
        f"A screen of {screen.diagonal_mm / sizes.INCH_MM:g} inches with {screen.across_px} by "
        f"{screen.down_px} pixels, its middle {middle_m:.2f} m high, read from {from_m:.2f} m."
    ]
    if not screen.is_beside:
        lines.append(
            f"The page is laid out for the screen beside the machine from {BESIDE_FROM_PX} pixels across on: "
            "this one gets the page of a tablet or phone, which isn't reckoned with here."
        )
        return TypeReport(lines, falls_short=True)
    shown = _all_shown(screen, captions, distance_mm)
    lines += [_told(one) for one in shown]
    small = not all(one.is_enough for one in shown)
    if small:
        lines += list(_what_to_set(screen, captions, distance_mm))
    touched = touch_mm(screen)
    wide = round(touched, 1) >= TOUCH_MM
    verdict = _verdict(wide, f"{TOUCH_MM:g} mm are wanted")
    lines.append(f"What is touched is {touched:.1f} mm wide and high: {verdict}.")
    if not wide:
        inches = screen.diagonal_mm / sizes.INCH_MM * TOUCH_MM / touched
        lines.append(f"  Set: a screen of {inches:.1f} inches or more.")
    reached = _heights(lines, screen, touched, middle_mm)
    sign_mm = sizes.sign_letter_mm(middle_mm, distance_mm)
    lines.append(
        f"For comparison: a sign at that height and distance would have capitals of {sign_mm:.0f} mm "
        "(2010 ADA Standards, 703.5.5)."
    )
    return TypeReport(lines, falls_short=small or not wide or not reached)


def _captions(folder: Folder) -> Iterator[tuple[str, str]]:
    for caption in folder.captions:
        for tag, words in caption.words.items():
            yield f"{caption.name} ({tag})", PLACE.sub(FIGURES, words)


def _all_shown(screen: Screen, captions: dict[str, str], distance_mm: float) -> list[_Shown]:
    sized = {name: caption_mm(screen, words) for name, words in captions.items()}
    smallest = min(sized, key=lambda name: sized[name])
    many = sum(
        not _Shown("", letter_mm, distance_mm, sizes.GOOD_ARCMIN).is_enough for letter_mm in sized.values()
    )
    which = f"the smallest of {len(sized)} captions, {smallest}"
    if many:
        how_many = "all" if many == len(sized) else f"{many} of"
        which = f"{how_many} {len(sized)} captions, and most of all {smallest}"
    first = _Shown(which, sized[smallest], distance_mm, sizes.GOOD_ARCMIN)
    return [first, *(_of_kind(kind, distance_mm) for kind in kinds_of(screen))]


def _of_kind(kind: Kind, distance_mm: float) -> _Shown:
    return _Shown(kind.name, kind.letter_mm, distance_mm if kind.from_afar else NEAR_MM, sizes.LEAST_ARCMIN)


def _told(one: _Shown) -> str:
    far_m = sizes.farthest_mm(one.letter_mm, one.wanted) / 1000
    verdict = _verdict(one.is_enough, f"{one.wanted:g} are wanted, {ISO}")
    return (
        f"{one.name}: capitals of {one.letter_mm:.1f} mm, {one.angle:.1f} minutes of arc from "
        f"{one.from_mm / 1000:.2f} m: {verdict}; good up to {far_m:.2f} m"
    )


def _verdict(is_enough: bool, why: str) -> str:
    return "large enough" if is_enough else f"too small ({why})"


def _what_to_set(screen: Screen, captions: dict[str, str], distance_mm: float) -> Iterator[str]:
    """What would do, each by itself, with the zoom that goes with it."""
    zoom = _zoom_for(screen, captions, distance_mm)
    if zoom is not None:
        yield f"  Set: the browser's zoom to {zoom:.0%}."
        return
    for step in range(int(distance_mm / 100), 3, -1):
        if (zoom := _zoom_for(screen, captions, step * 100.0)) is not None:
            yield f"  Set: a place for people to stand within {step / 10:.1f} m{_zoom_said(zoom)}."
            break
    for larger in range(int(screen.diagonal_mm / sizes.INCH_MM) + 1, LARGEST_INCHES + 1):
        taken = msgspec.structs.replace(screen, diagonal_mm=larger * sizes.INCH_MM)
        if (zoom := _zoom_for(taken, captions, distance_mm)) is not None:
            yield f"  Or: a screen of {larger} inches{_zoom_said(zoom)}."
            break
    if len({caption_mm(screen, words) for words in captions.values()}) > 1:
        yield "  Or: fewer words in the captions that are too small: the shorter, the larger they are shown."


def _zoom_said(zoom: float) -> str:
    return "" if zoom == 1 else f", with the browser's zoom at {zoom:.0%}"


def _zoom_for(screen: Screen, captions: dict[str, str], distance_mm: float) -> float | None:
    """The least zoom from 100 % with which everything is large enough; None if there is none."""
    zoom = 1.0
    while (zoomed := screen.zoomed(zoom)).is_beside:
        if all(one.is_enough for one in _all_shown(zoomed, captions, distance_mm)):
            return zoom
        zoom = round(zoom + ZOOM_STEP, 2)
    return None


def _heights(lines: list[str], screen: Screen, touched_mm: float, middle_mm: float) -> bool:
    """Says whether people see and reach it who stand, sit or are small. False when some can't reach."""
    low, best, high = (
        part / 1000 for part in (sizes.CENTRE_LOWEST_MM, sizes.CENTRE_BEST_MM, sizes.CENTRE_HIGHEST_MM)
    )
    is_seen = "" if low <= middle_mm / 1000 <= high else "not "
    lines.append(
        f"Its middle at {middle_mm / 1000:.2f} m is {is_seen}within {low:.2f} to {high:.2f} m, "
        f"with {best:.2f} m the best (Smithsonian Guidelines for Accessible Exhibition Design)."
    )
    half_mm = screen.height_mm / 2 - touched_mm / 2
    top_mm, bottom_mm = middle_mm + half_mm, middle_mm - half_mm
    reached = bottom_mm >= sizes.REACH_LOWEST_MM and top_mm <= sizes.REACH_HIGHEST_MM
    low, high = sizes.REACH_LOWEST_MM / 1000, sizes.REACH_HIGHEST_MM / 1000
    lines.append(
        f"What is touched stands {bottom_mm / 1000:.2f} to {top_mm / 1000:.2f} m high: "
        f"{'' if reached else 'not '}within {low:.2f} to {high:.2f} m, the reach from a wheelchair "
        "(2010 ADA Standards, 308.2.1, from memory)."
    )
    if not reached:
        middle_m = (sizes.REACH_HIGHEST_MM - half_mm) / 1000
        lines.append(
            f"  Set: its middle at {middle_m:.2f} m, tilted back; or let people use their own phones."
        )
    return reached
