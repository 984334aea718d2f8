"""Durations and line speeds as people write them: "300 ms", "8 s", "12 min", "2 h", "2400 baud".

A number, a space, a unit. The unit is always part of the value, so that nobody has to guess what a bare
number means; if it is missing, the error says what to write.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final

MS_US: Final = 1_000
S_US: Final = 1_000_000
MIN_US: Final = 60 * S_US
H_US: Final = 60 * MIN_US

DURATION_UNITS_US: Final = {"ms": MS_US, "s": S_US, "min": MIN_US, "h": H_US}
LONGEST_US: Final = 24 * H_US
HIGHEST_BAUD: Final = 4_000_000
"""About the highest speed of common adapters (from memory)."""

_UNIT_OF_WORD: Final = {
    "millisecond": "ms", "milliseconds": "ms", "msec": "ms", "msecs": "ms", "millis": "ms",
    "second": "s", "seconds": "s", "sec": "s", "secs": "s",
    "minute": "min", "minutes": "min", "mins": "min",
    "hour": "h", "hours": "h", "hr": "h", "hrs": "h",
}  # fmt: skip
_VALUE: Final = re.compile(r"(?P<figure>[0-9]{1,12}(?:\.[0-9]{1,6})?) (?P<unit>[a-z]+)")
_NO_SPACE: Final = re.compile(r"(?<=[0-9])(?=[a-z])")
_NEARLY: Final = re.compile(r"\s*(?P<figure>[0-9]{1,12}(?:[.,][0-9]{1,6})?)\s*(?P<unit>[^\W\d_]*)\.?\s*")


class UnitMistake(ValueError):
    """A value that isn't a number with its unit: what is wrong, and what to write instead."""

    def __init__(self, what: str, write_instead: str) -> None:
        super().__init__(f"{what}; write {write_instead}")
        self.what = what
        self.write_instead = write_instead


def duration_us(text: str, *, may_be_zero: bool = False) -> int:
    """Microseconds of a duration such as "8 s". Units: ms, s, min, h. At most 24 hours.

    Raises UnitMistake for anything else, for fractions of a microsecond, and for "0 s" unless `may_be_zero`.
    """
    found = _VALUE.fullmatch(text)
    if found is None or found["unit"] not in DURATION_UNITS_US:
        raise UnitMistake(*_wrong_duration(text))
    value_us = Fraction(found["figure"]) * DURATION_UNITS_US[found["unit"]]
    if value_us.denominator != 1:
        raise UnitMistake(f'"{text}" is finer than a microsecond', f'"{float(found["figure"]):.3g} s"')
    if value_us == 0 and not may_be_zero:
        raise UnitMistake(f'"{text}" is no time at all', 'a time such as "8 s"')
    if value_us > LONGEST_US:
        raise UnitMistake(f'"{text}" is longer than a day', 'a time up to "24 h"')
    return int(value_us)


def typed_duration_us(text: str, *, may_be_zero: bool = False) -> int:
    """As `duration_us`, of what is typed on a command line, where a space has to be quoted: "8s" is "8 s"."""
    return duration_us(_NO_SPACE.sub(" ", text.strip()), may_be_zero=may_be_zero)


def speed_baud(text: str) -> int:
    """The speed in baud of a text such as "2400 baud": a whole number. Raises UnitMistake."""
    found = _VALUE.fullmatch(text)
    if found is not None and found["unit"] == "baud" and "." not in found["figure"]:
        speed = int(found["figure"])
        if 1 <= speed <= HIGHEST_BAUD:
            return speed
        raise UnitMistake(
            f"no line runs at {speed} baud", 'the speed from the machine\'s papers, such as "2400 baud"'
        )
    nearly = _NEARLY.fullmatch(text)
    if nearly is None or "." in nearly["figure"] or "," in nearly["figure"]:
        raise UnitMistake(
            f'"{text}" is not a speed', 'a whole number, a space and the unit, such as "2400 baud"'
        )
    unit = nearly["unit"]
    if unit.lower() in ("", "baud", "bd", "bps", "bauds"):
        what = "does not say its unit" if not unit else "is not written as a number, a space and baud"
        raise UnitMistake(f'"{text}" {what}', f'"{nearly["figure"]} baud"')
    raise UnitMistake(f'"{text}" is not in baud', f'"{nearly["figure"]} baud"')


def _wrong_duration(text: str) -> tuple[str, str]:
    nearly = _NEARLY.fullmatch(text)
    if nearly is None:
        return (
            f'"{text}" is not a time',
            'a number, a space and a unit (ms, s, min or h), such as "8 s" or "12 min"',
        )
    figure, unit = nearly["figure"].replace(",", "."), nearly["unit"]
    if not unit:
        return f'"{text}" does not say its unit', f'"{figure} s" if seconds are meant (or ms, min, h)'
    if unit.lower() in ("m", "mn"):
        return f'"{text}" could mean minutes or milliseconds', f'"{figure} min" or "{figure} ms"'
    meant = unit.lower() if unit.lower() in DURATION_UNITS_US else _UNIT_OF_WORD.get(unit.lower())
    if meant is None:
        return (
            f'"{text}" is not in a unit of time',
            f'ms, s, min or h after the number, such as "{figure} s"',
        )
    return f'"{text}" is not written as a number, a space and a unit', f'"{figure} {meant}"'
