"""Cuts the bytes from a line into complete items: text, control codes, control sequences.

    wire = Wire("parity", parity="even", flow_control=True)
    for item in wire.feed(data): ...

What comes out depends on the bytes only, never on how they were cut into pieces: only a run of
text may be split where a piece ends.
"""

from typing import Any, Literal

import msgspec

EighthBit = Literal["parity", "drop", "data"]
ParityKind = Literal["none", "even", "odd"]

SUBSTITUTE_MARK = "\u00b7"
"""What a byte of 0x80 or more becomes under "data". In every Latin typeface, one cell wide, and no
seven-bit console can print it."""


class Text(msgspec.Struct, frozen=True, gc=False):
    """A run of printable characters, 0x20 to 0x7E and the substitute mark. Never empty."""

    text: str


class Control(msgspec.Struct, frozen=True, gc=False):
    """One control code, 0x00 to 0x1F (ECMA-48 s.8.2: BS 8, HT 9, LF 10, FF 12, CR 13...)."""

    code: int


class Escape(msgspec.Struct, frozen=True, gc=False):
    """A complete escape sequence: ESC, intermediates 0x20-0x2F, a final 0x30-0x7E."""

    intermediates: str
    final: str


class Csi(msgspec.Struct, frozen=True, gc=False):
    """A complete control sequence (ECMA-48 s.5.4).

    private is "" or one of < = > ?. An absent parameter is 0, one above 9999 is 9999, one with
    sub-parameters is -1. At most 32 parameters are kept.
    """

    final: str
    params: tuple[int, ...]
    private: str = ""
    intermediates: str = ""


class FlowStop(msgspec.Struct, frozen=True):
    """XOFF (DC3): the machine asks us to stop typing."""


class FlowGo(msgspec.Struct, frozen=True):
    """XON (DC1): typing may go on."""


Item = Text | Control | Escape | Csi | FlowStop | FlowGo


def with_parity(byte: int, kind: ParityKind) -> int:
    """The byte as it goes out on the line: seven bits of data and the parity bit in the eighth.

    "none" leaves the eighth bit clear.
    """
    raise NotImplementedError


class Wire:
    """Bytes in, items out. It counts what was wrong, and does no I/O.

    parity_faults: bytes whose eighth bit was not the parity bit of the seven others.
    unknown_sequences: sequences broken off, malformed or beyond the bounds; they are skipped.
    substituted: bytes that became SUBSTITUTE_MARK.
    """

    def __init__(
        self, eighth_bit: EighthBit, *, parity: ParityKind = "none", flow_control: bool = False
    ) -> None:
        self.parity_faults = 0
        self.unknown_sequences = 0
        self.substituted = 0

    def feed(self, data: bytes) -> list[Item]:
        """The items that these bytes complete. A sequence not yet complete is kept for the next feed."""
        raise NotImplementedError

    def snapshot(self) -> dict[str, Any]:
        """What stands between two feeds, as plain JSON values, for a keyframe."""
        raise NotImplementedError

    def restore(self, kept: dict[str, Any]) -> None:
        """Goes on from a snapshot of a Wire with the same settings."""
        raise NotImplementedError
