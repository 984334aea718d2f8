"""The line to the machine: the only module that knows pyserial. Nothing in it writes.

    line = open_line("/dev/ttyUSB0", settings, clock_us, deliver)                    # watch only
    line = open_line("/dev/ttyUSB0", settings, clock_us, deliver, borrower=typist)   # may be typed at
    line.stop()

`deliver` is called from the line's own reader thread with `Opened`, `Received`, `Lost`,
`ErrorsCounted` and `Unreadable` (line_events.py); let it put them into a queue, and raise nothing.
Who wants to type brings a `Typist` (typist.py), to which the reader lends the open port and from
which it takes it back before closing. Without a borrower a device is opened for reading only, so
that the operating system itself refuses a write. (An rfc2217:// line has to negotiate with the
network adapter even then; that never reaches the machine.)

Control lines: the operating system raises DTR and RTS when a device is opened, as a terminal that
is switched on does. They are left raised while the port is open and also when it is closed, so
that a restart of this program is nothing that the machine could notice. There is no way to send BREAK.
"""

from __future__ import annotations

import fcntl
import os
import socket
import termios
from collections.abc import Callable
from contextlib import suppress
from typing import Any
from urllib.parse import urlsplit

import serial
from serial import rfc2217
from serial.tools import list_ports
from serial.urlhandler import protocol_socket

from exhibit.facts.line_settings import LineSettings
from exhibit.line.events import Deliver
from exhibit.line.faults import is_network, opening_faults, settings_not_taken, shared, unknown_kind
from exhibit.line.port_holders import holders
from exhibit.line.reader import Borrower, Line, OpenPort

READ_WAIT_S = 0.2
WRITE_WAIT_S = 1.0
"""The longest that one byte may be held up before it counts as not typed."""
BURST_BYTES = 4096

_PARITY = {"none": serial.PARITY_NONE, "even": serial.PARITY_EVEN, "odd": serial.PARITY_ODD}
_LATE = (OSError, termios.error, TypeError, ValueError)
"""What closing a port that is already gone may throw; nothing can be done about it by then."""


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
    an event, and the reader tries to open it again by itself, at first after 0.25 s and then ever
    more slowly up to every 5 s.
    """
    watch_only = borrower is None
    return Line(url, settings, clock_us, deliver, borrower, lambda: _open_port(url, settings, watch_only))


def ports_present() -> list[str]:
    """The serial ports of this computer, by their lasting names where they have one."""
    found: dict[str, str] = {}
    lasting = "/dev/serial/by-id"
    # What is plugged in or out just now makes pyserial stumble (TypeError), and folders go.
    with suppress(*_LATE):
        found = {os.path.realpath(port.device): port.device for port in list_ports.comports()}
    with suppress(FileNotFoundError):
        for name in sorted(os.listdir(lasting)):
            found[os.path.realpath(f"{lasting}/{name}")] = f"{lasting}/{name}"
    return sorted(found.values())


def _open_port(url: str, settings: LineSettings, watch_only: bool) -> OpenPort:
    kind = _kind_of_port(url, watch_only)
    frame = settings.port_frame
    with opening_faults(url, settings, ports_present):
        port = kind(
            baudrate=settings.baud,
            bytesize=frame.data_bits,
            parity=_PARITY[frame.parity],
            stopbits=frame.stop_bits,
            timeout=READ_WAIT_S,
        )
        port.dtr = port.rts = True  # before opening, or it would be pyserial's choice
        port.port = url
        port.open()
    if isinstance(port, Device):
        try:
            _settle_device(port, url, settings)
        except BaseException:
            port.shut()
            raise
    return port


def _kind_of_port(url: str, watch_only: bool) -> type[Device | TcpPort | Rfc2217Port]:
    if not is_network(url):
        return WatchedDevice if watch_only else Device
    try:
        parts = urlsplit(url)
        complete = bool(parts.hostname) and parts.port is not None and not (parts.path or parts.query)
    except ValueError:
        complete = False
    if not complete or parts.scheme not in ("socket", "rfc2217"):
        raise unknown_kind(url)
    return TcpPort if parts.scheme == "socket" else Rfc2217Port


def _settle_device(port: Device, url: str, settings: LineSettings) -> None:
    """Keep others off the device, and see that it took its settings. Raises LineFault."""
    with opening_faults(url, settings, ports_present):
        fd = port.fileno()
        fcntl.ioctl(fd, termios.TIOCEXCL)
        others = holders(url)  # who opened it before us is not kept off by any lock
        if others:
            raise shared(url, others)
        asked = termios.tcgetattr(fd)  # what pyserial has set
        asked[0] &= ~(termios.BRKINT | termios.IMAXBEL)  # a BREAK from the machine must not flush data
        asked[2] &= ~termios.HUPCL  # closing must not drop DTR
        termios.tcsetattr(fd, termios.TCSANOW, asked)
        taken = termios.tcgetattr(fd)
        frame = termios.CSIZE | termios.PARENB | termios.PARODD | termios.CSTOPB
        speed = getattr(termios, f"B{settings.baud}", taken[4])  # an odd speed has no name to compare
        if taken[2] & frame != _frame_bits(settings) or taken[4:6] != [speed, speed]:
            raise settings_not_taken(url, settings)


def _frame_bits(settings: LineSettings) -> int:
    frame = settings.port_frame
    bits = termios.CS8 if frame.data_bits == 8 else termios.CS7
    if frame.stop_bits == 2:
        bits |= termios.CSTOPB
    if frame.parity != "none":
        bits |= termios.PARENB
    if frame.parity == "odd":
        bits |= termios.PARODD
    return bits


def _burst(port: Device | TcpPort) -> bytes:
    """One byte, waited for, and all that came with it: waiting for more would hold it up."""
    data = port.read(1)
    if data:
        with suppress(BlockingIOError):
            data += os.read(port.fileno(), BURST_BYTES)
    return data


class Device(serial.Serial):
    """A serial port of this computer, or a pseudo-terminal."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(exclusive=True, write_timeout=WRITE_WAIT_S, **settings)

    def burst(self) -> bytes:
        """See OpenPort."""
        return _burst(self)

    def shut(self) -> None:
        """See OpenPort. Without throwing away the unsent, closing could take many seconds."""
        with suppress(*_LATE):
            fcntl.ioctl(self.fileno(), termios.TIOCNXCL)
        with suppress(*_LATE):
            self.reset_output_buffer()
        with suppress(*_LATE):
            self.close()


