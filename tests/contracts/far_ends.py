"""The machine's end of each kind of line, where tests send and receive."""

import fcntl
import os
import select
import socket
import struct
import termios
import threading
import time
import tty
from contextlib import suppress

import serial
from serial import rfc2217

LONG_S = 30.0
"""Far longer than anything here takes, even on a busy computer."""
TERMINALS_PASSED_OVER = 120
"""More than tests/commands/posix_host.py passes over, which looks for the same."""


def until(true, what: str, within_s: float = LONG_S) -> None:
    """Wait until `true()` holds; fail after a time that only a hung program needs."""
    limit_s = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < limit_s, f"waited {within_s} s for {what}"
        time.sleep(0.005)


def waiting_bytes(port) -> int:
    """How many bytes have arrived at a port and have not been read yet."""
    if isinstance(port, rfc2217.Serial):
        return port.in_waiting
    return struct.unpack("i", fcntl.ioctl(port.fileno(), termios.FIONREAD, bytes(4)))[0]


def openpty_of_our_own() -> tuple[int, int]:
    """A pseudo-terminal whose number nobody else gets while it is free for a moment.

    The system assigns the lowest free number, and other tests run at the same time.
    """
    passed_over = [os.openpty() for _ in range(TERMINALS_PASSED_OVER)]
    ours = os.openpty()
    for ends in passed_over:
        for end in ends:
            os.close(end)
    return ours


class PtyEnd:
    """The master of a pseudo-terminal; the line is the path of its other end."""

    is_device = True
    listens = False

    def __init__(self, folder=None) -> None:
        self.master = -1
        self.path = ""
        self._take(openpty_of_our_own())

    @property
    def url(self) -> str:
        """The address of the line."""
        return self.path

    def _take(self, ends: tuple[int, int]) -> None:
        self.master, slave = ends
        self.path = os.ttyname(slave)
        tty.setraw(slave)
        os.close(slave)

    def meet(self) -> None:
        """Accept the line's connection: a pseudo-terminal has none."""

    def send(self, data: bytes) -> None:
        """Send this to the line."""
        while data:
            data = data[os.write(self.master, data) :]

    def receive(self, count: int) -> bytes:
        """Read this many typed bytes."""
        got = b""
        limit_s = time.monotonic() + LONG_S
        while len(got) < count:
            assert time.monotonic() < limit_s, f"only {len(got)} of {count} bytes came"
            if select.select([self.master], [], [], 0.2)[0]:
                got += os.read(self.master, count - len(got))
        return got

    def typed_so_far(self) -> bytes:
        """All that was typed and has arrived, without waiting for more."""
        got = b""
        while select.select([self.master], [], [], 0)[0]:
            try:
                piece = os.read(self.master, 65536)
            except OSError:  # nobody has the other side open
                break
            got += piece
        return got

    def hang_up(self) -> None:
        """Disappear without notice."""
        os.close(self.master)
        self.master = -1

    def come_back(self) -> None:
        """Return at the same address."""
        wanted, others = self.path, []
        limit_s = time.monotonic() + LONG_S
        while True:
            self._take(os.openpty())
            if self.path == wanted:
                break
            others.append(self.master)
            assert time.monotonic() < limit_s, f"{wanted} never came free"
            time.sleep(0.001)
        for other in others:
            os.close(other)

    def close(self) -> None:
        """Close everything."""
        if self.master >= 0:
            self.hang_up()


class DeviceEnd(PtyEnd):
    """The same, but the line is a link to it, as adapters have."""

    def __init__(self, folder) -> None:
        self.link = folder / "by-id-adapter"
        super().__init__()
        self.link.symlink_to(self.path)

    @property
    def url(self) -> str:
        """The link."""
        return str(self.link)

    def hang_up(self) -> None:
        """Unplug it: the link disappears too."""
        self.link.unlink()
        super().hang_up()

    def come_back(self) -> None:
        """Plug it in again: another device with the same link."""
        self._take(os.openpty())
        self.link.symlink_to(self.path)

    def close(self) -> None:
        """Close everything."""
        if self.master >= 0:
            PtyEnd.hang_up(self)


