"""The lock that shows readers whether a recording's writer is alive, without disturbing it.

It is an open-file-description lock (Linux). The kernel releases it when the last process with the writer's
open file has ended, for whatever reason. Reading or closing the file elsewhere doesn't affect it.
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


def take(fd: int) -> None:
    """Take the writer's lock on an open file. Raises OSError if another process has it.

    A child process forked later would share the lock and keep it alive, so fork first.
    """
    fcntl.fcntl(fd, fcntl.F_OFD_SETLK, _whole_file(fcntl.F_WRLCK))


def release(fd: int) -> None:
    """Release the writer's lock, even if a child process still has the file open."""
    fcntl.fcntl(fd, fcntl.F_OFD_SETLK, _whole_file(fcntl.F_UNLCK))


def state_of(fd: int) -> WriterState:
    """Whether a process is writing the recording in this open file. Takes no lock."""
    answer = fcntl.fcntl(fd, fcntl.F_OFD_GETLK, _whole_file(fcntl.F_RDLCK))
    return "gone" if _FLOCK.unpack(answer)[0] == fcntl.F_UNLCK else "writing"


def writer_state(path: Path) -> WriterState:
    """Whether a process is writing this recording.

    A stopped process (SIGSTOP) counts as writing; only missing heartbeats show that it has stopped. Raises
    RecordingFault if the file can't be opened.
    """
    with as_recording_fault(path, "be opened"):
        fd = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
        try:
            return state_of(fd)
        finally:
            os.close(fd)
