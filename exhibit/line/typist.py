"""Types single bytes: the only module that writes to a port.

One byte at a time, because after a write of several bytes that times out, nobody knows how many were sent.
There is no way to wait until everything has been sent (that can hang forever), and none to send a BREAK.
"""

from __future__ import annotations

import select
import threading
from typing import Literal

import msgspec

from exhibit.decisions.display.wire import with_parity
from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
from exhibit.line.faults import running_faults
from exhibit.line.port import WRITE_WAIT_S
from exhibit.line.reader import TypingPort

STOP_BIT_AS_EIGHTH = 0x80


class Outcome(msgspec.Struct, frozen=True):
    """What became of a byte: it was sent, it wasn't, or nobody knows (treat it as sent)."""

    sent: Literal["yes", "no", "perhaps"]
    fault: LineFault | None = None
    """Why it wasn't sent, or may not have been; None if it was."""


class Typist:
    """Types single bytes at the port that the line has lent.

    `url` is used only in messages. One thread can type while the line's reader thread lends ports and takes
    them back; the reader waits for a byte that is being typed, at most twice WRITE_WAIT_S.
    """

    def __init__(self, url: str, settings: LineSettings) -> None:
        self._url = url
        self._settings = settings
        self._port: TypingPort | None = None
        self._opening = 0
        self._using_port = threading.Lock()

    def lend(self, port: TypingPort, opening: int) -> None:
        """The line is open; this is opening number `opening`. Called by the line's reader thread."""
        with self._using_port:
            self._port, self._opening = port, opening

    def take_back(self) -> None:
        """The line is about to close its port. Called by the line's reader thread."""
        with self._using_port:
            self._port = None

    def type_byte(self, byte: int, opening: int) -> Outcome:
        """Send this byte with its parity bit. Returns whether it was sent.

        `opening` is the opening that the decision to type was based on. If the line has been opened again
        since, nothing is typed, because the machine may have been switched off meanwhile, or be another one.
        The outcome is "no" in that case, while the line is lost, and if it accepts nothing for WRITE_WAIT_S;
        it is "perhaps" if writing the byte fails. Raises ValueError for a byte with more bits than the line.
        """
        data = bytes([as_typed(byte, self._settings)])
        with self._using_port:
            port = self._port
            if port is None:
                return Outcome("no", _away(self._url))
            if opening != self._opening:
                return Outcome("no", _opened_again(self._url))
            try:
                with running_faults(self._url):
                    _, ready, _ = select.select([], [port.fileno()], [], WRITE_WAIT_S)
            except LineFault as fault:
                return Outcome("no", fault)
            if not ready:
                return Outcome("no", _held_up(self._url))
            try:
                with running_faults(self._url):
                    port.write(data)
            except LineFault as fault:
                return Outcome("perhaps", fault)
        return Outcome("yes")


def as_typed(byte: int, settings: LineSettings) -> int:
    """The byte to write to the port, so that this character is sent as the settings say.

    Raises ValueError if the character has more bits than the line.
    """
    if not 0 <= byte < 1 << settings.data_bits:
        raise ValueError(f"0x{byte:02x} doesn't fit into {settings.data_bits} bits")
    if settings.parity_in_software:
        return with_parity(byte, settings.parity)
    if settings.stop_bit_as_eighth:
        return byte | STOP_BIT_AS_EIGHTH
    return byte


def _away(url: str) -> LineFault:
    return LineFault(
        f"The line {url} is not connected, so nothing was typed.",
        "The machine has not been sent anything.",
        "Wait until the line is back; the program keeps trying to open it.",
    )


def _opened_again(url: str) -> LineFault:
    return LineFault(
        f"The line {url} was lost and has been opened again, so nothing was typed.",
        "The program decided what to type before that, and the machine may have been switched off since.",
        "Wait: the program will now take the loss into account and continue.",
    )


def _held_up(url: str) -> LineFault:
    return LineFault(
        f"Nothing was typed: the line {url} has not accepted a character for {WRITE_WAIT_S:g} s.",
        "The machine or the adapter is holding up the line, or a cable is unplugged.",
        "Check that the machine is on and that the cable is plugged in.",
    )
