"""Whether a command and a pattern, both with places in them, can become the same text.

Each is turned into a row of slots, one character or more to a slot, and the two rows are walked through side
by side. Numbers, words and texts are taken generously (1.1.1 counts as a number), so that no way of filling
the places is overlooked.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final, NamedTuple

from exhibit.decisions.machine.filling import PLACE, STEP_FIELD
from exhibit.decisions.machine.pattern import Pattern, kind_named


class _Slot(NamedTuple):
    """Characters out of a set: exactly one, at most one, or any number of them."""

    characters: int
    """A bit for each ASCII character that fits here."""
    least: int
    """0 or 1: how many characters there are at least."""
    repeats: bool


@lru_cache(maxsize=256)
def _set(characters: str) -> int:
    return sum(1 << ord(character) for character in set(characters))


_ANY: Final = _set("".join(map(chr, range(32, 127))))
_NO_SPACE: Final = _ANY & ~_set(" ")
_FIGURES: Final = _set("0123456789")
_LETTERS: Final = _set("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
_FIGURE: Final = [
    _Slot(_set("+-"), 0, False),
    _Slot(_FIGURES, 1, False),
    _Slot(_FIGURES | _set("."), 0, True),
]
_KINDS: Final = {
    "number": _FIGURE,
    "word": [_Slot(_NO_SPACE, 1, False), _Slot(_NO_SPACE, 0, True)],
    "text": [_Slot(_NO_SPACE, 1, False), _Slot(_ANY, 0, True)],
    "...": [_Slot(_ANY, 0, True)],
}
_DATE_FIGURES: Final = [_Slot(_FIGURES, 1, False), _Slot(_FIGURES, 0, True)]
_DATE_WORDS: Final = [_Slot(_LETTERS, 1, False), _Slot(_LETTERS, 0, True)]


@lru_cache(maxsize=4096)
def fits_a_beginning(command: str, never: Pattern) -> str:
    """The shortest beginning of the command that could fit the pattern if its places were filled suitably.

    Empty if none could. Dates must already be written as their calendars write them (`with_dates`).
    """
    typed, ends = _of_command(command)
    forbidden = _of_pattern(never.text)
    reached = _reached(typed, forbidden)
    fitting = [here for here, there in reached if ends[here] and _is_over(forbidden, there)]
    return ends[min(fitting)] if fitting else ""


def shortest(pattern: Pattern) -> int:
    """The length in characters of the shortest line that fits the pattern."""
    pieces = PLACE.split(" ".join(pattern.text.split()))
    filled = (
        ("" if piece.strip() == "..." else "1") if index % 2 else piece for index, piece in enumerate(pieces)
    )
    return len(" ".join("".join(filled).split()))


def can_both_fit(one: Pattern, other: Pattern) -> bool:
    """Whether the same line could fit both patterns if their places were filled suitably."""
    these, those = _of_pattern(one.text), _of_pattern(other.text)
    return any(_is_over(these, here) and _is_over(those, there) for here, there in _reached(these, those))


def same_text(one: Pattern, other: Pattern) -> bool:
    """Whether the two differ at most in the names of their places."""
    return without_names(one) == without_names(other)


@lru_cache(maxsize=1024)
def without_names(pattern: Pattern) -> str:
    """The pattern's text without the names of its places."""
    unnamed = PLACE.sub(lambda place: "{" + kind_named(place[1].partition(":")[2]) + "}", pattern.text)
    return " ".join(unnamed.split())


def _reached(these: list[_Slot], those: list[_Slot]) -> set[tuple[int, int]]:
    """The pairs of positions, one in each row, that the same text can lead to."""
    todo = _skipping(these, those, {(0, 0)})
    reached: set[tuple[int, int]] = set()
    while todo:
        reached |= todo
        onward = set()
        for here, there in todo:
            if here == len(these) or there == len(those):
                continue
            if these[here].characters & those[there].characters:
                nexts = [here + 1, here] if these[here].repeats else [here + 1]
                theres = [there + 1, there] if those[there].repeats else [there + 1]
                onward |= {(a, b) for a in nexts for b in theres}
        todo = _skipping(these, those, onward) - reached
    return reached


def _skipping(
    typed: list[_Slot], forbidden: list[_Slot], states: set[tuple[int, int]]
) -> set[tuple[int, int]]:
    """These pairs of positions, and those that can be reached from them without a character."""
    found = set(states)
    todo = list(states)
    while todo:
        here, there = todo.pop()
        nexts = []
        if here < len(typed) and not typed[here].least:
            nexts.append((here + 1, there))
        if there < len(forbidden) and not forbidden[there].least:
            nexts.append((here, there + 1))
        for state in nexts:
            if state not in found:
                found.add(state)
                todo.append(state)
    return found


def _is_over(forbidden: list[_Slot], there: int) -> bool:
    """Whether the rest of the pattern can be empty, or one space: spaces at a line's end don't count."""
    space = _set(" ")
    return all(not slot.least or slot.characters & space for slot in forbidden[there:]) and (
        sum(slot.least for slot in forbidden[there:]) <= 1
    )


@lru_cache(maxsize=256)
def _of_pattern(text: str) -> list[_Slot]:
    places: list[_Slot] = []
    for index, piece in enumerate(PLACE.split(text.strip())):
        if index % 2:
            kind = kind_named(piece.partition(":")[2]) or "..."
            if kind == "number":  # a number can be padded with spaces
                places.append(_Slot(_set(" "), 0, True))
            places += _KINDS[kind]
            continue
        for run in re.findall(r"\s+|\S", piece):
            if run.isspace():
                places += [_Slot(_set(" "), 1, False), _Slot(_set(" "), 0, True)]
            else:
                places.append(_Slot(_set(run) & _ANY, 1, False))
    return places


def _of_command(command: str) -> tuple[list[_Slot], list[str]]:
    """The command's slots, and for each position the beginning of the command that ends there."""
    # If a pattern's first place is empty, the space after it still needs a slot to fit.
    places = [_Slot(_set(" "), 0, False)]
    ends = ["", ""]
    begun = ""
    for index, piece in enumerate(PLACE.split(command)):
        if index % 2:
            begun += f"{{{piece}}}"
            more = _DATE_WORDS if piece.strip() == "month name" else _DATE_FIGURES
            more = _FIGURE if STEP_FIELD.fullmatch(piece.strip()) else more
        else:
            more = [_Slot(_set(character) & _ANY, 1, False) for character in piece]
        for number, slot in enumerate(more):
            places.append(slot)
            ends.append(begun if index % 2 else begun + piece[: number + 1])
        begun += "" if index % 2 else piece
    return places, ends
