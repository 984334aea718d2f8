"""Whether two texts with places in them can come to the same text: walked through side by side.

Each is a row of places, a machine with few states. A number, a word or a text in it is taken generously
(1.1.1 counts as a number), so that no way of filling the places is overlooked.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final, NamedTuple

from exhibit.decisions.machine.filling import PLACE, STEP_FIELD
from exhibit.decisions.machine.pattern import Pattern


class _Some(NamedTuple):
    """One place of a text: a character out of a set, exactly one, at most one, or any number."""

    characters: int
    """A bit for each ASCII character that may stand here."""
    least: int
    repeats: bool


@lru_cache(maxsize=256)
def _set(characters: str) -> int:
    return sum(1 << ord(character) for character in set(characters))


_ANY: Final = _set("".join(map(chr, range(32, 127))))
_NO_SPACE: Final = _ANY & ~_set(" ")
_FIGURES: Final = _set("0123456789")
_LETTERS: Final = _set("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
_FIGURE: Final = [
    _Some(_set("+-"), 0, False),
    _Some(_FIGURES, 1, False),
    _Some(_FIGURES | _set("."), 0, True),
]
_KINDS: Final = {
    "number": _FIGURE,
    "word": [_Some(_NO_SPACE, 1, False), _Some(_NO_SPACE, 0, True)],
    "text": [_Some(_NO_SPACE, 1, False), _Some(_ANY, 0, True)],
    "...": [_Some(_ANY, 0, True)],
}
_DATE_FIGURES: Final = [_Some(_FIGURES, 1, False), _Some(_FIGURES, 0, True)]
_DATE_WORDS: Final = [_Some(_LETTERS, 1, False), _Some(_LETTERS, 0, True)]


@lru_cache(maxsize=4096)
def fits_a_beginning(command: str, never: Pattern) -> str:
    """The beginning of the command that could fit the pattern, however its places are filled.

    Empty if none can. Dates must be as their calendars write them already (`with_dates`).
    """
    said, ends = _of_command(command)
    forbidden = _of_pattern(never.text)
    reached = _reached(said, forbidden)
    fitting = [here for here, there in reached if ends[here] and _is_over(forbidden, there)]
    return ends[min(fitting)] if fitting else ""


def shortest(pattern: Pattern) -> int:
    """How many characters at least a line has that fits the pattern."""
    pieces = PLACE.split(" ".join(pattern.text.split()))
    filled = (
        ("" if piece.strip() == "..." else "1") if index % 2 else piece for index, piece in enumerate(pieces)
    )
    return len(" ".join("".join(filled).split()))


def same_text(one: Pattern, other: Pattern) -> bool:
    """Whether the two are the same but for the names of their places."""
    return without_names(one) == without_names(other)


@lru_cache(maxsize=1024)
def without_names(pattern: Pattern) -> str:
    """The pattern's text without the names of its places."""
    unnamed = PLACE.sub(lambda place: "{" + place[1].partition(":")[2].strip() + "}", pattern.text)
    return " ".join(unnamed.split())


def _reached(these: list[_Some], those: list[_Some]) -> set[tuple[int, int]]:
    """The pairs of places, one in each, that can be come to by the same text."""
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
    said: list[_Some], forbidden: list[_Some], states: set[tuple[int, int]]
) -> set[tuple[int, int]]:
    """These states and those that are reached without a character."""
    found = set(states)
    todo = list(states)
    while todo:
        here, there = todo.pop()
        nexts = []
        if here < len(said) and not said[here].least:
            nexts.append((here + 1, there))
        if there < len(forbidden) and not forbidden[there].least:
            nexts.append((here, there + 1))
        for state in nexts:
            if state not in found:
                found.add(state)
                todo.append(state)
    return found


def _is_over(forbidden: list[_Some], there: int) -> bool:
    """Whether nothing more need come; a space at the end of a line counts for nothing."""
    space = _set(" ")
    return all(not some.least or some.characters & space for some in forbidden[there:]) and (
        sum(some.least for some in forbidden[there:]) <= 1
    )


@lru_cache(maxsize=256)
def _of_pattern(text: str) -> list[_Some]:
    places: list[_Some] = []
    for index, piece in enumerate(PLACE.split(text.strip())):
        if index % 2:
            kind = piece.partition(":")[2].strip() or "..."
            if kind == "number":  # it may be filled up with spaces
                places.append(_Some(_set(" "), 0, True))
            places += _KINDS[kind]
            continue
        for run in re.findall(r"\s+|\S", piece):
            if run.isspace():
                places += [_Some(_set(" "), 1, False), _Some(_set(" "), 0, True)]
            else:
                places.append(_Some(_set(run) & _ANY, 1, False))
    return places


def _of_command(command: str) -> tuple[list[_Some], list[str]]:
    """What may stand where in a command, and the beginning of it that ends before each place."""
    # A pattern's first place may fit nothing, and leaves the space behind it to be fitted by this one.
    places = [_Some(_set(" "), 0, False)]
    ends = ["", ""]
    begun = ""
    for index, piece in enumerate(PLACE.split(command)):
        if index % 2:
            begun += f"{{{piece}}}"
            more = _DATE_WORDS if piece.strip() == "month name" else _DATE_FIGURES
            more = _FIGURE if STEP_FIELD.fullmatch(piece.strip()) else more
        else:
            more = [_Some(_set(character) & _ANY, 1, False) for character in piece]
        for number, some in enumerate(more):
            places.append(some)
            ends.append(begun if index % 2 else begun + piece[: number + 1])
        begun += "" if index % 2 else piece
    return places, ends
