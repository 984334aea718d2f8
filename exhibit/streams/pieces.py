"""Gathers received bytes into pieces: a fact for each byte would make recordings far too large.

    for piece in keeper.add(data, at_us):      # those that are full, out of time, or came after quiet
        writer.append(piece.fact, piece.at_us)
    ...
    due_us = keeper.due_us()
    if due_us is not None and clock.now_us() >= due_us: piece = keeper.take_due(clock.now_us())

Before appending any other fact, append the open piece (take()), so that facts are in the order of their
times.
"""

from __future__ import annotations

import msgspec

from exhibit.facts.kinds import BytesReceived, to_text

PIECE_US = 40_000
PIECE_BYTES = 256
_CHARACTERS_OF_PAUSE = 2
"""A burst is over once this many characters could have come and none did."""


class Piece(msgspec.Struct, frozen=True):
    """A finished piece, and the time of its last byte."""

    fact: BytesReceived
    at_us: int


class PieceKeeper:
    """Gathers received bytes into pieces of at most PIECE_US and PIECE_BYTES.

    `character_us` is how long a character takes on the line. A burst of bytes that began after quiet is over
    when nothing more comes for two characters' time, and its rest is then due: a machine's short answer isn't
    held up. Only the first pause of a burst counts, so that bytes that come in handfuls, as some adapters
    bring them, don't make as many pieces.
    """

    def __init__(self, character_us: float = PIECE_US) -> None:
        self._pause_us = min(round(_CHARACTERS_OF_PAUSE * character_us), PIECE_US)
        self._open = bytearray()
        self._first_us = 0
        self._last_us: int | None = None
        self._unbroken = False
        """What came since the last quiet came without a pause."""

    def add(self, data: bytes, at_us: int) -> list[Piece]:
        """Add bytes that arrived together. Returns the pieces that are finished now, often none.

        Bytes that arrive after more than PIECE_US of quiet are returned at once, since the echo of a key must
        not be delayed. An `at_us` before that of the last byte is raised to it.
        """
        if not data:
            return []
        after_quiet = self._last_us is None or at_us - self._last_us > PIECE_US
        at_us = at_us if self._last_us is None else max(at_us, self._last_us)
        finished = []
        # A byte that arrives exactly when the piece ends belongs to the next one.
        if self._open and at_us - self._first_us >= PIECE_US:
            finished += self._end_piece()
        self._last_us = at_us
        for start in range(0, len(data), PIECE_BYTES):
            for part in self._split_at_piece_end(data[start : start + PIECE_BYTES]):
                if not self._open:
                    self._first_us = at_us
                self._open += part
                if len(self._open) == PIECE_BYTES:
                    finished += self._end_piece()
        if after_quiet:
            finished += self._end_piece()
            self._unbroken = True
        return finished

    def take(self) -> Piece | None:
        """End the open piece and return it; None if no piece is open."""
        taken = self._end_piece()
        return taken[0] if taken else None

    def take_due(self, now_us: int) -> Piece | None:
        """The open piece, if it is due by now; None if it isn't, or none is open."""
        due_us = self.due_us()
        if due_us is None or due_us > now_us:
            return None
        self._unbroken = self._unbroken and due_us == self._first_us + PIECE_US
        return self.take()

    def due_us(self) -> int | None:
        """When the open piece has to be taken if nothing more comes; None if no piece is open."""
        if not self._open or self._last_us is None:
            return None
        due_us = self._first_us + PIECE_US
        return min(due_us, self._last_us + self._pause_us) if self._unbroken else due_us

    def _split_at_piece_end(self, data: bytes) -> list[bytes]:
        room = PIECE_BYTES - len(self._open)
        return [data[:room], data[room:]] if len(data) > room else [data]

    def _end_piece(self) -> list[Piece]:
        if not self._open or self._last_us is None:
            return []
        piece = Piece(BytesReceived(bytes=to_text(bytes(self._open)), first_us=self._first_us), self._last_us)
        self._open.clear()
        return [piece]
