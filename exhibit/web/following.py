"""Follows the newest recording of a machine as it grows, and on into the next one.

It reads only: the writer's lock is asked after, never taken, and nothing is ever sent to the bridge.
Whatever happens to the recordings, pages get an answer and a badge that says what it is worth.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from pathlib import Path

import gevent

from exhibit.decisions.page.badge import Sight
from exhibit.decisions.page.views import View
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Heartbeat
from exhibit.streams.recording import RecordingFolder, Tail
from exhibit.web.file_growth import FolderWatch
from exhibit.web.picture import Picture

LOOK_EVERY_S = 0.25
"""How often the writer is looked after while nothing is written."""
FOLDER_EVERY_S = 1.0
"""How often a newer recording is looked for, besides when the kernel tells of a new file."""
AT_ONCE = 200
"""Entries folded in one go: a few milliseconds, so that pages are answered between."""


class Follower:
    """Keeps a picture of what the newest recording says."""

    def __init__(
        self,
        picture: Picture,
        where: Path,
        machine: str | None = None,
        complain: Callable[[str], None] = lambda _: None,
        steady_s: Callable[[], float] = time.monotonic,
    ) -> None:
        """`where` is a folder of recordings, or one recording; `machine` picks one where there are several.

        `complain` is told, once for each cause, when a recording can't be read. Tests give their
        own `steady_s`.
        """
        self._picture = picture
        self._only = where if where.is_file() else None
        self._folder = where.parent if self._only else where
        self._recordings = RecordingFolder(self._folder)
        self._machine = machine
        self._complain = complain
        self._steady_s = steady_s
        self._complained = ""
        self._path: Path | None = None
        self._tail: Tail | None = None
        self._heard_s = 0.0
        self._looked_s = 0.0
        self._happened = False
        self._names: frozenset[str] = frozenset()

    def run(self) -> None:
        """Follow until the greenlet is killed."""
        watch = FolderWatch(self._folder) if self._folder.is_dir() else None
        try:
            while True:
                if watch is None and self._folder.is_dir():
                    watch = FolderWatch(self._folder)
                more = self.step()
                if more:
                    gevent.sleep(0)
                elif watch is None:
                    gevent.sleep(LOOK_EVERY_S)
                else:
                    watch.wait(LOOK_EVERY_S)
        finally:
            if watch is not None:
                watch.close()
            self.close()

    def close(self) -> None:
        """Close the recording."""
        if self._tail is not None:
            self._tail.close()
        self._tail, self._path = None, None

    def step(self) -> bool:
        """Take in what is new and judge the badge. True when there is more to read at once."""
        now_s = self._steady_s()
        if now_s - self._looked_s >= FOLDER_EVERY_S or self._tail is None or self._a_file_came():
            self._looked_s = now_s
            self._find_newest()
        try:
            more = self._read()
        except RecordingFault as fault:
            self._give_up(fault)
            more = False
        if not more:
            self._look()
        return more

    def _a_file_came(self) -> bool:
        try:
            names = frozenset(os.listdir(self._folder))
        except OSError:
            return False
        came = not names <= self._names
        self._names = names
        return came

    def _find_newest(self) -> None:
        try:
            path = self._only
            if path is None:
                newest = self._recordings.newest(self._machine)
                path = newest.path if newest else None
            if path is None or path == self._path:
                return
            tail = Tail(path)
        except RecordingFault as fault:
            self._say(fault)
            return
        if self._tail is not None:
            self._tail.close()
        self._path, self._tail = path, tail
        self._picture.see(Sight(mode="live", catching_up=True))
        self._picture.show(View(), path.name)
        self._heard_s = 0.0

    def _read(self) -> bool:
        if self._tail is None:
            return False
        entries = self._tail.read_new(AT_ONCE)
        if not entries:
            return False
        view = self._picture.view
        for entry in entries:
            view.apply(entry)
            self._happened |= type(entry.fact) is not Heartbeat
        self._heard_s = self._steady_s()
        more = len(entries) == AT_ONCE
        if not more:
            self._picture.changed(self._happened)
            self._happened = False
        return more

    def _look(self) -> None:
        if self._tail is None:
            self._picture.see(Sight(mode="live"))
            return
        if self._picture.catching_up:
            # What was written before we came was heard when it was written, not now.
            self._heard_s = self._steady_s() - self._written_ago_s()
        silent_s = self._steady_s() - self._heard_s
        self._picture.see(Sight(mode="live", writer=self._tail.writer_state(), silent_s=silent_s))

    def _written_ago_s(self) -> float:
        assert self._path is not None
        try:
            return max(0.0, time.time() - self._path.stat().st_mtime)
        except OSError:
            return 0.0

    def _give_up(self, fault: RecordingFault) -> None:
        """This recording can't be followed any more: say so, and begin again with whatever is newest."""
        self._say(fault)
        self.close()
        self._picture.show(View(), "")

    def _say(self, fault: RecordingFault) -> None:
        if str(fault) != self._complained:
            self._complained = str(fault)
            self._complain(self._complained)
