"""Reads the numbers in what the machine printed. What isn't clearly a number is None: never a guess."""

from __future__ import annotations

import re
from typing import Final

_NUMBER: Final = re.compile(r"[+-]?[0-9]{1,12}(?:\.[0-9]{1,9})?")
_HOURS_MINUTES: Final = re.compile(r"([0-9]{1,2})(?:[.:]([0-5][0-9]))?")


def number_in(text: str) -> float | None:
    """The number that this text is."""
    return float(text) if _NUMBER.fullmatch(text) else None


def hours_in(text: str) -> float | None:
    """The hours of a time such as 06.27: 6.45."""
    found = _HOURS_MINUTES.fullmatch(text)
    return int(found[1]) + int(found[2] or 0) / 60 if found else None


def numbers_in(text: str, across_is: str = "number") -> list[float | None]:
    """The numbers in this text, which are separated by spaces."""
    read = hours_in if across_is == "hours.minutes" else number_in
    return [read(token) for token in text.split()]
