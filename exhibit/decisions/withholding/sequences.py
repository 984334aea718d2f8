"""Tells of each received byte whether it is text, a control code, or part of a control sequence.

It agrees with `exhibit.decisions.display.wire`, but tells it of each single byte. Text in a string that a
terminal would keep to itself counts as text.
"""

from __future__ import annotations

from enum import Enum
from typing import Final

from exhibit.decisions.display.wire import EighthBit

_ESC, _BEL, _BS, _LF, _VT, _FF, _CAN, _SUB, _DEL = 0x1B, 7, 8, 10, 11, 12, 0x18, 0x1A, 0x7F
_COMMAND: Final = ord("]")
_MOVES_ELSEWHERE: Final = frozenset(b"ABEFHJLMSTdfr")
_MOVES_ALONG: Final = frozenset(b"CG`a")
_STRING_OPENERS: Final = frozenset(b"PX]^_")


class Kind(Enum):
    """What a byte is."""

    TEXT = "text"
    NEW_LINE = "new line"
    BACK = "back"
    """A backspace, or the end of a sequence that goes back by one column."""
    CONTROL = "control"
    PART = "part"
    """Of a sequence, but not its end."""
    MOVE = "move"
    """The end of a sequence that moves to another place on the screen."""
    ALONG = "along"
    """The end of a sequence that moves along the line."""
    END = "end"
    """The end of any other sequence, or of a string."""


def opens_string(sequence: bytes) -> bool:
    """Whether this sequence opens a string, whose text a terminal keeps to itself."""
    return len(sequence) == 2 and sequence[1] & 0x7F in _STRING_OPENERS


class Sequences:
    """Follows control sequences byte by byte."""

    def __init__(self, eighth_bit: EighthBit) -> None:
        self._marks_high = eighth_bit == "data"
        self._state = "text"
        self._params = b""

    @property
    def in_string(self) -> bool:
        """Whether a string has been opened, whose text a terminal keeps to itself."""
        return self._state in ("string", "command")

    def take(self, byte: int) -> Kind:
        """What this byte is."""
        code = byte & 0x7F
        if byte > 0x7F and self._marks_high:
            if self._state in ("escape", "sequence"):
                self._state = "text"  # no sequence can contain it
            if self._state == "text" or code < 0x20 or code == _DEL:
                return Kind.TEXT
        if code == _ESC:
            self._state, self._params = "escape", b""
            return Kind.PART
        if code in (_CAN, _SUB):
            ended, self._state = self.in_string, "text"
            return Kind.END if ended else Kind.CONTROL
        if code < 0x20 or code == _DEL:
            return self._control(code)
        if self._state == "escape":
            return self._in_escape(code)
        if self._state == "sequence":
            return self._in_sequence(code)
        return Kind.TEXT

    def _control(self, code: int) -> Kind:
        if self._state == "command" and code == _BEL:
            self._state = "text"
            return Kind.END
        if code in (_LF, _VT, _FF):
            return Kind.NEW_LINE
        return Kind.BACK if code == _BS else Kind.CONTROL

    def _in_escape(self, code: int) -> Kind:
        if code < 0x30:
            return Kind.PART
        if code == ord("["):
            self._state = "sequence"
            return Kind.PART
        self._state = "command" if code == _COMMAND else "string" if code in _STRING_OPENERS else "text"
        return Kind.END

    def _in_sequence(self, code: int) -> Kind:
        if code < 0x40:
            self._params += bytes((code,))
            return Kind.PART
        self._state = "text"
        if code == ord("D"):
            return Kind.BACK if self._params in (b"", b"0", b"1") else Kind.ALONG
        if code in _MOVES_ELSEWHERE and self._params[:1] != b"?":
            return Kind.MOVE
        return Kind.ALONG if code in _MOVES_ALONG else Kind.END
