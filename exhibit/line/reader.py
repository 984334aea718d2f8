"""The thread that reads a line, notices its loss and opens it again. It never writes.

Only this thread closes a port: closing under a reader leaves it with a closed descriptor, whose
number the system may meanwhile have given to another file.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import Protocol

from exhibit.decisions.console.noise import FirstWords
from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
from exhibit.line.error_counter import ErrorCounter
from exhibit.line.events import (
    Deliver,
    ErrorsCounted,
    Lost,
    Opened,
    ReaderFailed,
    Received,
    Unreadable,
)
from exhibit.line.faults import (
    NUMBERED_TERMINALS,
    StillAway,
    keeps_time,
    reader_failed,
    running_faults,
    wrong_parity,
    wrong_speed,
)

FIRST_PAUSE_S = 0.25
LONGEST_PAUSE_S = 5.0
STEADY_S = 5.0
"""A line that broke off sooner than this after it was opened is tried again ever more slowly."""
COUNT_EVERY_S = 1.0


class TypingPort(Protocol):
    """What a borrower may do with an open port."""

    def write(self, data: bytes, /) -> int | None:
        """Give bytes to the port."""

    def fileno(self) -> int:
        """For waiting until the port takes a byte."""


class OpenPort(TypingPort, Protocol):
    """A port as the reader uses it."""

    def burst(self) -> bytes:
        """Wait up to 0.2 s for a byte, and return it with all that came along with it."""

    def shut(self) -> None:
        """Throw away what was not sent yet and close. Raises nothing."""


class Borrower(Protocol):
    """Somebody who types: is lent each port that is opened, and gives it back before it is closed."""

    def lend(self, port: TypingPort, opening: int) -> None:
        """The port is open and may be written to from now on; `Opened` is told next, with this number."""

    def take_back(self) -> None:
        """The port is about to be closed; on return no write is under way, and none may follow."""


class Line:
    """An open line, read by a thread of its own. It can be stopped; it can't be written to."""

    def __init__(
        self,
        url: str,
        settings: LineSettings,
        clock_us: Callable[[], int],
        deliver: Deliver,
        borrower: Borrower | None,
        open_again: Callable[[], OpenPort],
    ) -> None:
        self.url = url
        self.settings = settings
        self._clock_us = clock_us
        self._deliver = deliver
        self._borrower = borrower
        self._open_again = open_again
        self._opening = 0
        self._stopping = threading.Event()
        first = open_again()
        self._reader = threading.Thread(target=self._run, args=(first,), name=f"reads {url}", daemon=True)
        self._reader.start()

    @property
    def running(self) -> bool:
        """Whether the reader thread lives: until `stop`, unless `deliver` raised something."""
        return self._reader.is_alive()

    def stop(self, within_s: float = 10.0) -> bool:
        """Ask the reader thread to close the port and end; false if it hasn't ended in time.

        Usually 0.2 s; longer when the far end can't be reached just then.
        """
        self._stopping.set()
        self._reader.join(within_s)
        return not self._reader.is_alive()

    def _run(self, port: OpenPort) -> None:
        try:
            self._read(port)
        except Exception as error:
            # Without a word everything would look as if the machine were silent.
            self._deliver(ReaderFailed(reader_failed(self.url, error)))
            raise

    def _read(self, port: OpenPort | None) -> None:
        pause_s = FIRST_PAUSE_S
        while port is not None:
            opened_s = time.monotonic()
            why = self._read_until_lost(port)
            if why is None:
                return
            self._deliver(Lost(why.what, self._clock_us()))
            if time.monotonic() - opened_s >= STEADY_S:
                pause_s = FIRST_PAUSE_S
            port, pause_s = self._wait_for_return(pause_s)

    def _read_until_lost(self, port: OpenPort) -> LineFault | None:
        """Deliver all that comes. Returns why the line was lost, or None when it was stopped."""
        self._opening += 1
        try:
            if self._borrower is not None:
                self._borrower.lend(port, self._opening)
            described = f"{self.url}, {self.settings.description()}"
            self._deliver(Opened(described, self._clock_us(), self._opening, keeps_time(self.url)))
            first_words = FirstWords(self.settings)
            with running_faults(self.url):
                counter = ErrorCounter(port.fileno())
            count_next_s = time.monotonic() + COUNT_EVERY_S
            while not self._stopping.is_set():
                with running_faults(self.url):
                    data = port.burst()
                if data:
                    at_us = self._clock_us()
                    self._deliver(Received(data, at_us))
                    if wrong := first_words.hear(data):
                        explained = wrong_speed if wrong == "speed" else wrong_parity
                        self._deliver(Unreadable(wrong, explained(self.url, self.settings), at_us))
                if time.monotonic() >= count_next_s:
                    count_next_s += COUNT_EVERY_S
                    self._tell_errors(counter)
            return None
        except LineFault as fault:
            return fault
        finally:
            if self._borrower is not None:
                self._borrower.take_back()
            port.shut()

    def _tell_errors(self, counter: ErrorCounter) -> None:
        counts = counter.increase()
        if counts is not None:
            self._deliver(ErrorsCounted(*counts, at_us=self._clock_us()))

    def _wait_for_return(self, pause_s: float) -> tuple[OpenPort | None, float]:
        """The port, opened again; None when stopped. A new reason to be away is told once.

        A pseudo-terminal under its bare number isn't opened again: that number may by now have
        been given to a stranger's terminal. Under a name of its own (a link) it is.
        """
        if self.url.startswith(NUMBERED_TERMINALS):
            self._stopping.wait()
            return None, pause_s
        told = ""
        while not self._stopping.wait(pause_s):
            pause_s = min(2 * pause_s, LONGEST_PAUSE_S)
            try:
                return self._open_again(), pause_s
            except StillAway:
                pass
            except LineFault as fault:
                if fault.what != told:
                    told = fault.what
                    self._deliver(Lost(told, self._clock_us()))
        return None, pause_s
