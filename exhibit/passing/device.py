"""Opens a serial device for passing: every byte unchanged, no flow control, nothing else on it."""

from __future__ import annotations

import fcntl
import os
import termios
from contextlib import suppress
from glob import glob

from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
from exhibit.line.faults import is_network, opening_faults, settings_unsupported, shared
from exhibit.line.port_holders import holders

_IFLAG, _OFLAG, _CFLAG, _LFLAG, _ISPEED, _OSPEED, _CC = range(7)


def open_device(device: str, settings: LineSettings) -> int:
    """Open a device of this computer. Returns its descriptor, which never blocks. Raises LineFault.

    A BREAK is ignored: it would otherwise arrive at the other side as a character that nobody typed. DTR and
    RTS are raised by the system, and stay raised when the device is closed.
    """
    if is_network(device):
        raise LineFault(
            f"{device} is not a serial port of this computer.",
            "Characters can be passed without delay only between two ports of this computer.",
            "Connect machine and terminal to two serial ports, such as /dev/ttyUSB0 and /dev/ttyUSB1.",
        )
    with opening_faults(device, settings, _ports_present):
        fd = os.open(device, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK | os.O_CLOEXEC)
        try:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
            fcntl.ioctl(fd, termios.TIOCEXCL)
            if others := holders(device):
                raise shared(device, others)
            _set(fd, device, settings)
            termios.tcflush(fd, termios.TCIFLUSH)  # what was typed before nobody expects to be passed
        except BaseException:
            close_device(fd)
            raise
    return fd


def close_device(fd: int, *, discard: bool = True) -> None:
    """Close a device, even if it is already gone. `discard`: don't wait for what is still to be sent."""
    with suppress(OSError, termios.error):
        fcntl.ioctl(fd, termios.TIOCNXCL)
    if discard:
        with suppress(OSError, termios.error):
            termios.tcflush(fd, termios.TCOFLUSH)
    with suppress(OSError):
        os.close(fd)


def _set(fd: int, device: str, settings: LineSettings) -> None:
    speed = getattr(termios, f"B{settings.baud}", None)
    if speed is None:
        raise settings_unsupported(device, settings)
    frame = _frame_bits(settings)
    attributes = termios.tcgetattr(fd)
    attributes[_IFLAG] = termios.IGNBRK
    attributes[_OFLAG] = attributes[_LFLAG] = 0
    attributes[_CFLAG] = termios.CREAD | termios.CLOCAL | frame
    attributes[_ISPEED] = attributes[_OSPEED] = speed
    attributes[_CC][termios.VMIN], attributes[_CC][termios.VTIME] = 1, 0
    termios.tcsetattr(fd, termios.TCSANOW, attributes)
    actual = termios.tcgetattr(fd)
    kept = actual[_CFLAG] & (termios.CSIZE | termios.PARENB | termios.PARODD | termios.CSTOPB)
    if kept != frame or actual[_ISPEED : _OSPEED + 1] != [speed, speed]:
        raise settings_unsupported(device, settings)


def _frame_bits(settings: LineSettings) -> int:
    """A parity bit that fits into eight data bits is passed as it came (line_settings)."""
    frame = settings.port_frame
    bits = termios.CS8 if frame.data_bits == 8 else termios.CS7
    bits |= termios.CSTOPB if frame.stop_bits == 2 else 0
    bits |= termios.PARENB if frame.parity != "none" else 0
    return bits | (termios.PARODD if frame.parity == "odd" else 0)


def _ports_present() -> list[str]:
    return sorted(glob("/dev/serial/by-id/*") or glob("/dev/ttyUSB*") + glob("/dev/ttyACM*"))
