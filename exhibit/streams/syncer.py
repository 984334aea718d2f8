"""Syncs a growing file to the disc in a thread of its own: on a memory card a sync can take 0.1 s."""

from __future__ import annotations

import errno
import os
import threading


class Syncer:
    """Syncs an open file every `every_s` seconds if something was written.

    It also checks that nobody has deleted the file, since nobody could ever read what is written after that.
    """

    failure: OSError | None = None
    """Why a sync failed: what was written since the one before may be lost. After that, syncing stops."""

    def __init__(self, fd: int, every_s: float) -> None:
        self.something_written = False
        self._fd = fd
        self._every_s = every_s
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="recording sync", daemon=True)
        self._thread.start()

    def stop(self, within_s: float = 30.0) -> None:
        """Sync once more and end the thread; don't wait for a stuck disc longer than `within_s`."""
        self._stopping.set()
        self._thread.join(within_s)

    def _run(self) -> None:
        while True:
            last = self._stopping.wait(self._every_s)
            if self.failure is None:
                try:
                    self._check_and_sync()
                except OSError as error:
                    self.failure = error
            if last:
                return

    def _check_and_sync(self) -> None:
        if os.fstat(self._fd).st_nlink == 0:
            raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT))
        if self.something_written:
            # Cleared before the sync, so that what is written during it is synced by the next one.
            self.something_written = False
            os.fdatasync(self._fd)
