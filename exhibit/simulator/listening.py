"""The far end of the console's line, as bytes in and bytes out: a pseudo-terminal or a TCP port."""

import contextlib
import os
import selectors
import socket
import termios
import tty
from pathlib import Path
from typing import Protocol

from exhibit.facts.errors import SetUpFault

LOOPBACK = "127.0.0.1"
MOST_BYTES = 4096


class FarEnd(Protocol):
    """Carries the console's bytes. `url` is what the other side opens."""

    url: str

    def watch(self, selector: selectors.BaseSelector) -> None:
        """Register whatever may bring bytes with the selector; the key's data is this object."""

    def read(self, fileobj: object) -> bytes:
        """The bytes received; b"" if there are none, or if a caller connected or left."""

    def write(self, data: bytes) -> None:
        """Send bytes. A line has no memory: bytes that nobody reads are lost."""

    def close(self) -> None:
        """Close everything."""


class PtyEnd:
    """A pseudo-terminal in raw mode. `link`: a symbolic link to make to it, or None."""

    def __init__(self, link: Path | None) -> None:
        self._master, self._slave = os.openpty()
        tty.setraw(self._slave, termios.TCSANOW)
        os.set_blocking(self._master, False)
        self._device = os.ttyname(self._slave)
        self._link = link
        if link is not None:
            try:
                link.unlink(missing_ok=True)
                link.symlink_to(self._device)
            except OSError as fault:
                raise SetUpFault(
                    f"The name {link} for the simulated line can't be made: {fault.strerror}.",
                    "Without it the console can't be found under that name.",
                    "Choose a name in a folder that you may write to.",
                ) from fault
        self.url = str(link or self._device)
        self._selector: selectors.BaseSelector | None = None

    def watch(self, selector: selectors.BaseSelector) -> None:
        """See FarEnd."""
        selector.register(self._master, selectors.EVENT_READ, self)

    def read(self, fileobj: object) -> bytes:
        """See FarEnd."""
        try:
            return os.read(self._master, MOST_BYTES)
        except (BlockingIOError, OSError):
            return b""

    def write(self, data: bytes) -> None:
        """See FarEnd. If the pseudo-terminal is full, nobody reads, and the rest is lost."""
        with contextlib.suppress(BlockingIOError):
            os.write(self._master, data)

    def close(self) -> None:
        """See FarEnd."""
        os.close(self._master)
        os.close(self._slave)
        if self._link is not None and self._link.is_symlink() and str(self._link.readlink()) == self._device:
            self._link.unlink()


class TcpEnd:
    """A TCP port on loopback, for one caller at a time; a second one is turned away."""

    def __init__(self, port: int) -> None:
        try:
            self._door = socket.create_server((LOOPBACK, port))
        except OSError as fault:
            raise SetUpFault(
                f"Port {port} can't be used for the simulated line: {fault.strerror}.",
                "Another program has it, or it is not allowed.",
                "Choose another port, or 0 to be given a free one.",
            ) from fault
        self._door.setblocking(False)
        self.url = f"socket://{LOOPBACK}:{self._door.getsockname()[1]}"
        self._caller: socket.socket | None = None
        self._selector: selectors.BaseSelector | None = None

    def watch(self, selector: selectors.BaseSelector) -> None:
        """See FarEnd."""
        self._selector = selector
        selector.register(self._door, selectors.EVENT_READ, self)

    def read(self, fileobj: object) -> bytes:
        """See FarEnd."""
        if fileobj is self._door:
            self._let_in()
            return b""
        if self._caller is None:
            return b""
        try:
            data = self._caller.recv(MOST_BYTES)
        except BlockingIOError:
            return b""
        except OSError:
            data = b""
        if not data:
            self._show_out()
        return data

    def write(self, data: bytes) -> None:
        """See FarEnd."""
        if self._caller is None:
            return
        try:
            self._caller.send(data)
        except BlockingIOError:
            pass
        except OSError:
            self._show_out()

    def close(self) -> None:
        """See FarEnd."""
        self._show_out()
        self._door.close()

    def _let_in(self) -> None:
        try:
            caller, _ = self._door.accept()
        except OSError:
            return
        if self._caller is not None or self._selector is None:
            caller.close()
            return
        caller.setblocking(False)
        caller.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._caller = caller
        self._selector.register(caller, selectors.EVENT_READ, self)

    def _show_out(self) -> None:
        if self._caller is not None:
            if self._selector is not None:
                self._selector.unregister(self._caller)
            self._caller.close()
            self._caller = None
