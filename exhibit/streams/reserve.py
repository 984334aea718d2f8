"""Room reserved on the disc, so that the tidy-up can still be recorded when the disc is full."""

from __future__ import annotations

import contextlib
import errno
import os
from pathlib import Path

from exhibit.streams.recording_lock import writer_state

SUFFIX = ".reserve"

_UNSUPPORTED = frozenset({errno.EOPNOTSUPP, errno.EINVAL, errno.ENOSYS})


class Reserve:
    """A file of zeros beside a recording, deleted when its room is needed."""

    def __init__(self, recording: Path, size_bytes: int) -> None:
        """Raises OSError, and leaves no file behind, if there isn't enough room."""
        self._path = recording.with_name(recording.name + SUFFIX)
        self.size_bytes = size_bytes
        fd = os.open(self._path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_CLOEXEC, 0o644)
        try:
            _fill(fd, size_bytes)
        except OSError:
            self._path.unlink(missing_ok=True)
            raise
        finally:
            os.close(fd)

    def belongs_to(self, recording: Path) -> None:
        """Let it be the reserve of this recording from now on. Raises OSError if it is gone."""
        path = recording.with_name(recording.name + SUFFIX)
        os.rename(self._path, path)
        self._path = path

    def release(self) -> None:
        """Free the room on the disc."""
        with contextlib.suppress(OSError):
            self._path.unlink(missing_ok=True)


def remove_stale_reserves(folder: Path, recording_suffix: str) -> None:
    """Delete the reserves of writers that were killed, as far as they can be deleted."""
    for path in folder.glob(f"*{recording_suffix}{SUFFIX}"):
        recording = path.with_name(path.name.removesuffix(SUFFIX))
        with contextlib.suppress(Exception):
            if not recording.exists() or writer_state(recording) == "gone":
                path.unlink()


def _fill(fd: int, size_bytes: int) -> None:
    if size_bytes == 0:
        return
    try:
        os.posix_fallocate(fd, 0, size_bytes)
    except OSError as error:
        if error.errno not in _UNSUPPORTED:
            raise
        # This file system can't reserve room, so fill it by writing.
        remaining_bytes = size_bytes
        while remaining_bytes:
            remaining_bytes -= os.write(fd, bytes(min(remaining_bytes, 64 * 1024)))
        os.fsync(fd)
