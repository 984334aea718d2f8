"""Hears what the passing process passes, in a thread, and delivers it as the events of a line.

It can't type: all it ever sends is how many bytes it has dealt with.
"""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Final

from exhibit.facts.errors import LineFault, SetUpFault
from exhibit.line.events import (
    Deliver,
    InVain,
    Lost,
    NotHeard,
    Opened,
    OthersFound,
    ReaderFailed,
    Received,
    TerminalHeard,
    TerminalSilent,
    Typed,
)
from exhibit.line.faults import keeps_time, reader_failed
from exhibit.passing.copies import (
    ACKNOWLEDGEMENT,
    Busy,
    Decoder,
    FromMachine,
    FromTerminal,
    Hello,
    Message,
    Missed,
    NotPassed,
    OthersSeen,
    PortLost,
    PortOpen,
)

WAIT_S: Final = 0.2
TRY_AGAIN_S: Final = 0.25
GONE: Final = "The process that passes characters between machine and terminal has ended."
NOBODY_HEARD: Final = "nothing was being recorded"
TOO_SLOW: Final = "this program took nothing for too long"


class Hearing:
    """Connects to the passing process at `place`, and delivers what it says until `stop`.

    `dealt_with` says how many received and typed bytes, of all that were delivered, need not be delivered
    again if this process is killed now. Raises SetUpFault if another process listens, and LineFault if
    nobody passes anything there.
    """

    def __init__(
        self,
        place: Path,
        clock_us: Callable[[], int],
        deliver: Deliver,
        dealt_with: Callable[[], tuple[int, int]],
        rate: float = 1.0,
    ) -> None:
        self._place = place
        self._clock_us = clock_us
        self._deliver = deliver
        self._dealt_with = dealt_with
        self._rate = rate
        self._opening = 0
        self._settings = ""
        self._lines = ("", "")
        self._before = [0, 0]
        """What the passing process had passed, or missed, besides what was delivered since."""
        self._acknowledged = (0, 0)
        self._stopping = threading.Event()
        first, hello, decoder, more = self._connect()
        self._thread = threading.Thread(
            target=self._run, args=(first, hello, decoder, more), name="hears what is passed", daemon=True
        )
        self._thread.start()

    def stop(self, within_s: float = 10.0) -> bool:
        """Stop listening. Returns whether the thread ended within `within_s`. The passing goes on."""
        self._stopping.set()
        self._thread.join(within_s)
        return not self._thread.is_alive()

    def _connect(self) -> tuple[socket.socket, Hello, Decoder, list[Message]]:
        connection, decoder = socket.socket(socket.AF_UNIX), Decoder()
        connection.settimeout(5.0)
        try:
            connection.connect(str(self._place))
            messages: list[Message] = []
            while not messages:
                data = connection.recv(65536)
                if not data:
                    raise ConnectionResetError
                messages = decoder.feed(data)
        except (OSError, ValueError) as error:
            connection.close()
            raise LineFault(
                "No process passes characters between machine and terminal.",
                "So nothing typed at the terminal reaches the machine, and nothing can be recorded.",
                "Start `exhibit watch` again.",
            ) from error
        first = messages.pop(0)
        if not isinstance(first, Hello):
            connection.close()
            who = f" (process {first.pid})" if isinstance(first, Busy) else ""
            raise SetUpFault(
                f"Another program{who} already records this machine and its terminal.",
                "Only one can: a second recording of the same would be incomplete.",
                "End that one with Ctrl-C where it was started, then start again.",
            )
        connection.settimeout(WAIT_S)
        return connection, first, decoder, messages

    def _run(
        self, connection: socket.socket | None, hello: Hello, decoder: Decoder, messages: list[Message]
    ) -> None:
        try:
            while connection is not None:
                self._hear(connection, hello, decoder, messages)
                connection.close()
                if self._stopping.is_set():
                    return
                self._deliver(Lost(GONE, self._clock_us()))
                self._deliver(TerminalSilent(GONE, self._clock_us()))
                connection = None
                while connection is None and not self._stopping.wait(TRY_AGAIN_S):
                    with suppress(LineFault, SetUpFault):
                        connection, hello, decoder, messages = self._connect()
        except Exception as error:
            self._deliver(ReaderFailed(reader_failed(hello.line, error)))
            raise

    def _hear(
        self, connection: socket.socket, hello: Hello, decoder: Decoder, messages: list[Message]
    ) -> None:
        """Deliver all that arrives until the connection breaks, or until stopped."""
        self._settings, self._lines = hello.settings, (hello.line, hello.terminal)
        dealt = self._dealt_with()
        self._before = [hello.from_machine - dealt[0], hello.from_terminal - dealt[1]]
        if hello.missed_from_machine or hello.missed_from_terminal:
            self._not_heard(hello.missed_from_machine, hello.missed_from_terminal, NOBODY_HEARD)
        while not self._stopping.is_set():
            for message in messages:
                self._take(message)
            try:
                self._acknowledge(connection)
                data = connection.recv(65536)
                if not data:
                    return
                messages = decoder.feed(data)
            except TimeoutError:
                messages = []
            except OSError:
                return
        with suppress(OSError):
            self._acknowledge(connection)

    def _take(self, message: Message) -> None:
        match message:
            case FromMachine(data, at_ns):
                self._deliver(Received(data, self._at_us(at_ns)))
            case FromTerminal(data, at_ns):
                self._deliver(Typed(data, self._at_us(at_ns)))
            case Missed(from_machine, from_terminal):
                self._before[0] += from_machine
                self._before[1] += from_terminal
                self._not_heard(from_machine, from_terminal, TOO_SLOW)
            case NotPassed(count, at_ns):
                self._deliver(InVain(count, self._at_us(at_ns)))
            case PortOpen(machine, at_ns):
                line = self._lines[0 if machine else 1]
                described, at_us = f"{line}, {self._settings}", self._at_us(at_ns)
                if machine:
                    self._opening += 1
                    self._deliver(Opened(described, at_us, self._opening, keeps_time(line)))
                else:
                    self._deliver(TerminalHeard(described, at_us, passed=True))
            case PortLost(machine, why, at_ns):
                lost = Lost if machine else TerminalSilent
                self._deliver(lost(why, self._at_us(at_ns)))
            case OthersSeen(port, programs, at_ns):
                self._deliver(OthersFound(port, tuple(programs), self._at_us(at_ns)))

    def _not_heard(self, received: int, typed: int, why: str) -> None:
        self._deliver(NotHeard(received, typed, why, self._clock_us()))

    def _acknowledge(self, connection: socket.socket) -> None:
        """Say how much has been dealt with, if it is more than before."""
        received, typed = self._dealt_with()
        totals = (self._before[0] + received, self._before[1] + typed)
        if totals != self._acknowledged:
            connection.send(ACKNOWLEDGEMENT.pack(*totals))
            self._acknowledged = totals

    def _at_us(self, at_ns: int) -> int:
        """When this was, on the recording's clock."""
        ago_us = (time.monotonic_ns() - at_ns) / 1000 * self._rate
        return max(0, self._clock_us() - int(ago_us))
