"""Recognises where an interruption starts: on a line of its own, or behind other text on the same line.

A machine that starts no new line for a broadcast prints it behind a prompt, or in the middle of an echo.
Whoever asks here knows what may stand before it. Only an interruption whose pattern begins with text of its
own can be found there: if the pattern begins with a place, anything could be its beginning.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import Final

from exhibit.decisions.machine.description import Interruption

LONGEST_LINES: Final = 60
"""A longer interruption has lost its end: it counts as over, or it would swallow everything that follows."""
MOST_PLACES: Final = 8
"""In how many places of a line to look for the beginning of one interruption."""
_SPACES: Final = re.compile(r"\s+")


class Interruptions:
    """The interruptions of one machine."""

    def __init__(self, known: Sequence[Interruption]) -> None:
        self._known = known
        self._with_head = [(known, known.starts.head) for known in known if known.starts.head]

    def starting(self, line: str) -> Interruption | None:
        """The one whose first line this whole line is."""
        return next((known for known in self._known if known.starts.match(line) is not None), None)

    def starting_within(self, line: str) -> Iterator[tuple[str, str, Interruption]]:
        """Where one may start behind other text: that text, the rest of the line, and which one it is."""
        for known, head in self._with_head:
            word = head.split(" ", 1)[0]
            place = 0
            for _ in range(MOST_PLACES):
                place = line.find(word, place + 1)
                if place < 0:
                    break
                before, rest = line[:place], line[place:]
                if before.strip() and known.starts.match(rest) is not None:
                    yield before, rest, known

    def may_begin(self, text: str) -> bool:
        """Whether this can be the beginning of the first line of one of them. A blank isn't."""
        if text[:1] == " ":
            return False
        begun = _SPACES.sub(" ", text)
        return any(begun.startswith(head) or head.startswith(begun) for _, head in self._with_head)


def is_over(interruption: Interruption, lines: list[str]) -> bool:
    """Whether the last of these lines ends the interruption."""
    if len(lines) == LONGEST_LINES:
        return True
    if interruption.ends is not None:
        return interruption.ends.match(lines[-1]) is not None
    if interruption.blank_lines:
        return sum(not line.strip() for line in lines) == interruption.blank_lines
    return len(lines) >= interruption.lines
