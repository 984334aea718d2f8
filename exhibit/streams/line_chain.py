"""Checks the lines of a recording one after another, and finds the way again after damage."""

from __future__ import annotations

import msgspec

from exhibit.facts import codec
from exhibit.facts.codec import LineDamaged
from exhibit.facts.kinds import Entry

# So much is looked through for a first line that is whole before a file counts as something else.
_STRANGE_BYTES = 1024 * 1024


class Position(msgspec.Struct, frozen=True):
    """A place between two lines: what a reader must know to go on from there."""

    offset_bytes: int = 0
    seq: int = 0
    """Of the last entry before this place."""
    at_us: int = 0
    crc: str = codec.FIRST_CRC.decode()
    """The digits stored at the end of the line before this place."""
    damages: int = 0
    """How many damaged places were passed on the way."""


START = Position()


class Damaged(msgspec.Struct, frozen=True):
    """Bytes of a recording that aren't what was once written.

    Entries that come after are whole, but facts that stood here are missing.
    """

    offset_bytes: int
    length_bytes: int
    why: str
    torn: bool = False
    """A last line without its end: the writer was killed in the middle of it, or is still writing it."""


class LineChain:
    """Takes each line in turn; gives its entry, or gathers it into the damage that `passed` gives."""

    def __init__(self, start: Position = START, format_number: int | None = None) -> None:
        """Begin at `start`; `format_number` is needed unless that is START."""
        self.offset_bytes = start.offset_bytes
        self.seq = start.seq
        self.at_us = start.at_us
        self.damages = start.damages
        self._crc = start.crc.encode()
        # After a damaged line: what its checksum would have been if only the digits themselves were hit.
        self._other_crc: bytes | None = None
        self._format = format_number
        self._damage: Damaged | None = None
        self._passed: list[Damaged] = []
        self._before_damage = start

    @property
    def position(self) -> Position:
        """Behind the last whole line that was taken."""
        if self._damage is not None:
            return self._before_damage
        return Position(self.offset_bytes, self.seq, self.at_us, self._crc.decode(), self.damages)

    def take(self, line: bytes) -> Entry | None:
        """Give the entry on the next line, newline included, or None if the line is damaged.

        Raises RecordingFault if the file isn't a recording or is of a newer format.
        """
        try:
            entry = self._checked(line)
        except LineDamaged as damage:
            self._mark(line, str(damage))
            return None
        self.offset_bytes += len(line)
        self.seq = entry.seq
        self.at_us = entry.at_us
        self._crc = line[-11:-3]
        if self._damage is not None:
            self._other_crc = None
            self._end_damage()
        return entry

    def finish(self) -> Position:
        """The file has ended: give the place behind its last whole line.

        Raises RecordingFault if there was no whole line in it.
        """
        if self._format is None:
            raise codec.not_a_recording()
        end = self.position
        self._end_damage()
        return end

    def passed(self) -> list[Damaged]:
        """The damage that is over since this was last asked, neighbouring lines taken together."""
        passed, self._passed = self._passed, []
        return passed

    def _checked(self, line: bytes) -> Entry:
        if not codec.is_whole(line, self._crc) and not (
            self._other_crc is not None and codec.is_whole(line, self._other_crc)
        ):
            raise LineDamaged("its checksum is wrong" if line.endswith(b"\n") else "its end is missing")
        if self._format is None:
            # Without a sound first line nothing says of what format the others are: try the newest.
            self._format = codec.format_of(line) if self.offset_bytes == 0 else codec.FORMAT
        entry = codec.decode_whole_line(line, self._format)
        if entry.seq <= self.seq or (self._damage is None and entry.seq != self.seq + 1):
            raise LineDamaged(f"its number {entry.seq} doesn't follow {self.seq}")
        if entry.at_us < self.at_us:
            raise LineDamaged("its time goes back")
        return entry

    def _mark(self, line: bytes, why: str) -> None:
        torn = not line.endswith(b"\n") and len(line) < codec.MAX_LINE_BYTES
        if self._damage is None:
            self._before_damage = self.position
            self._damage = Damaged(self.offset_bytes, len(line), why, torn)
            self.damages += 1
        else:
            begun = self._damage
            length_bytes = begun.length_bytes + len(line)
            self._damage = Damaged(begun.offset_bytes, length_bytes, begun.why, begun.torn or torn)
        self.offset_bytes += len(line)
        self._other_crc = codec.line_crc(line, self._crc)
        self._crc = line[-11:-3]
        if self._format is None and self.offset_bytes > _STRANGE_BYTES:
            raise codec.not_a_recording()

    def _end_damage(self) -> None:
        if self._damage is not None:
            self._passed.append(self._damage)
            self._damage = None
