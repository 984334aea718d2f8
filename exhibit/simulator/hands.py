"""Two sources of acts at the front: a local socket, and the terminal that started the simulator."""

import contextlib
import os
import selectors
import socket
from collections.abc import Callable
from pathlib import Path

from exhibit.facts.errors import SetUpFault
from exhibit.output.terminal import put

LONGEST_ACT_BYTES = 200
MOST_CALLERS = 8


class ActSocket:
    """A Unix socket at `path`: each line received is an act, and is answered by one line."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._door = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        try:
            if path.is_socket():
                path.unlink()
            self._door.bind(str(path))
            path.chmod(0o600)
        except OSError as fault:
            self._door.close()
            raise SetUpFault(
                f"The control socket {path} can't be made: {fault.strerror or fault}.",
                "Without it nobody can turn the simulated machine's key from another program.",
                "Choose a short path in a folder that you may write to.",
            ) from fault
        self._door.listen(MOST_CALLERS)
        self._door.setblocking(False)
        self._callers: dict[socket.socket, bytearray] = {}
        self._selector: selectors.BaseSelector | None = None

    def watch(self, selector: selectors.BaseSelector) -> None:
        """Register the socket with the selector; the key's data is this object."""
        self._selector = selector
        selector.register(self._door, selectors.EVENT_READ, self)

    def ready(self, fileobj: object, do: Callable[[str], str]) -> None:
        """Let a caller in, or carry out the complete lines that a caller has sent."""
        if fileobj is self._door:
            self._let_in()
            return
        if not isinstance(fileobj, socket.socket) or fileobj not in self._callers:
            return
        try:
            data = fileobj.recv(4096)
        except BlockingIOError:
            return
        except OSError:
            data = b""
        received = self._callers[fileobj]
        received += data
        while b"\n" in received:
            line, _, rest = bytes(received).partition(b"\n")
            received[:] = rest
            act = line.decode("ascii", "replace").strip()
            if act:
                with contextlib.suppress(OSError):
                    answer = " / ".join(do(act).splitlines())
                    fileobj.sendall(answer.encode("ascii", "replace") + b"\n")
        if not data or len(received) > LONGEST_ACT_BYTES:
            self._show_out(fileobj)

    def close(self) -> None:
        """Close all connections and remove the socket from the file system."""
        for caller in list(self._callers):
            self._show_out(caller)
        self._door.close()
        self._path.unlink(missing_ok=True)

    def _let_in(self) -> None:
        try:
            caller, _ = self._door.accept()
        except OSError:
            return
        if self._selector is None or len(self._callers) >= MOST_CALLERS:
            caller.close()
            return
        caller.setblocking(False)
        self._callers[caller] = bytearray()
        self._selector.register(caller, selectors.EVENT_READ, self)

    def _show_out(self, caller: socket.socket) -> None:
        if self._selector is not None:
            self._selector.unregister(caller)
        del self._callers[caller]
        caller.close()


class TerminalHands:
    """Acts typed as lines in the terminal that started the simulator."""

    def __init__(self, fd: int) -> None:
        self._fd = fd
        self._received = b""
        self._selector: selectors.BaseSelector | None = None

    def watch(self, selector: selectors.BaseSelector) -> None:
        """Register the terminal with the selector; the key's data is this object."""
        self._selector = selector
        selector.register(self._fd, selectors.EVENT_READ, self)

    def ready(self, fileobj: object, do: Callable[[str], str]) -> None:
        """Carry out the complete lines that were typed; at the end of input, stop watching."""
        data = os.read(self._fd, 4096)
        if not data and self._selector is not None:
            self._selector.unregister(self._fd)
        *lines, self._received = (self._received + data).split(b"\n")
        for line in lines:
            act = line.decode("ascii", "replace").strip()
            if act:
                put(do(act))
