"""The thread that reads a line, notices when it is lost, and opens it again. It never writes.

Only this thread closes a port. If another thread did so during a read, the system could already have given
the number of the closed descriptor to another file.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable
from typing import Protocol

from exhibit.decisions.console.noise import FirstWords, Heard, Seen
from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
from exhibit.line.awake import Awake
from exhibit.line.error_counter import ErrorCounter
from exhibit.line.events import (
    Deliver,
    ErrorsCounted,
    Lost,
    Opened,
    OthersFound,
    Readable,
    ReaderFailed,
    Received,
    Unreadable,
)
from exhibit.line.faults import (
    NUMBERED_TERMINALS,
    StillAway,
    elsewhere,
    is_network,
    keeps_time,
    reader_failed,
    running_faults,
    wrong_parity,
    wrong_speed,
)
from exhibit.line.sharing import LOOK_EVERY_S, Sharing

FIRST_PAUSE_S = 0.25
LONGEST_PAUSE_S = 5.0
STEADY_S = 5.0
"""If a line is lost sooner than this after it was opened, the pauses between attempts grow."""
COUNT_EVERY_S = 1.0


class TypingPort(Protocol):
    """What a borrower can do with an open port."""

    def write(self, data: bytes, /) -> int | None:
        """Write bytes to the port. Returns how many were accepted."""

    def fileno(self) -> int:
        """The descriptor, for waiting until the port accepts a byte."""


class OpenPort(TypingPort, Protocol):
    """A port as the reader uses it."""

    def burst(self) -> bytes:
        """Wait up to 0.2 s for a byte, and return it with all that has arrived by then."""

    def shut(self) -> None:
        """Discard what has not been sent yet, and close. Raises nothing."""


class Borrower(Protocol):
    """The one that types: each open port is lent to it, and taken back before it is closed."""

    def lend(self, port: TypingPort, opening: int) -> None:
        """The port is open and can be written to from now on. `Opened` with this number comes next."""

    def take_back(self) -> None:
        """The port is about to be closed: return when no write is in progress, and start no more."""


class Line:
    """An open line, which a thread of its own reads. It can be stopped, but not written to."""

    def __init__(
        self,
        url: str,
        settings: LineSettings,
        clock_us: Callable[[], int],
        deliver: Deliver,
        borrower: Borrower | None,
        open_again: Callable[[], OpenPort],
        ports_present: Callable[[], list[str]] = lambda: [],
        awake: Awake | None = None,
    ) -> None:
        self.url = url
        self.settings = settings
        self._clock_us = clock_us
        self._deliver = deliver
        self._borrower = borrower
        self._open_again = open_again
        self._ports_present = ports_present
        self._awake = awake or Awake()
        self._opening = 0
        self._there: dict[str, str] = {}
        """The ports that there were when the line was opened."""
        self._stopping = threading.Event()
        first = open_again()
        self._reader = threading.Thread(target=self._run, args=(first,), name=f"reads {url}", daemon=True)
        self._reader.start()

    @property
    def running(self) -> bool:
        """Whether the reader thread is running: until `stop`, unless it fails."""
        return self._reader.is_alive()

    def stop(self, within_s: float = 10.0) -> bool:
        """Have the reader thread close the port and end. Returns whether it ended within `within_s`.

        It usually takes 0.2 s, but longer if the far end can't be reached at that moment.
        """
        self._stopping.set()
        self._reader.join(within_s)
        return not self._reader.is_alive()

    def _run(self, port: OpenPort) -> None:
        try:
            self._read(port)
        except Exception as error:
            # Otherwise it would look as if the machine were silent.
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
        """Deliver all that arrives. Returns why the line was lost, or None if it was stopped."""
        sharing = Sharing(self.url)
        try:
            self._lend(port)
            self._there = self._devices()
            self._awake.look()
            first_words = FirstWords(self.settings)
            with running_faults(self.url):
                counter = ErrorCounter(port.fileno())
            count_next_s = time.monotonic() + COUNT_EVERY_S
            look_next_s = time.monotonic()
            while not self._stopping.is_set():
                with running_faults(self.url):
                    data = port.burst()
                if data:
                    at_us = self._clock_us()
                    self._deliver(Received(data, at_us))
                    for heard in first_words.hear(data):
                        self._deliver(self._judged(heard, first_words.seen, at_us))
                if slept := self._awake.look():
                    # Nobody knows what the machine has said or done meanwhile, as after a loss of the line.
                    if self._borrower is not None:
                        self._borrower.take_back()
                    self._deliver(Lost(f"{slept} and heard nothing", self._clock_us()))
                    self._lend(port)
                if time.monotonic() >= count_next_s:
                    count_next_s += COUNT_EVERY_S
                    self._deliver_errors(counter)
                if time.monotonic() >= look_next_s:
                    look_next_s = time.monotonic() + LOOK_EVERY_S
                    self._deliver_others(sharing)
            return None
        except LineFault as fault:
            return fault
        finally:
            sharing.close()
            if self._borrower is not None:
                self._borrower.take_back()
            port.shut()

    def _lend(self, port: OpenPort) -> None:
        """Lend the port, and deliver that the line is open. What was decided before is typed no more."""
        self._opening += 1
        if self._borrower is not None:
            self._borrower.lend(port, self._opening)
        description = f"{self.url}, {self.settings.description()}"
        self._deliver(Opened(description, self._clock_us(), self._opening, keeps_time(self.url)))

    def _judged(self, heard: Heard, seen: Seen, at_us: int) -> Unreadable | Readable:
        if heard == "text":
            assert seen.wrong, "it was never called unreadable"
            return Readable(seen.wrong, at_us)
        fault_for = wrong_speed if heard == "speed" else wrong_parity
        return Unreadable(heard, fault_for(self.url, self.settings, seen.words()), at_us)

    def _deliver_errors(self, counter: ErrorCounter) -> None:
        counts = counter.increase()
        if counts is not None:
            self._deliver(ErrorsCounted(*counts, at_us=self._clock_us()))

    def _deliver_others(self, sharing: Sharing) -> None:
        others = sharing.look()
        if others is not None:
            self._deliver(OthersFound(self.url, tuple(others), self._clock_us()))

    def _wait_for_return(self, pause_s: float) -> tuple[OpenPort | None, float]:
        """Open the port again. Returns it, or None if stopped, and the next pause in seconds.

        Delivers `Lost` again if there is a new reason. A pseudo-terminal is opened again under the name of a
        link to it, but not under its number, which may now belong to somebody else's terminal.
        """
        if self.url.startswith(NUMBERED_TERMINALS):
            self._stopping.wait()
            return None, pause_s
        reported = ""
        while not self._stopping.wait(pause_s):
            pause_s = min(2 * pause_s, LONGEST_PAUSE_S)
            try:
                return self._open_again(), pause_s
            except StillAway:
                came = [name for device, name in self._devices().items() if device not in self._there]
                why = elsewhere(self.url, came) if came else ""
            except LineFault as fault:
                why = fault.what
            if why and why != reported:
                reported = why
                self._deliver(Lost(reported, self._clock_us()))
        return None, pause_s

    def _devices(self) -> dict[str, str]:
        """The ports of this computer: each device as the system names it now -> its most lasting name."""
        if is_network(self.url):
            return {}
        return {os.path.realpath(name): name for name in self._ports_present()}
