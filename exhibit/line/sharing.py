"""Notices while a port is open that another program opens it too.

The kernel reports each opening and closing of the device (inotify(7), through the C library), so a quiet port
costs one system call at each look. Only after such a report are all processes searched for the one that has
it open. Without inotify nothing is noticed after the line was opened; nor is it on a network line.
"""

from __future__ import annotations

import ctypes
import os
import struct
from collections.abc import Callable
from typing import Final

from exhibit.line.port_holders import holders

LOOK_EVERY_S: Final = 0.4
BRIEFLY: Final = "a program that closed it again at once"
UNSEEN: Final = "a program of another user"
_OPEN, _CLOSE = 0x20, 0x8 | 0x10  # <sys/inotify.h>: IN_OPEN; IN_CLOSE_WRITE and IN_CLOSE_NOWRITE
_EVENT = struct.Struct("iIII")
"""struct inotify_event: watch, mask, cookie, length of the name that follows."""
_FLAGS = os.O_NONBLOCK | os.O_CLOEXEC


class Sharing:
    """Watches one device from now on, while this process has it open. Call `look` now and then."""

    def __init__(self, device: str, search: Callable[[str], list[str]] = holders) -> None:
        self._device = device
        self._search = search
        self._found: list[str] = []
        self._fd = _watch(device)

    def look(self) -> list[str] | None:
        """The other programs that have the device open, if that has changed since the last look; else None.

        Empty if they have all closed it again.
        """
        reported = self._take_reports()
        if not reported:
            return self._changed_to([]) if self._found == [BRIEFLY] else None
        found = self._search(self._device)
        if not found and reported & _OPEN:
            found = [BRIEFLY if reported & _CLOSE else UNSEEN]
        return self._changed_to(found)

    def close(self) -> None:
        """Stop watching."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1

    def _changed_to(self, found: list[str]) -> list[str] | None:
        if found == self._found:
            return None
        self._found = found
        return found

    def _take_reports(self) -> int:
        """What has been reported since the last call, as bits."""
        reported = 0
        while self._fd >= 0:
            try:
                raw = os.read(self._fd, 4096)
            except OSError:  # nothing more has been reported
                break
            while raw:
                _, mask, _, name_bytes = _EVENT.unpack_from(raw)
                reported |= mask
                raw = raw[_EVENT.size + name_bytes :]
        return reported


def _watch(device: str) -> int:
    """An inotify descriptor for the device; -1 if there is none, or it isn't available."""
    if "://" in device:
        return -1
    try:
        c_library = ctypes.CDLL(None, use_errno=True)
        fd = int(c_library.inotify_init1(_FLAGS))
    except (AttributeError, OSError):
        return -1
    if fd >= 0 and c_library.inotify_add_watch(fd, os.fsencode(os.path.realpath(device)), _OPEN | _CLOSE) < 0:
        os.close(fd)
        return -1
    return fd
