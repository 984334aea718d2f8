"""Received bytes are recorded singly after quiet and in pieces while they flow.

    for piece in keeper.add(data, at_us):      # what is full, over, or came after quiet
        writer.append(piece.fact, piece.at_us)
    ...
    due_us = keeper.due_us()
    if due_us is not None and clock.now_us() >= due_us: piece = keeper.take()

Before any other fact is appended, take() the open piece and append it: facts then stand in the
order of their times.
"""

from __future__ import annotations

import msgspec

from exhibit.facts.kinds import BytesReceived, to_text

PIECE_US = 40_000
PIECE_BYTES = 256


class Piece(msgspec.Struct, frozen=True):
    """A piece that is over, and the time of its last byte."""

    fact: BytesReceived
    at_us: int


class PieceKeeper:
    """Gathers received bytes into pieces of at most PIECE_US and PIECE_BYTES."""

    def __init__(self) -> None:
        self._open = bytearray()
        self._first_us = 0
        self._last_us: int | None = None

    def add(self, data: bytes, at_us: int) -> list[Piece]:
        """Take bytes that arrived together; give the pieces that are over by now, often none.

        What arrives after more than PIECE_US of quiet is given back at once: the echo of a key mustn't wait.
        An `at_us` before that of the last byte counts as that.
        """
        if not data:
            return []
        after_quiet = self._last_us is None or at_us - self._last_us > PIECE_US
        at_us = at_us if self._last_us is None else max(at_us, self._last_us)
        over = []
        # A byte that is due together with the piece's end already belongs to the next one.
        if self._open and at_us - self._first_us >= PIECE_US:
            over += self._taken()
        self._last_us = at_us
        for start in range(0, len(data), PIECE_BYTES):
            for part in self._fitted(data[start : start + PIECE_BYTES]):
                if not self._open:
                    self._first_us = at_us
                self._open += part
                if len(self._open) == PIECE_BYTES:
                    over += self._taken()
        if after_quiet:
            over += self._taken()
        return over

    def take(self) -> Piece | None:
        """End the open piece and give it; None when none is open."""
        taken = self._taken()
        return taken[0] if taken else None

    def due_us(self) -> int | None:
        """When the open piece must be taken; None when none is open."""
        return self._first_us + PIECE_US if self._open else None

    def _fitted(self, data: bytes) -> list[bytes]:
        room = PIECE_BYTES - len(self._open)
        return [data[:room], data[room:]] if len(data) > room else [data]

    def _taken(self) -> list[Piece]:
        if not self._open or self._last_us is None:
            return []
        piece = Piece(BytesReceived(bytes=to_text(bytes(self._open)), first_us=self._first_us), self._last_us)
        self._open.clear()
        return [piece]
