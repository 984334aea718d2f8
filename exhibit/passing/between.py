"""Passes bytes between two ports. It waits for nothing but them, and writes only what it has read."""

from __future__ import annotations

import errno
import os
import select
import time
from collections.abc import Callable
from typing import Final, Protocol

from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
from exhibit.line.faults import NUMBERED_TERMINALS, StillAway, lost
from exhibit.line.sharing import LOOK_EVERY_S, Sharing
from exhibit.passing.copies import (
    FromMachine,
    FromTerminal,
    Message,
    NotPassed,
    OthersSeen,
    PortLost,
    PortOpen,
)
from exhibit.passing.device import close_device, open_device

READ_BYTES: Final = 4096
MOST_UNSENT_BYTES: Final = 4096
"""If a port takes nothing, the other isn't read any further: its bytes wait in the system's buffers."""
FIRST_PAUSE_S: Final = 0.25
LONGEST_PAUSE_S: Final = 5.0


class Hears(Protocol):
    """Takes copies of what is passed (exhibit.passing.listener)."""

    def descriptors(self) -> list[tuple[int, bool]]:
        """What to poll for reading, and whether for writing too."""

    def ready(self, fd: int, state: list[Message]) -> None:
        """This descriptor can be read or written."""

    def tell(self, message: Message) -> None:
        """Take a message, without ever waiting."""


class Side:
    """One of the two ports, and the bytes that wait to be written to it."""

    def __init__(self, device: str, settings: LineSettings, *, is_machine: bool) -> None:
        self.device = device
        self.is_machine = is_machine
        self.fd = -1
        self.unsent = bytearray()
        self.why_lost = ""
        self._settings = settings
        self._sharing: Sharing | None = None
        self._found: list[str] = []
        self._pause_s = FIRST_PAUSE_S
        self._try_again_s = 0.0

    def open(self) -> None:
        """Open the port. Raises LineFault."""
        self.fd = open_device(self.device, self._settings)
        self._sharing = Sharing(self.device)
        self.why_lost = ""
        self._pause_s = FIRST_PAUSE_S

    def others(self) -> list[str] | None:
        """The other programs that have it open, if that has changed (line.sharing)."""
        found = self._sharing.look() if self._sharing is not None else None
        self._found = self._found if found is None else found
        return found

    def lose(self) -> None:
        """The port is gone: whatever was to be written to it is discarded, since it would come too late."""
        self.why_lost = lost(self.device).what
        self.close()
        self._try_again_s = time.monotonic() + self._pause_s

    def close(self, *, discard: bool = True) -> None:
        """Close the port."""
        if self.fd >= 0:
            close_device(self.fd, discard=discard)
            self.fd = -1
        if self._sharing is not None:
            self._sharing.close()
            self._sharing = None
        self._found = []
        self.unsent.clear()

    def opened_again(self) -> bool:
        """Try to open a lost port again, if it is time to. Returns whether it is open now.

        A pseudo-terminal isn't opened again by its number, which may now be somebody else's.
        """
        if time.monotonic() < self._try_again_s or self.gone_for_good:
            return False
        self._pause_s = min(2 * self._pause_s, LONGEST_PAUSE_S)
        self._try_again_s = time.monotonic() + self._pause_s
        try:
            self.open()
        except StillAway:
            return False
        except LineFault as fault:
            self.why_lost = fault.what
            return False
        return True

    @property
    def gone_for_good(self) -> bool:
        """Whether it was lost and can't come back."""
        return self.fd < 0 and self.device.startswith(NUMBERED_TERMINALS)

    def state(self) -> Message:
        """Whether it is open, as a message."""
        now_ns = time.monotonic_ns()
        if self.fd >= 0:
            return PortOpen(self.is_machine, now_ns)
        return PortLost(self.is_machine, self.why_lost, now_ns)

    def states(self) -> list[Message]:
        """Whether it is open, and which other programs have it open too."""
        others = [OthersSeen(self.device, self._found, time.monotonic_ns())] if self._found else []
        return [self.state(), *others]

    def write(self) -> bytes:
        """Write what can be written now without waiting. Returns it."""
        written = b""
        try:
            while self.unsent:
                count = os.write(self.fd, self.unsent)
                written += self.unsent[:count]
                del self.unsent[:count]
        except BlockingIOError:
            pass
        except OSError as error:
            if error.errno != errno.EINTR:
                self.lose()
        return written

    def read(self) -> bytes:
        """What has arrived. Loses the port if it is gone."""
        try:
            data = os.read(self.fd, READ_BYTES)
        except BlockingIOError:
            return b""
        except OSError:
            data = b""
        if not data:
            self.lose()
        return data


