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


class Cable:
    """Keeps the last pieces."""

    def __init__(self) -> None:
        self._last: deque[_Piece] = deque(maxlen=MOST_PIECES)

    def take(self, entry: kinds.Entry) -> None:
        """Take in one fact of any kind."""
        if type(entry.fact) is kinds.BytesReceived:  # nearly all facts are
            self._last.append(_Piece(entry.seq, entry.at_us, "received", len(entry.fact.bytes), ""))
            return
        match entry.fact:
            case kinds.BytesTyped() | kinds.TypedByHand() as typed:
                text = "" if typed.secret else typed.bytes
                piece = _Piece(entry.seq, entry.at_us, "typed", 1 if typed.secret else typed.count, text)
            case kinds.SecretTyped():
                piece = _Piece(entry.seq, entry.at_us, "typed", 1, "")  # nothing may tell how many
            case _:
                return
        self._last.append(piece)

    def pieces(self, after_seq: int, at_us: int, wall: Callable[[int], str]) -> list[dict[str, Any]]:
        """Those newer than fact `after_seq`, and at `at_us` at most two seconds old."""
        return [
            {"seq": one.seq, "way": one.way, "count": one.count, "text": one.text, "at": wall(one.at_us)}
            for one in self._last
            if one.seq > after_seq and at_us - one.at_us <= NEW_FOR_US
        ]

    def snapshot(self) -> list[dict[str, Any]]:
        """As plain JSON values."""
        kept: list[dict[str, Any]] = msgspec.to_builtins(list(self._last))
        return kept

    def restore(self, kept: list[dict[str, Any]]) -> None:
        """Go on from a snapshot."""
        self._last.clear()
        self._last.extend(msgspec.convert(kept, list[_Piece]))
