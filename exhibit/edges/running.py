"""A run: the bridge and the website as two processes, and the one that started them looking after both."""

from __future__ import annotations

import os
import selectors
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import IO

from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.streams.recording import Damaged, RecordingFolder, Tail

START_WITHIN_S = 60.0
LOOK_EVERY_S = 0.1
WEBSITE_ENDS_WITHIN_S = 5.0
BRIDGE_ENDS_WITHIN_S = 60.0
"""Its tidy-up may take a while."""


class Child:
    """A process of the run. It ends by itself when whoever started it is gone: its standard input ends."""

    def __init__(self, name: str, arguments: Sequence[str]) -> None:
        self.name = name
        self._process = subprocess.Popen(
            [sys.executable, "-m", "exhibit", *arguments, "--with-starter"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    @property
    def pid(self) -> int:
        """The process's number."""
        return self._process.pid

    def first_line(self) -> str:
        """The line that the process prints when it is ready; empty when it ended instead."""
        out = self._process.stdout
        assert out is not None
        return _line_within(out, START_WITHIN_S)

    def status(self) -> int | None:
        """The exit status, None while it runs."""
        return self._process.poll()

    def ask_to_end(self) -> None:
        """Asks it to end in good order."""
        self._process.terminate()

    def end(self, within_s: float) -> None:
        """Asks it to end, and makes it."""
        self._process.terminate()
        try:
            self._process.wait(within_s)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()


class Run:
    """A bridge and a website, by the arguments of their commands."""

    def __init__(self, bridge: Sequence[str], website: Sequence[str]) -> None:
        self._bridge_arguments = list(bridge)
        self._website_arguments = list(website)
        self._folder = tempfile.TemporaryDirectory(prefix="exhibit-")
        self.door = Path(self._folder.name) / "door"
        self.recording: Path | None = None
        self.address = ""

    def go(self, ready: Callable[[str, Path], None], look: Callable[[kinds.Entry], None]) -> int:
        """Starts both, waits until the bridge ends, ends the website; gives the bridge's exit status.

        `ready` is called with the website's address and the recording's path, `look` then with
        every fact as it stands in the recording. A first Ctrl-C asks
        the bridge to stop in good order, a second one doesn't wait for that.
        """
        website = Child("website", self._website_arguments)
        bridge: Child | None = None
        try:
            self.address = website.first_line()
            if not self.address:
                raise SetUpFault(
                    "The website did not start, so nothing was begun at the machine.",
                    "Visitors would have seen nothing.",
                    "Read what it says above, mend that and start again.",
                )
            bridge = Child("bridge", [*self._bridge_arguments, "--requests", str(self.door)])
            first = bridge.first_line()
            if not first:
                return bridge.status() or 2
            self.recording = Path(first)
            ready(self.address, self.recording)
            return self._follow(bridge, self.recording, look)
        finally:
            if bridge is not None and bridge.status() is None:
                bridge.end(BRIDGE_ENDS_WITHIN_S)
            website.end(WEBSITE_ENDS_WITHIN_S)
            self._folder.cleanup()

    def _follow(self, bridge: Child, path: Path, look: Callable[[kinds.Entry], None]) -> int:
        asked_to_stop = closed = False
        tail = Tail(path)
        while True:
            try:
                status = bridge.status()
                for entry in tail.read_new():
                    if not isinstance(entry, Damaged):
                        look(entry)
                        closed = isinstance(entry.fact, kinds.RecordingClosed)
                if status is not None:
                    return status
                if closed:
                    tail = _next_day(tail)
                time.sleep(LOOK_EVERY_S)
            except KeyboardInterrupt:
                if asked_to_stop:
                    raise
                asked_to_stop = True
                bridge.ask_to_end()


def _next_day(tail: Tail) -> Tail:
    """The recording that goes on where this one was closed, once there is one."""
    for recording in RecordingFolder(tail.path.parent).recordings():
        if recording.opened.previous_file == tail.path.name:
            tail.close()
            return Tail(recording.path)
    return tail


def _line_within(out: IO[str], within_s: float) -> str:
    with selectors.DefaultSelector() as selector:
        selector.register(out, selectors.EVENT_READ)
        if not selector.select(within_s):
            return ""
    return out.readline().strip()


def end_with_starter() -> None:
    """Tells this process to end, in good order, once whoever started it is gone (standard input ends)."""

    def wait() -> None:
        while os.read(0, 4096):
            pass
        os.kill(os.getpid(), signal.SIGTERM)

    threading.Thread(target=wait, name="starter", daemon=True).start()
