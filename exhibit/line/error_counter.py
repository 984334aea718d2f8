"""The damaged characters that serial hardware counts (Linux: TIOCGICOUNT)."""

from __future__ import annotations

import fcntl
import struct
import sys
from collections.abc import Callable

TIOCGICOUNT = 0x545D
_INTS = struct.Struct("=20i")
"""struct serial_icounter_struct of linux/serial.h: cts dsr rng dcd rx tx frame overrun parity brk
buf_overrun, and nine reserved."""

Counts = tuple[int, int, int, int]
"""Parity, framing, overrun, breaks."""


def read_counts(fd: int) -> Counts | None:
    """What the hardware has counted since the computer was started; None where nothing counts."""
    if not sys.platform.startswith("linux"):
        return None
    try:
        raw = fcntl.ioctl(fd, TIOCGICOUNT, bytes(_INTS.size))
    except (OSError, ValueError):  # nothing counts here, or the port is closed already (-1)
        return None
    return counts_in(raw)


def counts_in(raw: bytes) -> Counts:
    """The four counts in the system's answer; both kinds of overrun are one to us."""
    _, _, _, _, _, _, framing, overrun, parity, breaks, buffer_overrun, *_ = _INTS.unpack(raw)
    return parity, framing, overrun + buffer_overrun, breaks


class ErrorCounter:
    """Tells what was counted since it was asked last."""

    def __init__(self, fd: int, read: Callable[[int], Counts | None] = read_counts) -> None:
        self._fd = fd
        self._read = read
        self._before = read(fd)

    def increase(self) -> Counts | None:
        """The counts since the last call; None when nothing was counted or nothing counts.

        A counter that went back, as after a reset of the adapter, counts from 0 again.
        """
        now = self._read(self._fd)
        before, self._before = self._before, now
        if now is None or before is None or now == before:
            return None
        parity, framing, overrun, breaks = (
            new - old if new >= old else new for new, old in zip(now, before, strict=True)
        )
        return parity, framing, overrun, breaks
