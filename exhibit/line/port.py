"""Opens the line to the machine: the only module that imports pyserial. It never writes.

    line = open_line("/dev/ttyUSB0", settings, clock_us, deliver)                    # watch only
    line = open_line("/dev/ttyUSB0", settings, clock_us, deliver, borrower=typist)   # can be typed at
    line.stop()

`deliver` is called from the line's reader thread with each event (exhibit.line.events). It should put the
event into a queue, and must raise nothing. To type, pass a `Typist` as `borrower`: the reader lends it each
port that it opens, and takes the port back before closing it. Without a borrower, a device is opened for
reading only, so that the operating system itself refuses to write. (On an rfc2217:// line, the connection
still negotiates with the network adapter; nothing of that reaches the machine.)

Control lines: the operating system raises DTR and RTS when a device is opened, as a terminal does when it is
switched on. They stay raised even after the port is closed, so that the machine doesn't notice a restart of
this program. There is no way to send BREAK.
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
from exhibit.line.faults import (
    LASTING_NAMES,
    is_network,
    opening_faults,
    settings_unsupported,
    shared,
    unknown_kind,
)
from exhibit.line.port_holders import holders
from exhibit.line.reader import Borrower, Line, OpenPort

READ_WAIT_S = 0.2
WRITE_WAIT_S = 1.0
"""How long the line can hold up one byte before it counts as not typed."""
BURST_BYTES = 4096

_PARITY = {"none": serial.PARITY_NONE, "even": serial.PARITY_EVEN, "odd": serial.PARITY_ODD}
_CLOSING_ERRORS = (OSError, termios.error, TypeError, ValueError)
"""What closing a port that is already gone can raise. Nothing needs to be done about it."""


def open_line(
    url: str,
    settings: LineSettings,
    clock_us: Callable[[], int],
    deliver: Deliver,
    borrower: Borrower | None = None,
) -> Line:
    """Open the line and start its reader thread.

    `url` is a device (`/dev/ttyUSB0`, a pseudo-terminal), `socket://host:port` or
    `rfc2217://host:port`. Raises LineFault if it can't be opened now. If it is lost later, that is an
    event, and the reader tries to open it again, after 0.25 s at first and then at longer and longer
    intervals of up to 5 s.
    """
    watch_only = borrower is None

    def open_again() -> OpenPort:
        return _open_port(url, settings, watch_only)

    return Line(url, settings, clock_us, deliver, borrower, open_again, ports_present)


def ports_present() -> list[str]:
    """The serial ports of this computer, by a name under /dev/serial/by-id if they have one."""
    found: dict[str, str] = {}
    # While a device is being plugged in or out, pyserial can raise TypeError, and folders disappear.
    with suppress(*_CLOSING_ERRORS):
        found = {os.path.realpath(port.device): port.device for port in list_ports.comports()}
    with suppress(FileNotFoundError):
        for name in sorted(os.listdir(LASTING_NAMES)):
            found[os.path.realpath(f"{LASTING_NAMES}/{name}")] = f"{LASTING_NAMES}/{name}"
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
        port.dtr = port.rts = True  # before opening, or pyserial would choose
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
    """Keep other programs away from the device, and check its settings. Raises LineFault."""
    with opening_faults(url, settings, ports_present):
        fd = port.fileno()
        fcntl.ioctl(fd, termios.TIOCEXCL)
        others = holders(url)  # the lock doesn't affect programs that opened it earlier
        if others:
            raise shared(url, others)
        wanted = termios.tcgetattr(fd)  # what pyserial has set
        wanted[0] &= ~(termios.BRKINT | termios.IMAXBEL)  # a BREAK from the machine must not flush data
        wanted[2] &= ~termios.HUPCL  # closing must not drop DTR
        termios.tcsetattr(fd, termios.TCSANOW, wanted)
        actual = termios.tcgetattr(fd)
        frame = termios.CSIZE | termios.PARENB | termios.PARODD | termios.CSTOPB
        speed = getattr(
            termios, f"B{settings.baud}", actual[4]
        )  # an unusual speed has no constant to compare with
        if actual[2] & frame != _frame_bits(settings) or actual[4:6] != [speed, speed]:
            raise settings_unsupported(url, settings)


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
    """Wait for one byte; return it with all that has arrived by then, so that nothing delays it."""
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
        """See OpenPort. Unless unsent bytes are discarded first, closing could take many seconds."""
        with suppress(*_CLOSING_ERRORS):
            fcntl.ioctl(self.fileno(), termios.TIOCNXCL)
        with suppress(*_CLOSING_ERRORS):
            self.reset_output_buffer()
        with suppress(*_CLOSING_ERRORS):
            self.close()


class WatchedDevice(Device):
    """A device that is open for reading only: the system refuses to write to it (EBADF)."""

    def open(self) -> None:
        """Open for reading only, so that the account needs no permission to write either."""
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
        """The descriptor, for waiting until the connection accepts a byte. Raises OSError once closed."""
        if self._socket is None:
            raise OSError("the connection is closed")
        return self._socket.fileno()

    def reset_input_buffer(self) -> None:
        """Do nothing: unlike a device, a new connection has no old bytes, so its first bytes are kept."""

    def reset_output_buffer(self) -> None:
        """Do nothing: some adapters never answer this request, so opening would wait forever."""

    def _prepare(self) -> None:
        """Send each byte at once, queue none, and notice a far end that has silently disappeared."""
        if self._socket is None:
            return
        self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
        for option, value in (
            # Accept no byte while another is unsent. Otherwise the system would queue megabytes while an
            # adapter hangs, and they would all be typed when it continues.
            ("TCP_NOTSENT_LOWAT", 1),
            ("TCP_KEEPIDLE", 5),  # seconds of silence before the first probe
            ("TCP_KEEPINTVL", 2),  # seconds between probes
            ("TCP_KEEPCNT", 3),  # unanswered probes until it counts as lost
            ("TCP_USER_TIMEOUT", 10_000),  # milliseconds that a typed byte may go unacknowledged
        ):
            if hasattr(socket, option):
                self._socket.setsockopt(socket.IPPROTO_TCP, getattr(socket, option), value)


class TcpPort(_NetworkPort, protocol_socket.Serial):
    """A plain TCP connection to a network adapter, whose serial settings are set at the adapter."""

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
        """See OpenPort. pyserial doesn't close a socket whose far end is already gone."""
        connection = self._socket
        with suppress(*_CLOSING_ERRORS):
            self.close()
        if connection is not None:
            connection.close()


class Rfc2217Port(_NetworkPort, rfc2217.Serial):
    """A network adapter that is sent its serial settings over the connection (RFC 2217)."""

    def open(self) -> None:
        """Connect and agree on the settings."""
        super().open()
        self._prepare()
        if self._socket is not None:
            self._socket.settimeout(WRITE_WAIT_S)  # pyserial has no write_timeout for this kind

    def burst(self) -> bytes:
        """See OpenPort."""
        data = self.read(1)
        return data + self.read(self.in_waiting) if data else data

    def close(self) -> None:
        """Close. pyserial doesn't close a socket whose far end is already gone."""
        connection = self._socket
        super().close()
        if connection is not None:
            connection.close()

    def shut(self) -> None:
        """See OpenPort."""
        with suppress(*_CLOSING_ERRORS):
            self.close()
