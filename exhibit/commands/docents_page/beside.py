"""The docent's page of a day: a process beside the bridge, whose faults never end the day."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import IO, Final

from exhibit.commands.child import Child
from exhibit.commands.docents_page.desk import SERVED_AT
from exhibit.commands.options import REFUSED
from exhibit.commands.saying import ENGLISH, Say, Sentence
from exhibit.output.terminal import put

AGAIN_AFTER_S: Final = 1.0
AGAIN_AFTER_AT_MOST_S: Final = 60.0
"""One that ends again and again is started ever more seldom, until one has lasted so long."""
ENDS_WITHIN_S: Final = 5.0
AT: Final = Sentence("The docent's page: {address}")
STARTED_AGAIN: Final = Sentence("The docent's page had ended and is started again.")
NOT_THERE: Final = Sentence("The docent's page isn't there, because:")
GOES_ON: Final = Sentence("The day goes on without it, and this terminal takes what you type.")


class DocentsPage:
    """Starts the page at the first look, and again if it ends; one that can't be served stays away."""

    def __init__(
        self, folder: Path, recordings: Path, port: int, say: Say = ENGLISH, more: Sequence[str] = ()
    ) -> None:
        """`more`: further options of the command `exhibit desk`."""
        self._arguments = ["desk", "--folder", f"{folder}", "--recordings", f"{recordings}", *more]
        self._port = port
        self._say = say
        self.address = ""
        """Where it is; empty until it can be opened."""
        self._child: Child | None = None
        self._complaints = _no_name()
        self._again_s = 0.0
        self._again_after_s = AGAIN_AFTER_S
        self._began_s = 0.0
        self._stays_away = False

    def look(self) -> None:
        """Call this again and again."""
        if self._stays_away:
            return
        if self._child is None:
            if time.monotonic() >= self._again_s:
                self._begin()
        elif self._child.status() is not None:
            self._ended(self._child)
        elif not self.address and (line := self._child.first_line(within_s=0.0)):
            self.address = line.removeprefix(SERVED_AT)
            self._opened()

    def _opened(self) -> None:
        put(self._say(AT, address=self.address))

    def end(self) -> None:
        """The day's program ends, and the page with it."""
        if self._child is not None:
            self._child.let_go(ENDS_WITHIN_S)
        self._complaints.close()

    def _begin(self) -> None:
        self._began_s = time.monotonic()
        self._complaints.truncate(0)
        self._child = Child([*self._arguments, "--port", f"{self._port}"], log=self._complaints)

    def _ended(self, child: Child) -> None:
        if child.status() == REFUSED and not self.address:  # it has said why, and would say the same again
            self._stays_away = True
            self._complaints.seek(0)
            said = self._complaints.read().decode(errors="replace").splitlines()
            put(self._say(NOT_THERE), *(f"  {line}" for line in said), self._say(GOES_ON))
            return
        now_s = time.monotonic()
        if now_s - self._began_s >= AGAIN_AFTER_AT_MOST_S:
            self._again_after_s = AGAIN_AFTER_S
        child.let_go(ENDS_WITHIN_S)
        put(self._say(STARTED_AGAIN))
        self._child, self.address = None, ""
        self._again_s = now_s + self._again_after_s
        self._again_after_s = min(2 * self._again_after_s, AGAIN_AFTER_AT_MOST_S)


def _no_name() -> IO[bytes]:
    """A file for what the page complains of."""
    return tempfile.TemporaryFile(buffering=0)
