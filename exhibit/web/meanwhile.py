"""What visitors see while nothing happens at the machine: the best recent recording of it.

That is the newest one that ended in good order and in which nothing went wrong. If there is none, it is the
sample that comes with this program, provided that it is of the same machine; or else one in which nothing
went wrong until it broke off, as when the program that wrote it was killed. The recording is shown by a
picture of its own in mode "replay": it asks nobody to look or listen, and its badge says "recorded", with the
date. It is played over and over until something happens at the machine.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Literal

import gevent

from exhibit.decisions.page.badge import Sight
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.errors import ExhibitError, SetUpFault
from exhibit.streams.player import Player
from exhibit.streams.recording import RecordingFolder, Tail
from exhibit.streams.recording_lock import writer_state
from exhibit.web import places
from exhibit.web.picture import Picture

Judgement = Literal["good", "broken off", "bad"]
TURN_AFTER_S = 20.0
"""Real seconds of rest before the page shows a recording: longer than an ordinary pause."""
LOOK_EVERY_S = 0.5
AT_ONCE = 200
STEP_S = 0.05
LINGER_S = 12.0
"""How long the recording's last picture stays before the recording starts again."""
SILENCE_S = 6.0
"""After this much silence, the recording is played faster until something happens in it."""
FASTER = 30.0
MOST_JUDGED = 20
"""How many recordings to look through for a good one, from the newest."""
LOOK_AGAIN_S = 15.0
"""How long to wait when no good recording was found."""


class Meanwhile:
    """Makes a picture show a recording when its machine has been quiet for a while."""

    def __init__(
        self,
        picture: Picture,
        where: Path,
        machine: str | None = None,
        turn_after_s: float = TURN_AFTER_S,
        samples: Path | None = None,
        steady_s: Callable[[], float] = time.monotonic,
    ) -> None:
        """`where` holds the recordings; `samples` holds the samples, by default those of this program."""
        self._picture = picture
        self._recordings = RecordingFolder(where.parent if where.is_file() else where)
        samples = samples or _samples()
        self._samples = RecordingFolder(samples) if samples is not None else None
        self._machine = machine
        self._turn_after_s = turn_after_s
        self._steady_s = steady_s
        self._judged: dict[Path, tuple[int, Judgement]] = {}
        """What was found, and how long the recording was then."""
        self._shows = 0

    def run(self) -> None:
        """Choose recordings and play them until the greenlet is killed."""
        while True:
            if self._picture.quiet_s() < self._turn_after_s:
                gevent.sleep(LOOK_EVERY_S)
                continue
            path = self.best()
            if path is None:
                gevent.sleep(LOOK_AGAIN_S)
                continue
            try:
                self._play(path)
            except ExhibitError:
                # It has changed since it was judged. Choose again: there may be another one, or none.
                self._judged.clear()
                gevent.sleep(LOOK_EVERY_S)

    def best(self) -> Path | None:
        """The recording to show now; None if there is none."""
        opened = self._picture.view.opened
        machine = self._machine or (opened.machine if opened else None)
        broken_off = None
        for folder in (self._recordings, self._samples if machine else None):
            if folder is None:
                continue  # nobody knows yet which machine stands beside this page
            try:
                while folder.read_on():
                    gevent.sleep(0)
                found = folder.recordings(machine)
            except ExhibitError:
                continue
            for file in found[: -MOST_JUDGED - 1 : -1]:
                found_to_be = self._judge(file.path)
                if found_to_be == "good":
                    return file.path
                if found_to_be == "broken off" and broken_off is None:
                    broken_off = file.path
        return broken_off

    def _judge(self, path: Path) -> Judgement:
        try:
            if writer_state(path) == "writing":  # it is no recording of the past, and grows while it is read
                return "bad"
            size = path.stat().st_size
            if self._judged.get(path, (-1, "bad"))[0] != size:
                self._judged[path] = (size, judge(path, lambda: gevent.sleep(0)))
            return self._judged[path][1]
        except (ExhibitError, OSError):
            return "bad"

    def _play(self, path: Path) -> None:
        showing = Picture("replay")
        showing.see(Sight(mode="replay"))
        player = Player(path)
        player.set_rate(player.opened.rate, _now_us())
        try:
            while self._picture.quiet_s() >= self._turn_after_s:
                self._shows += 1
                view, seq = at_first_caption(path)
                player.seek(_now_us(), seq=seq)
                self._play_once(player, showing, view, f"{path.name} meanwhile {self._shows}")
        finally:
            player.close()

    def _play_once(self, player: Player, showing: Picture, view: View, stream: str) -> None:
        """Play to the end and leave the last picture for a while, unless something happens at the machine."""
        rate = player.opened.rate
        showing.show(view, stream)
        player.set_rate(rate, _now_us())
        player.resume(_now_us())
        happened_s = ended_s = self._steady_s()
        while True:
            entries = player.due(_now_us(), AT_ONCE)
            for entry in entries:
                showing.view.apply(entry)
            now_s = self._steady_s()
            if any(type(entry.fact) is not kinds.Heartbeat for entry in entries):
                happened_s = now_s
                player.set_rate(rate, _now_us())
            elif now_s - happened_s > SILENCE_S:
                player.set_rate(rate * FASTER, _now_us())
            if entries:
                ended_s = now_s
                showing.changed()
                if not self._picture.shows_instead(showing):
                    if self._picture.quiet_s() < self._turn_after_s:
                        return
                    self._picture.show_instead(showing)
            if player.ended and now_s - ended_s > LINGER_S:
                return
            if self._picture.quiet_s() < self._turn_after_s:
                return
            gevent.sleep(0 if len(entries) == AT_ONCE else STEP_S)


def judge(path: Path, between_turns: Callable[[], None] = lambda: None) -> Judgement:
    """Whether this recording is good to show: nothing went wrong, and there is something to see in it.

    If scripts ran, that means a round that was done; if the machine was only watched, a caption. "broken
    off": it is good, but doesn't end in good order. `between_turns` is called after every few entries. Raises
    RecordingFault if the recording can't be read.
    """
    tail = Tail(path)
    shown, closed = False, False
    watched = False
    rounds: set[str] = set()
    try:
        while entries := tail.read_new(AT_ONCE):
            for entry in entries:
                match entry.fact:
                    case kinds.RecordingOpened(typing="nothing"):
                        watched = True
                    case kinds.ScriptStarted(script=script, round=number) if number:
                        rounds.add(script)
                    case kinds.ScriptEnded(outcome="failed") | kinds.SessionFailed():
                        return "bad"
                    case kinds.ScriptEnded(script=script, outcome="done"):
                        shown = shown or script in rounds
                    case kinds.CaptionShown():
                        shown = shown or watched
                    case kinds.RecordingClosed():
                        closed = True
            between_turns()
        if not shown or tail.damages:
            return "bad"
        return "good" if closed else "broken off"
    finally:
        tail.close()


def at_first_caption(path: Path) -> tuple[View, int]:
    """The recording just before its first caption, and the caption's number, so that the page isn't empty.

    If it has no caption, its beginning. Raises RecordingFault if the recording can't be read.
    """
    view, tail = View(), Tail(path)
    try:
        while entries := tail.read_new(AT_ONCE):
            for entry in entries:
                if isinstance(entry.fact, kinds.CaptionShown):
                    return view, entry.seq
                view.apply(entry)
        return View(), 1
    finally:
        tail.close()


def _samples() -> Path | None:
    try:
        return places.recordings_folder()
    except SetUpFault:
        return None


def _now_us() -> int:
    return time.monotonic_ns() // 1000