class TcpEnd:
    """A network adapter without settings: one connection at a time, further ones refused."""

    is_device = False
    scheme = "socket"

    def __init__(self, folder=None) -> None:
        self.connection = None
        self.number = 0
        self._listen()

    @property
    def url(self) -> str:
        """The address of the line."""
        return f"{self.scheme}://127.0.0.1:{self.number}"

    def _listen(self) -> None:
        self.listener = socket.socket()
        self.listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        # Small, so that it is soon full when nobody reads.
        self.listener.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        self.listener.bind(("127.0.0.1", self.number))
        self.number = self.listener.getsockname()[1]
        self.listener.listen(1)

    @property
    def listens(self) -> bool:
        """Whether another line could connect."""
        return self.listener.fileno() >= 0

    def meet(self) -> None:
        """Accept the line's connection, and no other."""
        self.listener.settimeout(LONG_S)
        self.connection, _ = self.listener.accept()
        self.connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self.connection.settimeout(LONG_S)
        self.listener.close()

    def send(self, data: bytes) -> None:
        """Send this to the line."""
        self.connection.sendall(data)

    def receive(self, count: int) -> bytes:
        """Read this many typed bytes."""
        got = b""
        while len(got) < count:
            piece = self.connection.recv(count - len(got))
            assert piece, f"the line hung up after {len(got)} of {count} bytes"
            got += piece
        return got

    def typed_so_far(self) -> bytes:
        """All that was typed and has arrived, without waiting for more."""
        got = b""
        while select.select([self.connection], [], [], 0)[0]:
            piece = self.connection.recv(65536)
            if not piece:
                break
            got += piece
        return got

    def hang_up(self) -> None:
        """Go away."""
        self.connection.close()
        self.connection = None

    def come_back(self) -> None:
        """Listen at the same port again."""
        self._listen()

    def close(self) -> None:
        """Close everything."""
        self.listener.close()
        if self.connection is not None:
            self.hang_up()


class WithoutModemLines(serial.Serial):
    """A pseudo-terminal has no modem lines; this says that all are on, and drops what is set."""

    cts = dsr = cd = property(lambda self: True)
    ri = property(lambda self: False)

    def _update_dtr_state(self) -> None: ...
    def _update_rts_state(self) -> None: ...
    def _update_break_state(self) -> None: ...


class Rfc2217End:
    """A network adapter with settings (RFC 2217), made of pyserial's own server half, with a pseudo-terminal
    behind it, where tests send and receive as the machine."""

    is_device = False

    def __init__(self, folder=None) -> None:
        self.machine = PtyEnd()
        self.send, self.receive = self.machine.send, self.machine.receive
        self.typed_so_far = self.machine.typed_so_far
        self.network = TcpEnd()
        self._serve()

    @property
    def url(self) -> str:
        """The address of the line."""
        return f"rfc2217://127.0.0.1:{self.network.number}"

    @property
    def listens(self) -> bool:
        """Whether another line could connect."""
        return self.network.listens

    def meet(self) -> None:
        """The adapter takes the line's connection by itself."""

    def _serve(self) -> None:
        self.over = threading.Event()
        self.adapter = WithoutModemLines(self.machine.path, timeout=0.05)
        self.serving = threading.Thread(target=self._serve_one_line, daemon=True)
        self.serving.start()

    def _serve_one_line(self) -> None:
        try:
            self.network.meet()
        except OSError:  # the test is over before anybody connected
            return
        connection = self.network.connection
        manager = rfc2217.PortManager(self.adapter, self)
        outward = threading.Thread(target=self._carry_outward, args=(manager,), daemon=True)
        outward.start()
        with suppress(OSError):
            while data := connection.recv(1024):
                for byte in manager.filter(data):
                    self._to_the_machine(bytes(byte))
        outward.join(LONG_S)

    def _to_the_machine(self, byte: bytes) -> None:
        while not self.over.is_set():
            if select.select([], [self.adapter.fd], [], 0.05)[1]:
                os.write(self.adapter.fd, byte)
                return

    def _carry_outward(self, manager) -> None:
        while not self.over.is_set():
            if data := self.adapter.read(1):
                data += self.adapter.read(self.adapter.in_waiting)
                self.write(b"".join(manager.escape(data)))

    def write(self, data: bytes) -> None:
        """For pyserial's half: send to the line."""
        with suppress(OSError):
            self.network.connection.sendall(data)

    def hang_up(self) -> None:
        """The adapter loses power; the machine behind it is unaffected."""
        self.over.set()
        for end in (self.network.connection, self.network.listener):
            if end is not None:
                with suppress(OSError):
                    end.shutdown(socket.SHUT_RDWR)
        self.serving.join(LONG_S)
        self.network.close()
        self.adapter.close()

    def come_back(self) -> None:
        """The adapter is on again."""
        self.network.come_back()
        self._serve()

    def close(self) -> None:
        """Close everything."""
        self.hang_up()
        self.machine.close()


KINDS = {"pty": PtyEnd, "device": DeviceEnd, "socket": TcpEnd, "rfc2217": Rfc2217End}
