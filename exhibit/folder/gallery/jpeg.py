"""What a photograph is like as a recording keeps it, and whether one that comes from elsewhere is like that.

Only its header is read: a few thousand bytes can hold a picture of billions of points, and a browser makes
room for all of them.
"""

from __future__ import annotations

from typing import Final

LONGEST_SIDE_PX: Final = 1000
"""About as many as the largest screen has for the tallest part."""
MOST_BYTES: Final = 60_000
_BEGINS: Final = b"\xff\xd8"
_MARK: Final = 0xFF
_FRAME: Final = 0xC0
"""Where a picture that is told once from top to bottom says its size. We write no others, and of those that
are told again and again, each time more finely, a small file can keep a browser busy for long."""
_BEFORE_FRAME: Final = frozenset({0xC4, 0xDB, 0xDD, 0xFE, *range(0xE0, 0xF0)})
"""Tables, notes and what programs add: each says how long it is."""


def is_as_kept(jpeg: bytes) -> bool:
    """Whether this begins like a JPEG as we encode it, and is no larger, in bytes and in points."""
    size = _size(jpeg) if len(jpeg) <= MOST_BYTES and jpeg.startswith(_BEGINS) else None
    return size is not None and min(size) > 0 and max(size) <= LONGEST_SIDE_PX


def _size(jpeg: bytes) -> tuple[int, int] | None:
    """Height and width; None if the file's pieces don't lead to them."""
    at = len(_BEGINS)
    while at + 9 <= len(jpeg) and jpeg[at] == _MARK:
        if jpeg[at + 1] == _FRAME:
            return int.from_bytes(jpeg[at + 5 : at + 7]), int.from_bytes(jpeg[at + 7 : at + 9])
        if jpeg[at + 1] not in _BEFORE_FRAME:
            return None
        at += 2 + int.from_bytes(jpeg[at + 2 : at + 4])
    return None
