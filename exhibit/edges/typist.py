"""Puts one byte on the line: the only module whose code writes to a port."""

from __future__ import annotations

from typing import Literal

import msgspec

from exhibit.edges.line import TypingPort
from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings


class Outcome(msgspec.Struct, frozen=True):
    """What became of a byte: it went, it didn't, or nobody can tell (count it as gone)."""

    went: Literal["yes", "no", "perhaps"]
    fault: LineFault | None = None
    """Why not; none when it went."""


class Typist:
    """Types single bytes on whatever port the line has lent."""

    def __init__(self, settings: LineSettings) -> None: ...

    def lend(self, port: TypingPort) -> None:
        """The line is open (called by the line's reader thread)."""

    def take_back(self) -> None:
        """The line is about to close its port (called by the line's reader thread)."""

    def type_byte(self, byte: int) -> Outcome:
        """Give this one byte to the line, with its parity bit, within WRITE_TIMEOUT_S. Never raises
        for what the line does; ValueError for a byte that has more bits than the line."""
        raise NotImplementedError
