"""How the characters stand on the wire: speed, bits, parity, stop bits, flow control.

A character is one start bit, the data bits, a parity bit if there is one, and the stop bits:
`bits = 1 + data + parity + stop`, and it takes `bits / baud` seconds (ISO 1177:1985).

Seven bits with parity are as long as eight without. So such a line is opened with eight bits and no
parity, and we do the parity ourselves: a damaged character is then seen and can be recorded, where
the computer's own serial driver would hide it, and adapters that quietly ignore a wish for parity
do no harm.
"""

from __future__ import annotations

from typing import Literal

import msgspec

Parity = Literal["none", "even", "odd"]
Flow = Literal["none", "xon/xoff"]

USUAL_SPEEDS_BAUD = (110, 300, 600, 1200, 2400, 4800, 9600, 19200, 38400)
"""The speeds worth trying on a console whose speed nobody knows (common practice)."""


class PortFrame(msgspec.Struct, frozen=True):
    """What the computer's serial port is set to, which may differ from what stands on the wire."""

    data_bits: Literal[7, 8]
    parity: Parity
    stop_bits: Literal[1, 2]


class LineSettings(msgspec.Struct, frozen=True):
    """The settings of a line as the machine's papers give them.

    `flow` is never left to the computer's serial driver, which would swallow the two characters
    unrecorded: they arrive as data like any other.
    Raises ValueError for a number that no line can have.
    """

    baud: int = 9600
    data_bits: Literal[7, 8] = 8
    parity: Parity = "none"
    stop_bits: Literal[1, 2] = 1
    flow: Flow = "none"

    def __post_init__(self) -> None:
        if self.baud < 1:
            raise ValueError(f"a line can't run at {self.baud} baud")
        if self.data_bits not in (7, 8) or self.stop_bits not in (1, 2):
            raise ValueError("a character has 7 or 8 data bits and 1 or 2 stop bits")
        if self.parity not in ("none", "even", "odd"):
            raise ValueError("parity is none, even or odd")

    @property
    def char_bits(self) -> int:
        """Bits on the wire for one character, start and stop bits among them."""
        return 1 + self.data_bits + (self.parity != "none") + self.stop_bits

    @property
    def char_us(self) -> float:
        """Microseconds that one character takes: 1041.67 for ten bits at 9600 baud."""
        return self.char_bits * 1_000_000 / self.baud

    def description(self) -> str:
        """In words: `9600 baud, 7 bits, even parity, 1 stop bit`."""
        stop = "1 stop bit" if self.stop_bits == 1 else "2 stop bits"
        flow = ", XON/XOFF" if self.flow == "xon/xoff" else ""
        return f"{self.baud} baud, {self.data_bits} bits, {self.parity} parity, {stop}{flow}".replace(
            "none parity", "no parity"
        )

    @property
    def parity_in_software(self) -> bool:
        """Whether the eighth bit that the port hands over is a parity bit for us to check."""
        return self.data_bits == 7 and self.parity != "none"

    @property
    def stop_bit_as_eighth(self) -> bool:
        """Whether the eighth bit that the port hands over is the first of two stop bits, always 1."""
        return self.data_bits == 7 and self.parity == "none" and self.stop_bits == 2

    @property
    def port_frame(self) -> PortFrame:
        """What to set the port to: always as long on the wire as the settings, to the bit."""
        if self.parity_in_software:
            return PortFrame(data_bits=8, parity="none", stop_bits=self.stop_bits)
        if self.stop_bit_as_eighth:
            return PortFrame(data_bits=8, parity="none", stop_bits=1)
        return PortFrame(data_bits=self.data_bits, parity=self.parity, stop_bits=self.stop_bits)
