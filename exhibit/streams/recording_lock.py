"""The lock that shows readers whether a recording's writer is alive, without disturbing it.

It is an open-file-description lock (Linux). The kernel releases it when the last process with the writer's
open file has ended, for whatever reason. Reading or closing the file elsewhere doesn't affect it.

A process that others look for, such as a bridge or a page, leaves a note with the same lock: so a note that a
killed process left deceives nobody.
"""

from __future__ import annotations

import fcntl
import os
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal, TypeVar

import msgspec

from exhibit.streams.recording_fault import as_recording_fault

WriterState = Literal["writing", "gone"]
Note = TypeVar("Note", bound=msgspec.Struct)

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


@contextmanager
def note_left(path: Path, note: msgspec.Struct) -> Iterator[None]:
    """Leave this note at `path`, locked, and take it away at the end, unless another has taken its place.

    Raises OSError if nothing can be written there.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    written = path.with_name(f".{path.name}-{os.getpid()}")
    with written.open("wb", buffering=0) as file:
        try:
            file.write(msgspec.json.encode(note) + b"\n")
            take(file.fileno())
            # Whoever reads it sees all of it, and locked, or else the one that was there before.
            written.rename(path)
        except OSError:
            written.unlink(missing_ok=True)
            raise
        yield
        if living_note(path, type(note)) == note:
            path.unlink(missing_ok=True)


def living_note(path: Path, kind: type[Note]) -> Note | None:
    """The note at `path`, if whoever left it still lives."""
    try:
        with path.open("rb") as file:
            if state_of(file.fileno()) == "gone":
                return None
            return msgspec.json.decode(file.read(), type=kind)
    except (OSError, msgspec.MsgspecError):
        return None
