"""Parses values such as keys, rows, the end of a frame, years and patterns, and recognises misspelt names."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import Final, Literal

from exhibit.decisions.display.characters import SUBSTITUTE_MARK, is_printed
from exhibit.decisions.display.screen import LINE_DRAWING
from exhibit.decisions.machine.pattern import Pattern, PatternMistake, kind_named
from exhibit.facts.units import UnitMistake, duration_us

NAME: Final = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
LANGUAGE_TAG: Final = re.compile(r"[a-z]{2,3}(?:-[A-Za-z0-9]{2,8})*")
"""The forms of BCP 47 tags that a file name can have here."""
MOST_ROWS: Final = 200
MOST_COLUMNS: Final = 400
FrameEnd = tuple[tuple[int, int] | None, int | None]
"""Either row and column, or microseconds of quiet."""
AT_THE_TOP: Final[FrameEnd] = ((1, 1), None)
YearRule = tuple[Literal["as it is", "stand-in", "fixed", "ask"], int]
"""How the year is chosen, and the year if it is fixed, else 0."""
AS_IT_IS: Final[YearRule] = ("as it is", 0)
_NAMED_KEYS: Final = {"return": b"\r", "rubout": b"\x7f", "escape": b"\x1b", "space": b" "}
PRINTED_ANYWHERE: Final = frozenset(SUBSTITUTE_MARK + LINE_DRAWING)
"""What a console can show whatever its character set is."""
_PLACE: Final = re.compile(r"\{([^{}]*)\}")
_ROWS: Final = re.compile(r"([0-9]{1,3})(?: to ([0-9]{1,3}))?")
_FRAME_PLACE: Final = re.compile(r"row ([0-9]{1,3}) column ([0-9]{1,3})")
_CONTROL: Final = re.compile(r"(?:ctrl|ctl|control)[ _+-]*|\^")
_FIGURES: Final = re.compile(r"[0-9]+")
_PARTS: Final = re.compile(r"[\W_]+")
_YEAR_RULE: Final = re.compile(r"fixed ([0-9]{4})")


_BREAK: Final = re.compile(r"(?:.*\W)?(?:(?:long|short|send|line)\W?)?(?:break|brk)(?:\W.*)?", re.IGNORECASE)
BY_A_PERSON: Final = "a hands-on step, in which a person sends the BREAK"
NO_BREAK: Final = "a script can't send BREAK, because it can halt the processor in the middle of anything"


class ValueMistake(ValueError):
    """A value is impossible: `what` is wrong, and what to write instead."""

    def __init__(self, what: str, write_instead: str) -> None:
        super().__init__(f"{what}; write {write_instead}")
        self.what = what
        self.write_instead = write_instead


def intended_name(word: str, known: Iterable[str]) -> str:
    """Return the name in `known` that was misspelt as `word`; "" if none is close, or two are equally close.

    A different name is not a misspelling: on and off, upper and lower, sallow-1 and sallow-2 are never taken
    for each other, because people copy what is proposed.
    """
    listed = tuple(known)
    return word if word in listed else _misspelt(word, listed)


@lru_cache(maxsize=4096)
def _misspelt(word: str, known: tuple[str, ...]) -> str:
    slips = sorted((slips, other) for other in set(known) if (slips := _slips(word, other)) is not None)
    return slips[0][1] if slips and (len(slips) == 1 or slips[0][0] < slips[1][0]) else ""


def _slips(word: str, other: str) -> int | None:
    """Count the typing errors between two names; None if they are different names."""
    figures = [_FIGURES.findall(name) for name in (word, other)]
    if figures[0] != figures[1]:
        return None
    parts, others = _PARTS.split(word), _PARTS.split(other)
    if len(parts) == len(others):
        each = [_slips_in_a_word(part, whole) for part, whole in zip(parts, others, strict=True)]
        return None if None in each or sum(map(bool, each)) > 2 else sum(filter(None, each))
    # A space or a hyphen is missing or was added.
    return _slips_in_a_word("".join(parts), "".join(others))


def _slips_in_a_word(word: str, other: str) -> int | None:
    slips = _distance(word, other)
    shorter = min(len(word), len(other))
    if slips == 0:
        return 0
    if slips == 1:
        same_letters = word.startswith(other) or other.startswith(word)
        return 1 if shorter > 2 or (shorter == 2 and same_letters) else None
    return 2 if slips == 2 and shorter >= 6 and word[0] == other[0] else None


def _distance(word: str, other: str) -> int:
    """Count the letters added, missing, wrong or swapped with the next one; 3 can mean more."""
    if abs(len(word) - len(other)) > 2:
        return 3
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(word):
        before, above, row = row, before, [i + 1]
        for j, wanted in enumerate(other):
            cost = min(before[j] + (letter != wanted), before[j + 1] + 1, row[j] + 1)
            if i and j and letter == other[j - 1] and word[i - 1] == wanted:
                cost = min(cost, above[j - 1] + 1)
            row.append(cost)
    return row[-1]


def key_pressed(text: str) -> bytes:
    """Return what a key sends. Raises ValueMistake for a text that names no key, and for BREAK."""
    if is_break(text):
        raise ValueMistake(NO_BREAK, BY_A_PERSON)
    if text in _NAMED_KEYS:
        return _NAMED_KEYS[text]
    if len(text) == 1 and "!" <= text <= "~":
        return text.encode("ascii")
    control, _, letter = text.partition(" ")
    if control == "control" and len(letter) == 1 and "A" <= letter <= "Z":
        return bytes([ord(letter) - 64])
    lowered = _CONTROL.sub("control ", text.lower())
    near = intended_name(lowered, [*_NAMED_KEYS, *(f"control {chr(code)}".lower() for code in range(65, 91))])
    if near.startswith("control "):
        near = f"control {near[-1].upper()}"
    raise ValueMistake(
        f'"{text}" is not a key',
        f'"{near}"'
        if near
        else '"return", "rubout", "escape", "space", "control A" to "control Z" or a single character',
    )


def is_break(text: str) -> bool:
    """Whether a name or a key means BREAK."""
    return _BREAK.fullmatch(text.replace("_", "-")) is not None


def key_or_none(text: str) -> bytes:
    """Return what a key sends; b"" for "none". Raises ValueMistake for a text that names no key."""
    return b"" if text == "none" else key_pressed(text)


def row_range(text: str) -> tuple[int, int]:
    """Return the first and the last row, counted from 1, of "3" or "6 to 15". Raises ValueMistake."""
    found = _ROWS.fullmatch(text)
    if found is None:
        raise ValueMistake(f'"{text}" names no rows', '"3" for one row, or "6 to 15" for several')
    first = int(found[1])
    last = int(found[2] or first)
    if not 1 <= first <= last <= MOST_ROWS:
        what = f'"{text}" is not a range of rows, which are counted from 1 at the top'
        raise ValueMistake(what, 'a range such as "6 to 15"')
    return first, last


def frame_end(text: str) -> FrameEnd:
    """Return where the cursor rests, or for how long the line is quiet, when a frame ends.

    Raises ValueMistake.
    """
    found = _FRAME_PLACE.fullmatch(text)
    if found is not None:
        place = int(found[1]), int(found[2])
        if 1 <= place[0] <= MOST_ROWS and 1 <= place[1] <= MOST_COLUMNS:
            return place, None
    elif text.startswith("quiet "):
        try:
            return None, duration_us(text.removeprefix("quiet "))
        except UnitMistake as mistake:
            raise ValueMistake(mistake.what, f"quiet and a time: {mistake.write_instead}") from mistake
    raise ValueMistake(
        f'"{text}" does not say when a frame ends',
        '"row 24 column 1" (where the cursor then rests) or "quiet 400 ms"',
    )


def year_rule(text: str) -> YearRule:
    """Return how a calendar's year is chosen, and the year if it is fixed, else 0. Raises ValueMistake."""
    if text == "as it is":
        return "as it is", 0
    if text == "stand-in":
        return "stand-in", 0
    if text == "ask":
        return "ask", 0
    found = _YEAR_RULE.fullmatch(text)
    if found is None:
        near = intended_name(text, ["as it is", "stand-in", "ask"])
        near = "as it is" if text == "as is" else "fixed 1985" if text == "fixed" else near
        raise ValueMistake(
            f'"{text}" is not a rule for choosing the year',
            f'"{near}"' if near else '"as it is", "stand-in", "fixed 1985" or "ask"',
        )
    return "fixed", int(found[1])


@lru_cache(maxsize=4096)
def pattern_of(text: str, places_alone: bool) -> Pattern:
    """Return the pattern that the text describes. Raises ValueMistake."""
    strange = next(
        (
            c
            for c in _PLACE.sub("", text)
            if not (is_printed(c, "utf-8") or c.isspace() or c in PRINTED_ANYWHERE)
        ),
        "",
    )
    if strange:
        raise ValueMistake(
            f'"{text}" is never printed, because no console prints "{strange}"',
            "the line exactly as the machine prints it",
        )
    try:
        return Pattern(text, places_alone=places_alone)
    except PatternMistake as mistake:
        raise ValueMistake(
            f'"{text}" cannot be used as a pattern: {mistake}',
            "the line as the machine prints it, with a place such as {job: number} for each part that varies",
        ) from mistake


def places_of(text: str) -> dict[str, str]:
    """Return the named places of a pattern's text, with their kinds: number, word or text."""
    named = (inner.partition(":") for inner in _PLACE.findall(text))
    return {name.strip(): kind_named(kind) for name, colon, kind in named if colon}
