"""Checks the lines of a recording one after another, and continues after damage."""

from __future__ import annotations

import msgspec

from exhibit.facts import codec
from exhibit.facts.codec import LineDamaged
from exhibit.facts.kinds import Entry, FactsMissing, RecordingOpened
from exhibit.streams.bounds import check_opened, is_within

# A file in which this many bytes hold no undamaged line is not a recording.
_MOST_UNREADABLE_BYTES = 1024 * 1024
# After so much without an undamaged line, the lines are no longer looked at one by one.
_MOST_DAMAGED_BYTES = 4 * codec.MAX_LINE_BYTES
_MOST_DAMAGED_LINES = 5_000
_MOST_RESUMED = 20
_SHORTEST_LINE_BYTES = len(b'{"seq":1,"at_us":0,"fact":"x"') + codec.TAIL_BYTES


class Position(msgspec.Struct, frozen=True):
    """A place between two lines: all that a reader needs to continue from there."""

    offset_bytes: int = 0
    seq: int = 0
    """The number of the last entry before this place."""
    at_us: int = 0
    crc: str = codec.FIRST_CRC.decode()
    """The checksum stored at the end of the line before this place."""
    damages: int = 0
    """How many damaged places there were before this one."""


START = Position()


class Damaged(msgspec.Struct, frozen=True):
    """Bytes of a recording that aren't what was originally written.

    The entries after them are undamaged, but facts that were here are missing.
    """

    offset_bytes: int
    length_bytes: int
    why: str
    torn: bool = False
    """Whether this is an incomplete last line: its writer was killed, or is still writing it."""
    mended: bool = False
    """Whether the file is in order here, but was made from a damaged one: a FactsMissing follows."""


class LineChain:
    """Takes one line after another. Returns the entry of each, or adds the line to the damage."""

    has_given_up = False
    """Whether so much was damaged in one place that the next line must be looked for (see `resume`)."""
    is_over = False
    """Whether nothing after this place is looked at, since that has led nowhere again and again."""

    def __init__(self, start: Position = START, format_number: int | None = None) -> None:
        """Begin at `start`. `format_number` is that of the recording; START doesn't need it."""
        self.offset_bytes = start.offset_bytes
        self.seq = start.seq
        self.at_us = start.at_us
        self.damages = start.damages
        self._crc = start.crc.encode()
        # After a damaged line: the checksum that it should have had, in case only those digits are damaged.
        self._other_crc: bytes | None = None
        self._format = format_number
        self._damage: Damaged | None = None
        self._damaged_lines = 0
        self._looked_bytes = 0
        """How much of the damage was looked at line by line since `resume`."""
        self._resumed = 0
        self._ended_damages: list[Damaged] = []
        self._before_damage = start

    @property
    def position(self) -> Position:
        """The place after the last undamaged line so far."""
        if self._damage is not None:
            return self._before_damage
        return Position(self.offset_bytes, self.seq, self.at_us, self._crc.decode(), self.damages)

    def take(self, line: bytes) -> Entry | None:
        """The entry on the next line (newline included), or None if the line is damaged.

        Raises RecordingFault if the file isn't a recording or its format is newer than this software.
        """
        if len(line) < _SHORTEST_LINE_BYTES and self._damage is not None:
            self._lengthen_damage(self._damage, line)  # it can't be whole, and needs no closer look
            return None
        try:
            entry = self._check(line)
        except LineDamaged as damage:
            self._add_damage(line, str(damage))
            return None
        self.offset_bytes += len(line)
        self.seq = entry.seq
        self.at_us = entry.at_us
        self._crc = line[-11:-3]
        if self._damage is not None:
            self._other_crc = None
            self._end_damage()
        if isinstance(entry.fact, FactsMissing):
            self.damages += 1
            self._ended_damages.append(Damaged(self.offset_bytes - len(line), 0, entry.fact.why, mended=True))
        return entry

    def skip(self, length_bytes: int) -> None:
        """Pass over so many bytes in which there is no line, once it has given up."""
        if self._damage is not None and length_bytes:
            self._damage = Damaged(
                self._damage.offset_bytes, self._damage.length_bytes + length_bytes, self._damage.why
            )
            self.offset_bytes += length_bytes
            self._crc, self._other_crc = b"", None

    def resume(self) -> None:
        """Take lines again, after it has given up."""
        self._resumed += 1
        self._damaged_lines = self._looked_bytes = 0
        self.is_over = self._resumed > _MOST_RESUMED
        self.has_given_up = self.is_over

    def finish(self) -> Position:
        """End the chain at the end of the file. Returns the place after its last undamaged line.

        Raises RecordingFault if the file has no undamaged line.
        """
        if self._format is None:
            raise codec.not_a_recording()
        end = self.position
        self._end_damage()
        return end

    def take_damages(self) -> list[Damaged]:
        """The damage that ended since the last call. Neighbouring damaged lines are one place."""
        damages, self._ended_damages = self._ended_damages, []
        return damages

    def _check(self, line: bytes) -> Entry:
        if not codec.is_whole(line, self._crc) and not (
            self._other_crc is not None and codec.is_whole(line, self._other_crc)
        ):
            raise LineDamaged("its checksum is wrong" if line.endswith(b"\n") else "its end is missing")
        if self._format is None:
            # If the first line is damaged, the format is unknown: try the newest.
            self._format = codec.format_of(line) if self.offset_bytes == 0 else codec.FORMAT
        entry = codec.decode_whole_line(line, self._format)
        if not is_within(line, entry):
            raise LineDamaged("it says what can't be")
        if isinstance(entry.fact, RecordingOpened):
            check_opened(entry.fact)
        fact = entry.fact
        follows = self.seq + (max(1, fact.count) if isinstance(fact, FactsMissing) else 1)
        if entry.seq <= self.seq or (self._damage is None and entry.seq != follows):
            raise LineDamaged(f"its number {entry.seq} doesn't follow {self.seq}")
        if entry.at_us < self.at_us:
            raise LineDamaged("its time goes back")
        return entry

    def _add_damage(self, line: bytes, why: str) -> None:
        if self._damage is None:
            self._before_damage = self.position
            self._damage = Damaged(self.offset_bytes, 0, why)
            self._damaged_lines = self._looked_bytes = self._resumed = 0
            self.damages += 1
        self._lengthen_damage(self._damage, line)
        self._other_crc = codec.line_crc(line, self._crc)
        self._crc = line[-11:-3]

    def _lengthen_damage(self, before: Damaged, line: bytes) -> None:
        torn = before.torn or (not line.endswith(b"\n") and len(line) < codec.MAX_LINE_BYTES)
        length_bytes = before.length_bytes + len(line)
        self._damage = Damaged(before.offset_bytes, length_bytes, before.why, torn)
        self._damaged_lines += 1
        self._looked_bytes += len(line)
        self.offset_bytes += len(line)
        if self._format is None and self.offset_bytes > _MOST_UNREADABLE_BYTES:
            raise codec.not_a_recording()
        self.has_given_up = (
            self._looked_bytes > _MOST_DAMAGED_BYTES or self._damaged_lines > _MOST_DAMAGED_LINES
        )

    def _end_damage(self) -> None:
        if self._damage is not None:
            self._ended_damages.append(self._damage)
            self._damage = None
