"""How characters are sent on the line: speed, bits, parity, stop bits, flow control.

A character consists of one start bit, the data bits, the parity bit if there is one, and the stop bits:
`bits = 1 + data + parity + stop`. It takes `bits / baud` seconds (ISO 1177:1985).

Seven bits with parity take as long as eight without. So such a line is opened with eight bits and no
parity, and this program adds and checks the parity bit. It then notices damaged characters and can record
them, whereas the computer's serial driver would hide them; and it works even with adapters that silently
ignore a request for parity.
"""

from __future__ import annotations

from typing import Literal

import msgspec

Parity = Literal["none", "even", "odd"]
Flow = Literal["none", "xon/xoff"]

USUAL_SPEEDS_BAUD = (110, 300, 600, 1200, 2400, 4800, 9600, 19200, 38400)
"""The speeds worth trying if nobody knows the console's (common practice)."""


class PortFrame(msgspec.Struct, frozen=True):
    """How to set the computer's serial port, which may differ from the settings of the line."""

    data_bits: Literal[7, 8]
    parity: Parity
    stop_bits: Literal[1, 2]


class LineSettings(msgspec.Struct, frozen=True):
    """The settings of a line as the machine's papers give them.

    Flow control is never left to the computer's serial driver, which would remove XON and XOFF before they
    could be recorded. They arrive as data, like all other characters.
    Raises ValueError for settings that no line can have.
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
        """How many bits one character takes on the line, including start and stop bits."""
        return 1 + self.data_bits + (self.parity != "none") + self.stop_bits

    @property
    def char_us(self) -> float:
        """How many microseconds one character takes: 1041.67 for ten bits at 9600 baud."""
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
        """Whether the eighth bit from the port is a parity bit that this program must check."""
        return self.data_bits == 7 and self.parity != "none"

    @property
    def stop_bit_as_eighth(self) -> bool:
        """Whether the eighth bit from the port is the first of two stop bits, which is always 1."""
        return self.data_bits == 7 and self.parity == "none" and self.stop_bits == 2

    @property
    def port_frame(self) -> PortFrame:
        """How to set the port, so that a character has just as many bits as with these settings."""
        if self.parity_in_software:
            return PortFrame(data_bits=8, parity="none", stop_bits=self.stop_bits)
        if self.stop_bit_as_eighth:
            return PortFrame(data_bits=8, parity="none", stop_bits=1)
        return PortFrame(data_bits=self.data_bits, parity=self.parity, stop_bits=self.stop_bits)
