"""The lock by which a reader sees that a recording's writer is alive, without disturbing it.

It is Linux's open-file-description lock: it goes when the last process that holds the writer's open
file is gone, however that ended, and reading or closing the file elsewhere doesn't touch it.
"""

from __future__ import annotations

import fcntl
import os
import struct
from pathlib import Path
from typing import Literal

from exhibit.streams.recording_fault import as_recording_fault

WriterState = Literal["writing", "gone"]

# struct flock (fcntl(2)): type, whence, start, length, and a process id that must be 0 for this kind of lock.
_FLOCK = struct.Struct("hhqqi0q")


def _whole_file(lock_type: int) -> bytes:
    return _FLOCK.pack(lock_type, os.SEEK_SET, 0, 0, 0)


def hold(fd: int) -> None:
    """Take the writer's lock on an open file. Raises OSError if another holds it.

    A child that is forked later shares the lock and would keep it alive: fork before.
    """
    fcntl.fcntl(fd, fcntl.F_OFD_SETLK, _whole_file(fcntl.F_WRLCK))


def let_go(fd: int) -> None:
    """Give the writer's lock back, also where a child still has the file open."""
    fcntl.fcntl(fd, fcntl.F_OFD_SETLK, _whole_file(fcntl.F_UNLCK))


def state_of(fd: int) -> WriterState:
    """Is a process holding this open file's recording open for writing? Takes no lock."""
    answer = fcntl.fcntl(fd, fcntl.F_OFD_GETLK, _whole_file(fcntl.F_RDLCK))
    return "gone" if _FLOCK.unpack(answer)[0] == fcntl.F_UNLCK else "writing"


def writer_state(path: Path) -> WriterState:
    """Is a process holding this recording open for writing?

    A stopped process (SIGSTOP) is still writing; only heartbeats tell that it no longer does. Raises
    RecordingFault if the file can't be opened.
    """
    with as_recording_fault(path, "be opened"):
        fd = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
        try:
            return state_of(fd)
        finally:
            os.close(fd)
