"""Waits until something in a folder has changed, without polling.

It uses the kernel's inotify(7) through the C library, so that a page shows a character a few milliseconds
after it was recorded, while an idle exhibit costs next to nothing. Where that isn't available (another
system, no watches left) it wakes up every 20 ms instead. Network folders may report nothing, so every wait
has a limit.
"""

from __future__ import annotations

import ctypes
import os
from pathlib import Path

import gevent
from gevent import socket as green_socket

POLL_EVERY_S = 0.02
_MODIFY, _CLOSE_WRITE, _MOVED_TO, _CREATE = 0x2, 0x8, 0x80, 0x100  # <sys/inotify.h>
_EVENTS = _MODIFY | _CLOSE_WRITE | _MOVED_TO | _CREATE
_FLAGS = os.O_NONBLOCK | os.O_CLOEXEC


class FolderWatch:
    """Notices when a file in a folder is written, closed, created or moved there."""

    def __init__(self, folder: Path) -> None:
        self._fd = _watch(folder)
        self.uses_kernel = self._fd >= 0
        """Whether the kernel reports changes; otherwise this wakes up to look for them."""

    def wait(self, limit_s: float) -> None:
        """Return when something has changed since the last call, or after `limit_s` at the latest."""
        if self._fd < 0:
            gevent.sleep(min(limit_s, POLL_EVERY_S))
            return
        try:
            green_socket.wait_read(self._fd, timeout=limit_s, timeout_exc=TimeoutError())
        except TimeoutError:
            return
        try:
            while os.read(self._fd, 64 * 1024):
                pass
        except BlockingIOError:
            return

    def close(self) -> None:
        """Stop watching."""
        if self._fd >= 0:
            os.close(self._fd)
            self._fd = -1


def _watch(folder: Path) -> int:
    """An inotify descriptor for the folder; -1 if not available."""
    try:
        c_library = ctypes.CDLL(None, use_errno=True)
        fd = int(c_library.inotify_init1(_FLAGS))
    except (AttributeError, OSError):
        return -1
    if fd >= 0 and c_library.inotify_add_watch(fd, os.fsencode(folder), _EVENTS) < 0:
        os.close(fd)
        return -1
    return fd
