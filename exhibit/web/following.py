"""Follows the newest recording of a machine as it grows, and then the next one.

It only reads: it queries the writer's lock but never takes it, and sends nothing to the bridge. Whatever
happens to the recordings, pages get an answer, with a badge that says how current it is.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import gevent

from exhibit.decisions.page.badge import Sight
from exhibit.decisions.page.views import View
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Entry, Heartbeat
from exhibit.streams.keyframes import Found, LastKeyframe
from exhibit.streams.line_chain import START, Position
from exhibit.streams.recording import RecordingFolder, RecordingFollower, read_opened
from exhibit.web.file_growth import FolderWatch
from exhibit.web.picture import Picture

LOOK_EVERY_S = 0.25
"""How often to check on the writer while nothing is written."""
KEEP_EVERY = 20_000
"""Entries after which the state is kept, which takes some milliseconds: half a second's work after a kill."""
AT_ONCE = 200
"""How many entries to take in at a time: a few milliseconds' work, so that pages get answers in between."""


class Follower:
    """Keeps a picture of what the newest recording says."""

    def __init__(
        self,
        picture: Picture,
        where: Path,
        machine: str | None = None,
        complain: Callable[[str], None] = lambda _: None,
        steady_s: Callable[[], float] = time.monotonic,
        now_s: Callable[[], float] = time.time,
        make_view: Callable[[], View] = View,
        took_in: Callable[[Entry], None] = lambda _: None,
        kept: LastKeyframe[View] | None = None,
    ) -> None:
        """`where` is a folder of recordings, or one recording; `machine` chooses if there are several.

        `complain` is called once for each reason why a recording can't be read. Tests pass their own
        `steady_s`, and `now_s`, which counts from 1970. `make_view` makes the view of each recording, and
        `took_in` is called with each entry. With `kept`, which makes the views then, a recording isn't read
        again from its start: after a restart late in the day, the page is there at once.
        """
        self._picture = picture
        self._only = where if where.is_file() else None
        self._folder = where.parent if self._only else where
        self._recordings = RecordingFolder(self._folder)
        self._machine = machine
        self._complain = complain
        self._steady_s = steady_s
        self._now_s = now_s
        self._make_view = make_view
        self._took_in = took_in
        self._reported = ""
        self._kept = kept
        self._found: Found[View] | None = None
        """The state with which the recording that was opened last begins."""
        self._not_kept = 0
        """Entries taken in since its state was last kept."""
        self._follower = RecordingFollower(self._find_next, self._start_at)
        self._shown: tuple[Path | None, int] = (None, 0)
        self._streams: set[str] = set()
        self._folder_has_more = False
        self._last_entry_s = 0.0
        self._happened = False

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
        """Close the recording, and keep its state for whoever follows it next."""
        self._keep()
        self._follower.close()

    def step(self) -> bool:
        """Take in what is new, and update the badge. Returns whether there is more to read at once."""
        entries: list[Entry] = []
        try:
            entries = self._follower.read_new(AT_ONCE)
        except RecordingFault as fault:
            self._report(fault)
        self._show_what_is_followed()
        more = len(entries) == AT_ONCE
        if entries:
            self._take_in(entries, more)
        # Until all first lines are read, nobody knows which recording is the newest, or whether there is one.
        if not more and not (self._folder_has_more and self._follower.path is None):
            self._update_badge()
        # After the end of a recording that was closed, the next one may already have begun.
        return more or self._folder_has_more or bool(entries and self._follower.is_closed)

    def _find_next(self, follower: RecordingFollower) -> Path | None:
        """The newest recording, unless it is the one being followed."""
        path = self._only
        if path is None:
            self._folder_has_more = False
            self._folder_has_more = self._recordings.read_on()
            if self._folder_has_more:
                return None
            newest = self._recordings.newest_so_far(self._machine)
            path = newest.path if newest else None
        return path if path != follower.path or follower.was_replaced() else None

    def _start_at(self, path: Path) -> Position:
        """Where to begin to read a recording: at the newest state that was kept of it, else at its start."""
        self._found = self._kept.found(path) if self._kept is not None else None
        return self._found.position if self._found is not None else START

    def _keep(self) -> None:
        if self._kept is not None and self._not_kept and self._follower.path is not None:
            self._kept.keep(self._picture.view, self._follower.position)
            self._not_kept = 0

    def _show_what_is_followed(self) -> None:
        """Begin with an empty picture for each recording, and show it while there is none to follow."""
        path, count = self._follower.path, self._follower.count
        if (path, count) == self._shown:
            return
        self._shown = path, count
        self._last_entry_s = 0.0
        if path is None:
            self._picture.show(self._make_view(), "")
            return
        self._picture.see(Sight(mode="live", catching_up=True))
        # Pages that showed another recording of this name must not take this one for its continuation.
        stream = path.name if path.name not in self._streams else f"{path.name} {count}"
        self._streams.add(stream)
        found, self._found, self._not_kept = self._found, None, 0
        # A state is kept without the museum's own pictures.
        self._picture.drawn = read_opened(path).pictures if found is not None and found.position.seq else {}
        self._picture.show(found.view if found is not None else self._make_view(), stream)

    def _take_in(self, entries: list[Entry], more: bool) -> None:
        view = self._picture.view
        for entry in entries:
            view.apply(entry)
            self._took_in(entry)
            self._happened |= type(entry.fact) is not Heartbeat
        self._last_entry_s = self._steady_s()
        self._not_kept += len(entries)
        if self._not_kept >= KEEP_EVERY:
            self._keep()
        if not more:
            self._picture.changed(self._happened)
            self._happened = False

    def _update_badge(self) -> None:
        writer = self._follower.writer_state()
        if writer is None:
            self._picture.see(Sight(mode="live"))
            return
        if self._picture.catching_up:
            # What was written before this process started counts from when it was written, not from now.
            self._last_entry_s = self._steady_s() - self._since_last_write_s()
        silent_s = self._steady_s() - self._last_entry_s
        today = writer == "writing" or self._was_written_today()
        self._picture.see(Sight(mode="live", writer=writer, silent_s=silent_s, written_today=today))

    def _since_last_write_s(self) -> float:
        return max(0.0, self._now_s() - self._written_s())

    def _was_written_today(self) -> bool:
        """By this computer's own clock: the recording's may be another computer's, or run faster."""
        return time.localtime(self._written_s())[:3] >= time.localtime(self._now_s())[:3]

    def _written_s(self) -> float:
        """When something was last added to the recording, in seconds since 1970."""
        assert self._follower.path is not None
        try:
            return self._follower.path.stat().st_mtime
        except OSError:
            return self._now_s()

    def _report(self, fault: RecordingFault) -> None:
        if str(fault) != self._reported:
            self._reported = str(fault)
            self._complain(self._reported)
