"""Reads screens.toml: the screens on which the museum shows the visitors' page."""

from __future__ import annotations

import re
from typing import Final, Literal

from exhibit.facts.parts_and_cards import Screen
from exhibit.facts.units import S_US
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import ValueMistake

FILE: Final = "screens.toml"
HOME_AFTER: Final = "4 min"
MOST_SCREENS: Final = 12
_LAYOUTS: Final[tuple[Literal["landscape", "portrait"], ...]] = ("landscape", "portrait")
_LENGTH: Final = re.compile(r"([0-9]{1,5}(?:\.[0-9]{1,2})?) (mm|cm|m)")
_CM: Final = {"mm": 0.1, "cm": 1.0, "m": 100.0}
_LEAST_CM: Final = 5.0
_MOST_CM: Final = 1000.0
_NEAREST_CM: Final = 20.0
_FARTHEST_CM: Final = 3000.0


def read_screens(root: Table) -> dict[str, Screen]:
    """Read the tables [screens.NAME]. Adds mistakes to the table."""
    screens: dict[str, Screen] = {}
    for name, table in root.named_tables("screens", optional=True):
        width_cm = _length(table, "width", "53 cm", _LEAST_CM, _MOST_CM)
        height_cm = _length(table, "height", "30 cm", _LEAST_CM, _MOST_CM)
        usual = _LAYOUTS[width_cm < height_cm]
        layout = table.choice("layout", _LAYOUTS, default=usual)
        if layout != usual and table.is_sure("layout", "width", "height"):
            what = f"a picture area of {width_cm:g} by {height_cm:g} cm is not {layout}"
            table.wrong("layout", what, f'layout = "{usual}", or width and height exchanged')
        screens[name] = Screen(
            layout=layout,
            width_cm=width_cm,
            height_cm=height_cm,
            distance_cm=_length(table, "distance", "2.5 m", _NEAREST_CM, _FARTHEST_CM),
            lower_edge_cm=_length(table, "lower_edge", "90 cm", 0, _MOST_CM),
            touch=table.boolean("touch", default=False),
            home_after_s=table.duration("home_after", "4 min", default=HOME_AFTER) / S_US,
        )
        table.close()
    if len(screens) > MOST_SCREENS:
        root.wrong(
            "screens", f"there are more than {MOST_SCREENS} screens", "a table for each kind of screen"
        )
    root.close()
    return screens


def screen_length_cm(text: str) -> float:
    """Return the centimetres of a length such as "53.1 cm", "299 mm" or "2.5 m". Raises ValueMistake."""
    found = _LENGTH.fullmatch(text)
    if found is None:
        figures = re.match(r"\s*([0-9]{1,5}(?:\.[0-9]{1,2})?)", text)
        write = f'"{figures[1]} cm", if centimetres are meant' if figures else '"53 cm"'
        raise ValueMistake(f'"{text}" is not a length in mm, cm or m', write)
    return round(float(found[1]) * _CM[found[2]], 2)


def _length(table: Table, key: str, example: str, least_cm: float, most_cm: float) -> float:
    def parsed(text: str) -> float:
        cm = screen_length_cm(text)
        if not least_cm <= cm <= most_cm:
            raise ValueMistake(f'no screen has "{text}" for this', f'"{least_cm:g} cm" to "{most_cm:g} cm"')
        return cm

    return table.read(key, example, least_cm, parsed)
