"""Received bytes are recorded singly after quiet and in pieces while they flow.

    for piece in keeper.add(data, at_us):      # pieces that are full or over
        writer.append(piece.fact, piece.at_us)
    ...
    if (due := keeper.due_us()) is not None and clock.now_us() >= due: piece = keeper.take()

Before any other fact is appended, take() the open piece and append it: facts then stand in the
order of their times.
"""

from __future__ import annotations

import msgspec

from exhibit.facts.kinds import BytesReceived

PIECE_US = 40_000
PIECE_BYTES = 256


class Piece(msgspec.Struct, frozen=True):
    """A piece that is over, and the time of its last byte."""

    fact: BytesReceived
    at_us: int


class PieceKeeper:
    """Gathers received bytes into pieces of at most PIECE_US and PIECE_BYTES."""

    def add(self, data: bytes, at_us: int) -> list[Piece]:
        """Take bytes that arrived together; give the pieces that are over by now, often none.

        What arrives after more than PIECE_US of quiet is given back at once.
        """
        raise NotImplementedError

    def take(self) -> Piece | None:
        """End the open piece and give it; None when none is open."""
        raise NotImplementedError

    def due_us(self) -> int | None:
        """When the open piece must be taken; None when none is open."""
        raise NotImplementedError
