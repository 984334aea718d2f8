"""Puts one byte on the line: the only module whose code writes to a port.

One byte at a time, because a write of many that runs out of time doesn't tell how many went. There
is no way to wait until all is sent (it can hang for ever), nor to send a BREAK.
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
    """What became of a byte: it went, it didn't, or nobody can tell (count it as gone)."""

    went: Literal["yes", "no", "perhaps"]
    fault: LineFault | None = None
    """Why not; None when it went."""


class Typist:
    """Types single bytes on whatever port the line has lent.

    `url` is for the sentences only. One thread may type while the line's reader thread lends and
    takes back; the reader waits for a byte that is under way, at most twice WRITE_WAIT_S.
    """

    def __init__(self, url: str, settings: LineSettings) -> None:
        self._url = url
        self._settings = settings
        self._port: TypingPort | None = None
        self._opening = 0
        self._using_port = threading.Lock()

    def lend(self, port: TypingPort, opening: int) -> None:
        """The line is open, for the `opening`th time (called by the line's reader thread)."""
        with self._using_port:
            self._port, self._opening = port, opening

    def take_back(self) -> None:
        """The line is about to close its port (called by the line's reader thread)."""
        with self._using_port:
            self._port = None

    def type_byte(self, byte: int, opening: int) -> Outcome:
        """Give this one byte to the line, with its parity bit, or tell why not.

        `opening`: the last opening that whoever decided this knew of. A later one may lead to a machine that
        was switched off meanwhile, or to another one: nothing is typed there. That, a machine that takes
        nothing for WRITE_WAIT_S, and a line that is away, are `no`. An error while the byte is handed over
        is `perhaps`. ValueError for a byte with more bits than the line.
        """
        data = bytes([as_typed(byte, self._settings)])
        with self._using_port:
            port = self._port
            if port is None:
                return Outcome("no", _away(self._url))
            if opening != self._opening:
                return Outcome("no", _opened_anew(self._url))
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
    """The byte to give to the port so that this character stands on the wire as the settings ask.

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
        f"The line {url} is away, so nothing was typed.",
        "The machine stands where it stood.",
        "Wait until the line is back; it is tried again by itself.",
    )


def _opened_anew(url: str) -> LineFault:
    return LineFault(
        f"The line {url} was away and has been opened anew, so nothing was typed.",
        "What was to be typed was decided upon before; the machine may have been switched off since.",
        "Wait: this program is about to learn of the loss, and goes on from there.",
    )


def _held_up(url: str) -> LineFault:
    return LineFault(
        f"Nothing was typed: the line {url} has taken no character for {WRITE_WAIT_S:g} s.",
        "The machine or the adapter holds up the line, or its cable is out.",
        "See whether the machine is on and listening, and whether the cable is in.",
    )
