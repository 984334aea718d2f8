"""How busy the machine is, for the visitor page: share of the processor, transfers, and what is printed.

Pure sums over what the page remembers. All times are on the recording's own clock.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from exhibit.decisions.page.item_store import ItemStore
from exhibit.facts import kinds

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
    rate = None
    if had and "past" not in had:
        rate = per_minute(had["total"], round(had["at_s"] * 1e6), total, round(at_s * 1e6))
    return {"total": total, "at_s": at_s, "at": at, "per_min": rate}


def per_minute(had: float, had_us: int, total: float, at_us: int) -> int | None:
    """How many a minute since the last count; None if that can't be said."""
    if at_us <= had_us or total < had:
        return None
    return round((total - had) * 60 * 1_000_000 / (at_us - had_us))


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


def take_reading(items: ItemStore, fact: kinds.ReadingTaken) -> None:
    """A value was read off a display."""
    taken: dict[str, Any] = {"at": items.now(), "frame": fact.frame}
    taken |= {"value": fact.value} if fact.table is None else {"table": fact.table}
    items.take_reading(fact.display, fact.name, taken)
    name = f"{fact.display}.{fact.name}"
    now = (items.value("recording") or {}).get("now") or {}
    at_s = round(items.at_us / 1e6, 1)
    if name in now.get("share", ()) and not isinstance(fact.value, str):
        items.set("trace", trace_with(items.value("trace") or [], at_s, fact.value))
    if name in now.get("transfers", ())[-1:]:
        _see_transfers(items, now["transfers"], at_s)


def _see_transfers(items: ItemStore, names: list[str], at_s: float) -> None:
    """Add up all transfers, once the last of them in a frame has been read."""
    total = 0.0
    for name in names:
        display, _, reading = name.partition(".")
        value = items.reading(display, reading).get("value")
        if isinstance(value, (int, float)):
            total += value
    items.set("disc", transfers_now(items.value("disc"), total, at_s, items.now()))


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {kinds.ReadingTaken: take_reading}
"""What each kind of fact does to the items."""
