"""What has just gone along the cable between the machine and its console, for pages that draw it.

It is gone after two seconds and isn't part of the picture: a page that asks later doesn't get it.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import Any, Final, Literal

import msgspec

from exhibit.facts import kinds

MOST_PIECES: Final = 8
NEW_FOR_US: Final = 2_000_000


class _Piece(msgspec.Struct, frozen=True):
    """Characters that were recorded together."""

    seq: int
    at_us: int
    way: Literal["received", "typed"]
    count: int
    text: str
    """What was typed; empty for a secret, and for what was received, which the console shows."""


_ON_CABLE: Final = frozenset({kinds.BytesReceived, kinds.BytesTyped, kinds.TypedByHand, kinds.SecretTyped})


class Cable:
    """Keeps the last pieces."""

    def __init__(self) -> None:
        self._last: deque[kinds.Entry | _Piece] = deque(maxlen=MOST_PIECES)

    def take(self, entry: kinds.Entry) -> None:
        """Take in one fact of any kind."""
        if type(entry.fact) in _ON_CABLE:
            self._last.append(entry)

    def pieces(self, after_seq: int, at_us: int, wall: Callable[[int], str]) -> list[dict[str, Any]]:
        """Those newer than fact `after_seq`, and at `at_us` at most two seconds old."""
        return [
            {"seq": one.seq, "way": one.way, "count": one.count, "text": one.text, "at": wall(one.at_us)}
            for one in map(_piece, self._last)
            if one.seq > after_seq and at_us - one.at_us <= NEW_FOR_US
        ]

    def snapshot(self) -> list[dict[str, Any]]:
        """As plain JSON values."""
        kept: list[dict[str, Any]] = msgspec.to_builtins(list(map(_piece, self._last)))
        return kept

    def restore(self, kept: list[dict[str, Any]]) -> None:
        """Go on from a snapshot."""
        self._last.clear()
        self._last.extend(msgspec.convert(kept, list[_Piece]))


def _piece(one: kinds.Entry | _Piece) -> _Piece:
    """The piece that this entry is; few entries are ever asked about."""
    if isinstance(one, _Piece):
        return one
    match one.fact:
        case kinds.BytesReceived(bytes=text):
            return _Piece(one.seq, one.at_us, "received", len(text), "")
        case kinds.BytesTyped(secret=False) | kinds.TypedByHand(secret=False) as typed:
            return _Piece(one.seq, one.at_us, "typed", typed.count, typed.bytes)
        case _:
            return _Piece(one.seq, one.at_us, "typed", 1, "")  # nothing may tell how many
