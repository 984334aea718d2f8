"""How many damaged characters the serial hardware has counted (Linux: TIOCGICOUNT)."""

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
    """The hardware's counts since the computer was started; None if it has none."""
    if not sys.platform.startswith("linux"):
        return None
    try:
        raw = fcntl.ioctl(fd, TIOCGICOUNT, bytes(_INTS.size))
    except (OSError, ValueError):  # no such counts, or the port is already closed (fd -1)
        return None
    return counts_in(raw)


def counts_in(raw: bytes) -> Counts:
    """The four counts in the system's answer. Both kinds of overrun are added together."""
    _, _, _, _, _, _, framing, overrun, parity, breaks, buffer_overrun, *_ = _INTS.unpack(raw)
    return parity, framing, overrun + buffer_overrun, breaks


class ErrorCounter:
    """Says how much the hardware's counts have increased."""

    def __init__(self, fd: int, read: Callable[[int], Counts | None] = read_counts) -> None:
        self._fd = fd
        self._read = read
        self._before = read(fd)

    def increase(self) -> Counts | None:
        """The increase since the last call; None if there is none, or the hardware has no counts.

        A count that has become smaller was reset, for example with the adapter, and counts from 0 again.
        """
        now = self._read(self._fd)
        before, self._before = self._before, now
        if now is None or before is None or now == before:
            return None
        parity, framing, overrun, breaks = (
            new - old if new >= old else new for new, old in zip(now, before, strict=True)
        )
        return parity, framing, overrun, breaks
