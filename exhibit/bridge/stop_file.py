"""A file that means stop: whatever can create one in the folder of the recordings can stop the typing."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Final

from exhibit.bridge.request_door import Reply, Request

NAME: Final = "stop-typing"
BY: Final = "the stop file"
LOOK_EVERY_S: Final = 0.4
"""Real seconds."""


class StopFile:
    """Looks for the file in a thread of its own, asks for a stop when it is there, and then removes it.

    A file that can't be removed counts only once.
    """

    def __init__(self, recordings: Path, ask: Callable[[Request, Reply], None]) -> None:
        self._path = recordings / NAME
        self._ask = ask
        self._counted: tuple[int, int] | None = None
        """Which file has been counted: its number and when it was last changed."""
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._look_on, name="stop file", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Look no longer."""
        self._ended.set()
        self._thread.join()

    def _look_on(self) -> None:
        while not self._ended.wait(LOOK_EVERY_S):
            self.look()

    def look(self) -> None:
        """Ask for a stop if the file is there and hasn't been counted."""
        try:
            found = self._path.lstat()
        except OSError:
            self._counted = None
            return
        which = found.st_ino, found.st_mtime_ns
        if which != self._counted:
            self._counted = which
            self._ask(Request(request="stop", by=BY), lambda answer: None)
        try:
            self._path.unlink()
            self._counted = None
        except OSError:
            return
