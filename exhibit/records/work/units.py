"""Measured values as people write them: "5.03 V", "21.5 °C", "48 %", "12034.5 h"."""

from __future__ import annotations

import re
from typing import Final

from exhibit.facts.errors import SetUpFault

UNITS: Final = ("V", "mV", "A", "mA", "W", "Ω", "kΩ", "Hz", "kHz", "MHz", "°C", "%", "h", "min", "s", "ms",
                "µs", "ns", "mm", "µm", "hPa", "rpm", "dB")  # fmt: skip
_ALSO: Final = {
    "C": "°C",
    "degC": "°C",
    "ohm": "Ω",
    "kohm": "kΩ",
    "us": "µs",
    "μs": "µs",
    "um": "µm",
    "%RH": "%",
}
"""How else they are typed. The unit of a temperature is always °C, so that those of all years compare."""
_VALUE: Final = re.compile(r"\s*([+-]?[0-9]{1,12}(?:[.,][0-9]{1,9})?)\s*(\S{1,6})\s*")


def value_and_unit(text: str) -> tuple[float, str]:
    """The number and its unit. Raises SetUpFault for what has no unit, or one that isn't known."""
    found = _VALUE.fullmatch(text.replace("\u2212", "-"))
    unit = _ALSO.get(found[2], found[2]) if found else ""
    if found is None or unit not in UNITS:
        raise SetUpFault(
            f"{text!r} is not a number with a unit.",
            "Without its unit nobody can compare it later.",
            f'Write it as "5.03 V". The units are: {", ".join(UNITS)}.',
        )
    return float(found[1].replace(",", ".")), unit
