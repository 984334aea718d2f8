"""The line to the machine: the only module that knows pyserial. It only reads.

    line = open_line("/dev/ttyUSB0", settings, clock_us, deliver)                    # watch only
    line = open_line("/dev/ttyUSB0", settings, clock_us, deliver, borrower=typist)   # may be typed at
    line.stop()

`deliver` is called from the line's own reader thread with `Opened`, `Received`, `Lost` and
`ErrorsCounted` (line_events.py); let it put them into a queue. Nothing in this module writes. Who
wants to type brings a `Typist` (typist.py), to which the reader lends the open port and from which
it takes it back before closing. Without a borrower a device is opened for reading only, so that the
operating system itself refuses a write.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from exhibit.edges.line_events import Deliver
from exhibit.facts.line_settings import LineSettings


class TypingPort(Protocol):
    """What a borrower may do with an open port."""

    def write(self, data: bytes, /) -> int | None:
        """Give bytes to the port."""

    def fileno(self) -> int:
        """For waiting until the port takes a byte."""


class Borrower(Protocol):
    """Somebody who types: is lent each port that is opened, and gives it back before it is closed."""

    def lend(self, port: TypingPort) -> None:
        """The port is open and may be written to from now on."""

    def take_back(self) -> None:
        """The port is about to be closed; on return no write is under way, and none may follow."""


class Line:
    """An open line. It can be stopped; it can't be written to."""

    url: str
    settings: LineSettings

    def stop(self, within_s: float = 10.0) -> bool:
        """Ask the reader thread to close the port and end; false if it hasn't ended in time."""
        raise NotImplementedError


def open_line(
    url: str,
    settings: LineSettings,
    clock_us: Callable[[], int],
    deliver: Deliver,
    borrower: Borrower | None = None,
) -> Line:
    """Open the line and start its reader thread.

    `url` is a device (`/dev/ttyUSB0`, a pseudo-terminal), `socket://host:port` or
    `rfc2217://host:port`. Raises LineFault when it can't be opened now; once it was open, a loss is
    an event and the reader opens it again by itself, waiting from 0.25 s up to 5 s between trials.
    """
    raise NotImplementedError
