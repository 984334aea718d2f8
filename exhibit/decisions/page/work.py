"""How busy the machine is, for the visitor page: share of the processor, transfers, and what is printed.

Pure sums over what the page remembers. All times are on the recording's own clock.
"""

from __future__ import annotations

from typing import Any

TRACE_S = 600
"""How much to keep: ten minutes of the machine's time."""
MOST_POINTS = 150
PIECE_S = 10
"""Characters are counted in pieces of this length."""


def trace_with(points: list[list[float]], at_s: float, share: float) -> list[list[float]]:
    """The points [s, per cent] of the last ten minutes, with one more."""
    kept = [point for point in points if point[0] > at_s - TRACE_S]
    return [*kept[-MOST_POINTS:], [at_s, share]]


def transfers_now(had: dict[str, Any] | None, total: float, at_s: float, at: str) -> dict[str, Any]:
    """All transfers so far, and how many a minute since the last reading (None if unknown)."""
    per_min = None
    if had and at_s > had["at_s"] and total >= had["total"]:
        per_min = round((total - had["total"]) * 60 / (at_s - had["at_s"]))
    return {"total": total, "at_s": at_s, "at": at, "per_min": per_min}


class Printed:
    """Counts the characters that the machine sends, in pieces of ten seconds."""

    def __init__(self) -> None:
        self._piece = 0
        self._count = 0

    def take(self, at_us: int, characters: int) -> list[list[int]]:
        """Count characters that arrived at `at_us`. Returns the pieces [s, characters] that have ended."""
        piece = at_us // (PIECE_S * 1_000_000)
        ended: list[list[int]] = []
        if piece != self._piece:
            if self._count:
                ended.append([self._piece * PIECE_S, self._count])
            self._piece, self._count = piece, 0
        self._count += characters
        return ended

    def snapshot(self) -> list[int]:
        """As plain JSON values."""
        return [self._piece, self._count]

    def restore(self, kept: list[int]) -> None:
        """Go on from a snapshot."""
        self._piece, self._count = kept


def pieces_with(pieces: list[list[int]], ended: list[list[int]]) -> list[list[int]]:
    """The pieces of the last ten minutes, including those that have just ended."""
    return [piece for piece in [*pieces, *ended] if piece[0] > ended[-1][0] - TRACE_S]
