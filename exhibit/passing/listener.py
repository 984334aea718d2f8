"""The one who is given copies of what is passed, and never waited for."""

from __future__ import annotations

import os
import socket
import struct
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final

from exhibit.passing.copies import (
    ACKNOWLEDGEMENT,
    Busy,
    FromMachine,
    FromTerminal,
    Hello,
    Message,
    Missed,
    encode,
)

MOST_WAITING_BYTES: Final = 256 * 1024
"""Copies for a listener that takes nothing: more than four minutes at 9600 baud."""
HOPELESS_BYTES: Final = 4 * MOST_WAITING_BYTES
"""Other messages are kept beyond that, up to here; then the listener is cut off, and can connect again."""


class Listener:
    """Listens at `place` for a connection, and sends the one listener its messages.

    Each descriptor in `descriptors` must be polled, and `ready` called when one can be read or written.
    """

    def __init__(self, place: Path, line: str, terminal: str, settings: str) -> None:
        self._place = place
        self._named = (line, terminal, settings)
        self._door = socket.socket(socket.AF_UNIX)
        with suppress(FileNotFoundError):
            place.unlink()
        self._door.bind(str(place))
        self._door.listen(4)
        self._door.setblocking(False)
        self._connection: socket.socket | None = None
        self._pid = 0
        self._waiting = bytearray()
        self._answered = bytearray()
        self._passed = [0, 0]
        self._acknowledged = [0, 0]
        self._dropped = [0, 0]
        """By direction: what was passed, what a listener acknowledged, and what this one must be told it
        missed."""

    def descriptors(self) -> list[tuple[int, bool]]:
        """What to poll for reading, and whether for writing too."""
        polled = [(self._door.fileno(), False)]
        if self._connection is not None:
            polled.append((self._connection.fileno(), bool(self._waiting)))
        return polled

    def ready(self, fd: int, state: Sequence[Message]) -> None:
        """This descriptor can be read or written. A new listener is first told `state`."""
        if fd == self._door.fileno():
            self._accept(state)
        elif self._connection is not None and fd == self._connection.fileno():
            self._take_answers()
            self._send()

    def tell(self, message: Message) -> None:
        """Send the message if there is a listener, as soon as he takes it; it is never waited for."""
        if isinstance(message, FromMachine | FromTerminal):
            direction = int(isinstance(message, FromTerminal))
            self._passed[direction] += len(message.data)
            if self._connection is None:
                return
            if len(self._waiting) > MOST_WAITING_BYTES or (any(self._dropped) and self._waiting):
                self._dropped[direction] += len(message.data)
                return
        if self._connection is not None:
            self._waiting += encode(message)
            self._send()

    def close(self) -> None:
        """Let nobody connect any more."""
        self._hang_up()
        self._door.close()
        with suppress(OSError):
            self._place.unlink()

    def _accept(self, state: Sequence[Message]) -> None:
        try:
            connection, _ = self._door.accept()
        except OSError:
            return
        connection.setblocking(False)
        if self._connection is not None:
            self._take_answers()  # he may have gone a moment ago
        if self._connection is not None:
            with suppress(OSError):
                connection.send(encode(Busy(self._pid)))
            connection.close()
            return
        self._connection, self._pid = connection, _pid_of(connection)
        self._waiting.clear()
        self._answered.clear()
        self._dropped = [0, 0]
        line, terminal, settings = self._named
        missed = [passed - dealt for passed, dealt in zip(self._passed, self._acknowledged, strict=True)]
        self._acknowledged = list(self._passed)  # from here on he counts them
        for message in (Hello(os.getpid(), settings, line, terminal, *self._passed, *missed), *state):
            self._waiting += encode(message)
        self._send()

    def _take_answers(self) -> None:
        assert self._connection is not None
        try:
            while answer := self._connection.recv(4096):
                self._answered += answer
        except BlockingIOError:
            self._acknowledge()
            return
        except OSError:
            # Who goes without having read everything resets the connection. What he said can still be read.
            with suppress(OSError):
                while answer := self._connection.recv(4096):
                    self._answered += answer
        self._acknowledge()
        self._hang_up()

    def _acknowledge(self) -> None:
        whole = len(self._answered) // ACKNOWLEDGEMENT.size * ACKNOWLEDGEMENT.size
        if whole:
            last = ACKNOWLEDGEMENT.unpack_from(self._answered, whole - ACKNOWLEDGEMENT.size)
            del self._answered[:whole]
            self._acknowledged = [
                max(before, min(now, passed))
                for before, now, passed in zip(self._acknowledged, last, self._passed, strict=True)
            ]

    def _send(self) -> None:
        try:
            while self._connection is not None and self._waiting:
                del self._waiting[: self._connection.send(self._waiting)]
                if not self._waiting and any(self._dropped):
                    self._waiting += encode(Missed(*self._dropped))
                    self._dropped = [0, 0]
        except BlockingIOError:
            if len(self._waiting) > HOPELESS_BYTES:
                self._hang_up()
        except OSError:
            self._take_answers()  # he has gone, but may have said before what he had taken
            self._hang_up()

    def _hang_up(self) -> None:
        if self._connection is not None:
            self._connection.close()
            self._connection = None
            self._waiting.clear()


def _pid_of(connection: socket.socket) -> int:
    credentials = struct.Struct("3i")  # struct ucred: process, user, group
    try:
        raw = connection.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, credentials.size)
    except (OSError, AttributeError):
        return 0
    return int(credentials.unpack(raw)[0])