class Between:
    """The two ports, and the listener who gets copies."""

    def __init__(self, machine: Side, terminal: Side, listener: Hears) -> None:
        self._machine, self._terminal, self._listener = machine, terminal, listener
        self._look_next_s = 0.0

    def run(self, stopping: Callable[[], bool], wake_fd: int) -> None:
        """Pass until `stopping` says so, or a port is gone for good. `wake_fd` ends the wait for bytes."""
        sides = (self._machine, self._terminal)
        while not stopping() and not any(side.gone_for_good for side in sides):
            self._look()
            poll = select.poll()
            poll.register(wake_fd, select.POLLIN)
            for side, other in (sides, sides[::-1]):
                if side.fd >= 0:
                    reads = select.POLLIN if len(other.unsent) < MOST_UNSENT_BYTES else 0
                    poll.register(side.fd, reads | (select.POLLOUT if side.unsent else 0))
            for fd, writes in self._listener.descriptors():
                poll.register(fd, select.POLLIN | (select.POLLOUT if writes else 0))
            ready = dict(poll.poll(LOOK_EVERY_S * 1000))
            # The ports come before the listener, and writing before reading.
            for side in sides:
                if ready.get(side.fd, 0) & select.POLLOUT:
                    self._write(side)
            for side, other in (sides, sides[::-1]):
                if ready.get(side.fd, 0) & (select.POLLIN | select.POLLHUP | select.POLLERR):
                    self._pass_on(side, other)
            for fd, _ in self._listener.descriptors():
                if fd in ready:
                    self._listener.ready(fd, [state for side in sides for state in side.states()])

    def _pass_on(self, side: Side, other: Side) -> None:
        waiting = len(side.unsent)
        data = side.read()
        at_ns = time.monotonic_ns()
        if data and other.fd >= 0:
            other.unsent += data
            self._write(other)
        elif data and not side.is_machine:
            self._listener.tell(NotPassed(len(data), at_ns))
        if data and side.is_machine:
            self._listener.tell(FromMachine(data, at_ns))
        if side.fd < 0:
            if side.is_machine and waiting:
                self._listener.tell(NotPassed(waiting, at_ns))
            self._listener.tell(side.state())

    def _write(self, side: Side) -> None:
        waiting = len(side.unsent)
        written = side.write()
        if side.is_machine and written:
            self._listener.tell(FromTerminal(written, time.monotonic_ns()))
        if side.fd < 0:
            if side.is_machine and waiting > len(written):
                self._listener.tell(NotPassed(waiting - len(written), time.monotonic_ns()))
            self._listener.tell(side.state())

    def _look(self) -> None:
        """Look from time to time whether a lost port is back, and whether other programs use an open one."""
        now_s = time.monotonic()
        if now_s < self._look_next_s:
            return
        self._look_next_s = now_s + LOOK_EVERY_S
        for side in (self._machine, self._terminal):
            why_lost = side.why_lost
            if side.fd < 0 and (side.opened_again() or side.why_lost != why_lost):
                self._listener.tell(side.state())
            others = side.others()
            if others is not None:
                self._listener.tell(OthersSeen(side.device, others, time.monotonic_ns()))