class WatchedDevice(Device):
    """A device opened for reading only: the system refuses any write to it (EBADF)."""

    def open(self) -> None:
        """Open without the right to write, which the account that watches then needn't have either."""
        self.fd = os.open(self.port or "", os.O_RDONLY | os.O_NOCTTY | os.O_NONBLOCK)
        self.pipe_abort_read_r, self.pipe_abort_read_w = os.pipe()
        self.pipe_abort_write_r, self.pipe_abort_write_w = os.pipe()
        self.is_open = True
        try:
            self.exclusive = True  # on an open port this also applies all the other settings
            self.reset_input_buffer()
        except BaseException:
            self.close()
            raise


class _NetworkPort:
    """What the two kinds of network port have in common."""

    _socket: socket.socket | None = None

    def fileno(self) -> int:
        """For waiting until the connection takes a byte."""
        if self._socket is None:
            raise OSError("the connection is closed")
        return self._socket.fileno()

    def reset_input_buffer(self) -> None:
        """Keep what came first: unlike a device, a new connection holds nothing stale."""

    def reset_output_buffer(self) -> None:
        """Nothing: some adapters never answer this request, and opening would wait for them."""

    def _prepare(self) -> None:
        """Send each byte at once, queue none, and notice a far end that went without a word."""
        if self._socket is None:
            return
        self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
        for option, value in (
            # Not ready to take a byte while one stands unsent: else the system keeps megabytes for an
            # adapter that stands still, and they would be typed when it goes on.
            ("TCP_NOTSENT_LOWAT", 1),
            ("TCP_KEEPIDLE", 5),  # seconds of silence before the first question
            ("TCP_KEEPINTVL", 2),  # seconds between questions
            ("TCP_KEEPCNT", 3),  # unanswered questions
            ("TCP_USER_TIMEOUT", 10_000),  # milliseconds that a typed byte may go unacknowledged
        ):
            if hasattr(socket, option):
                self._socket.setsockopt(socket.IPPROTO_TCP, getattr(socket, option), value)


class TcpPort(_NetworkPort, protocol_socket.Serial):
    """A bare TCP connection to a network adapter, which has its own settings."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(write_timeout=WRITE_WAIT_S, **settings)

    def open(self) -> None:
        """Connect."""
        super().open()
        self._prepare()

    def burst(self) -> bytes:
        """See OpenPort."""
        return _burst(self)

    def shut(self) -> None:
        """See OpenPort. pyserial forgets to close a socket whose far end is gone already."""
        held = self._socket
        with suppress(*_LATE):
            self.close()
        if held is not None:
            held.close()


class Rfc2217Port(_NetworkPort, rfc2217.Serial):
    """A network adapter whose settings travel along with the data (RFC 2217)."""

    def open(self) -> None:
        """Connect and agree on the settings."""
        super().open()
        self._prepare()
        if self._socket is not None:
            self._socket.settimeout(WRITE_WAIT_S)  # pyserial's own write_timeout isn't there for this kind

    def burst(self) -> bytes:
        """See OpenPort."""
        data = self.read(1)
        return data + self.read(self.in_waiting) if data else data

    def close(self) -> None:
        """Close. pyserial forgets to close a socket whose far end is gone already."""
        held = self._socket
        super().close()
        if held is not None:
            held.close()

    def shut(self) -> None:
        """See OpenPort."""
        with suppress(*_LATE):
            self.close()
