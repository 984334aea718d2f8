"""What two incidents have in common: the trouble's name and its line on the console, without its numbers."""

from __future__ import annotations

import re
from typing import Final

LONGEST: Final = 160
_NUMBERS: Final = (
    # A date or a time: 25.11.1998, 10:02:04.5, 14.32.
    (re.compile(r"(?<![\w.:/-])\d{1,4}(?:[.:/-]\d{1,4})+(?![\w:/-])"), "#"),
    # A number by itself, with a sign or a unit's letter not counted.
    (re.compile(r"(?<![\w.])[+-]?\d+(?:[.,]\d+)*(?![\w])"), "#"),
    # A word that can only be a number: at least four figures of base 16 or 8, one of them a figure.
    (re.compile(r"\b(?=[0-9A-F]*\d)(?=[0-9A-F]*[A-F0-9]{4})[0-9A-F]{4,}\b"), "#"),
)
"""A figure within a word stays, since it may name a board or a drive: A12, DRIVE2."""


def without_numbers(line: str) -> str:
    """The line with # for each number, and single spaces."""
    text = line
    for pattern, mark in _NUMBERS:
        text = pattern.sub(mark, text)
    return " ".join(text.split())[:LONGEST]


def signature(name: str, line: str) -> str:
    """What is the same in all incidents of a kind."""
    said = without_numbers(line)
    return f"{name}: {said}" if said else name
