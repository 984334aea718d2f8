"""How a command came back wrong: a character that wasn't echoed, another one in its place, or something else.

Typing stops at the first wrong character, so each such command has one place that can be named. Whether a
character was lost or changed on its way to the machine or on its way back, an echo can't tell.
"""

from __future__ import annotations

import re
from typing import Final, Literal

from exhibit.decisions.console.echo import LONGEST_KEPT

Wrong = Literal["not echoed", "echoed as another", "something else came back"]
_NEW_LINE: Final = re.compile(r"(?:\\r|\\n)+")
"""As control codes are escaped where it is recorded what came back."""


def how_wrong(expected: str, came_back: str) -> Wrong:
    """What became of the first wrong character; `expected` is the echo of what had been typed."""
    if len(came_back) >= LONGEST_KEPT:
        return "something else came back"  # only its beginning was recorded
    # A machine that was asked to show the line again prints its prompt and the command on a new line.
    last = came_back if "\\" in expected else _NEW_LINE.split(came_back)[-1]
    if came_back and not last:
        return "something else came back"  # a new line came in its place
    if _ends_within(last, expected):
        return "not echoed"
    right = _right_before(last[:-1], expected)
    if right is None or right >= len(expected) or last[-1:] == expected[right : right + 1]:
        return "something else came back"
    return "not echoed" if last[-1] == expected[right + 1 : right + 2] else "echoed as another"


def _ends_within(last: str, expected: str) -> bool:
    """Whether all that came back is right, but isn't the whole."""
    count = _right_before(last, expected)
    return count is not None and count < len(expected)


def _right_before(text: str, expected: str) -> int | None:
    """How many characters of the command stand at the end of this text; None if it isn't the command's."""
    if expected.startswith(text):
        return len(text)
    for count in range(len(expected), 0, -1):
        before = text.removesuffix(expected[:count])
        if before != text and not before[-1:].isalnum():
            return count
    return None
