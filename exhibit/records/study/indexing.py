"""Brings folders' indexes up to date in a process of its own, so that the page stays quick meanwhile.

    python -m exhibit.records.study.indexing FOLDER [NAME...]

reads what is new in that folder, or in the files of these names. Searching and charts wait for it.
"""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

from exhibit.facts.errors import ExhibitError, RecordingFault
from exhibit.records.index.asking import Index

LONGEST_WAIT_S: Final = 45.0
"""Then whoever asks is told to come again."""
_NICENESS: Final = 10
Places = Sequence[tuple[Path, tuple[str, ...]]]
"""Folders, each with the names of the files that are meant in it; none means all."""


class Indexing:
    """Whoever asks an index does so through this: one at a time, and once it is up to date."""

    def __init__(self) -> None:
        self._lock = threading.RLock()  # whoever asks several indexes holds them all at once
        self._done = threading.Event()
        self._done.set()
        self._child: subprocess.Popen[bytes] | None = None
        self._ending = False

    def start(self, places: Places) -> None:
        """Begin to bring these folders' indexes up to date."""
        self._done.clear()
        threading.Thread(target=self._run, args=(places,), name="indexing", daemon=True).start()

    def end(self) -> None:
        """End the process that reads, if there is one. What it has read so far stays."""
        self._ending = True
        child = self._child
        if child is not None and child.poll() is None:
            with suppress(ProcessLookupError):
                os.killpg(child.pid, signal.SIGTERM)  # those that it has started, too
            child.wait()

    @contextmanager
    def asked(self, folder: Path, only: tuple[str, ...]) -> Iterator[Index]:
        """The index of a folder, up to date. Raises RecordingFault if it can't be used, or not yet."""
        if not self._done.wait(LONGEST_WAIT_S):
            raise RecordingFault(
                "The recordings are still being read for the first time.",
                "Searching and charts need that; everything else works meanwhile.",
                "Ask again in a minute.",
            )
        try:
            with self._lock, Index.open(folder, only) as index:
                yield index
        except sqlite3.Error as error:
            raise RecordingFault(
                f"The index of {folder} can't be used: {error}.",
                "Searching and charts need it; everything else works without.",
                "Delete exhibit-index.sqlite there, or make room on the disc, and ask again.",
            ) from error

    def _run(self, places: Places) -> None:
        try:
            for folder, only in places:
                if self._ending:
                    return
                with suppress(OSError):  # then whoever asks first waits for it
                    self._child = subprocess.Popen(
                        [sys.executable, "-m", __name__, f"{folder}", *only],
                        stdin=subprocess.DEVNULL,
                        stdout=subprocess.DEVNULL,
                        stderr=subprocess.DEVNULL,
                        start_new_session=True,
                    )
                    self._child.wait()
        finally:
            self._done.set()


def main(folder: str, *only: str) -> None:
    """Bring one folder's index up to date, without getting in anybody's way."""
    os.nice(_NICENESS)
    with suppress(ExhibitError, sqlite3.Error), Index.open(Path(folder), only):
        pass


if __name__ == "__main__":
    main(*sys.argv[1:])
