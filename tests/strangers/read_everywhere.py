"""Reads a recording in every way in which the program reads one."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path

import pytest

import exhibit.records.rehearsing as rehearsing
import exhibit.records.timings as timing
from exhibit.decisions.machine.script import Folder
from exhibit.facts.errors import ExhibitError
from exhibit.folder.whole import read_folder
from exhibit.records.captions_out import captions_as_webvtt
from exhibit.records.days import day_table
from exhibit.records.index import storing
from exhibit.records.index.asking import Index
from exhibit.records.index.rows import TABLES
from exhibit.records.keeping.mending import mend
from exhibit.records.keeping.verifying import examine, verify
from exhibit.records.moment import moment_at
from exhibit.records.moment_words import moment_as_json, moment_lines
from exhibit.records.transcript import transcript
from exhibit.streams.bounds import FASTEST, SLOWEST
from exhibit.streams.compressed.compressing import compress
from exhibit.streams.last_recording import left_open_by_last
from exhibit.streams.recording import day_of_recordings, read_all, read_opened, use_of_recordings
from exhibit.web.following import Follower
from exhibit.web.meanwhile import at_first_caption, judge
from exhibit.web.picture import Ask, Picture
from exhibit.web.replaying import Control, Replayer
from tests.strangers.mutated_recordings import ROOT

WHIMBREL = ROOT / "scripts" / "whimbrel"


@cache
def _whimbrel(_: Path) -> Folder:
    return read_folder(WHIMBREL)


def prepare(patched: pytest.MonkeyPatch) -> None:
    """The same folder is read again and again: reading it once is enough."""
    real = read_folder

    def read_once(path: Path) -> Folder:
        return _whimbrel(path) if path == WHIMBREL else real(path)

    _whimbrel(WHIMBREL)
    patched.setattr(storing, "_places", lambda folder, whole: [])
    patched.setattr(rehearsing, "read_folder", read_once)
    patched.setattr(timing, "read_folder", read_once)


def ways(path: Path, cache_folder: Path, seed: int) -> dict[str, Callable[[], object]]:
    """What reads this recording, by name. The file is alone in its folder."""
    return {
        "text": lambda: sum(len(line) for line in transcript(path)),
        "captions": lambda: captions_as_webvtt(path, None),
        "timings": lambda: timing.table(timing.timings(WHIMBREL, [path])),
        "rehearse": lambda: rehearsing.rehearse(WHIMBREL, [path]),
        "page": lambda: _follow(path),
        "replay": lambda: _replay(path, cache_folder, random.Random(seed)),
        "meanwhile": lambda: (judge(path), at_first_caption(path)),
        "run": lambda: _begin_after(path),
        "verify": lambda: verify([path]),
        "mend": lambda: _mend(path, cache_folder),
        "compressed": lambda: _compressed(path, cache_folder),
        "index": lambda: _index(path),
        "show": lambda: _show(path, cache_folder, random.Random(seed)),
    }


def _index(path: Path) -> None:
    """What `exhibit find`, `days` and `export` read, in memory: the disc isn't what is tried here."""
    with Index.open(path.parent) as index:
        index.recordings(unreadable=True)
        for row in TABLES:
            index.rows(row, practice=True)
        day_table(index.days(practice=True))
        for _ in index.find(text="a", practice=True):
            pass


def _show(path: Path, cache_folder: Path, chance: random.Random) -> None:
    moment = moment_at(path, seq=chance.choice([1, 2, 30, 300]), cache=cache_folder)
    moment_as_json(moment)
    list(moment_lines(moment))
    moment_at(path, local=chance.choice(["10:00:30", "23:59", "2026-11-25 10:01"]), cache=cache_folder)


def _mend(path: Path, folder: Path) -> None:
    """What is mended is in order."""
    to = folder / "mended.exhibit"
    try:
        mend(path, to)
        assert not examine(to).is_damaged
    finally:
        to.unlink(missing_ok=True)


def _compressed(path: Path, folder: Path) -> None:
    """It is read as the plain one is, if that can be read."""
    if path.stat().st_size > 50_000_000:
        return  # `exhibit compress` refuses what no machine records
    to = folder / "stranger.exhibit.zst"
    folder.mkdir(parents=True, exist_ok=True)
    try:
        with path.open("rb") as plain:
            compress(plain, to)
        assert read_all(to) == read_all(path)
    finally:
        to.unlink(missing_ok=True)


class NotContained(Exception):
    """A fault that would end the page's process."""


@contextmanager
def _contained() -> Iterator[None]:
    try:
        yield
    except ExhibitError as error:
        raise NotContained(str(error)) from error


@_contained()
def _follow(path: Path) -> None:
    picture = Picture("live")
    follower = Follower(picture, path.parent)
    try:
        for _ in range(10_000):
            more = follower.step()
            picture.encoded_answer(Ask(after=picture.view.seq // 2), {}, controls=False)
            if not more:
                break
        picture.encoded_answer(Ask(), {}, controls=False)
    finally:
        follower.close()


def _replay(path: Path, cache_folder: Path, chance: random.Random) -> None:
    picture = Picture("replay")
    replayer = Replayer(picture, path, chance.choice([1.0, 0.01, 1e4, float("inf")]), cache_folder)
    try:
        _control(replayer, picture, chance)
    finally:
        replayer.close()


@_contained()
def _control(replayer: Replayer, picture: Picture, chance: random.Random) -> None:
    for _ in range(4):
        replayer.step()
        replayer._wait_s()
        picture.encoded_answer(Ask(), {}, controls=True)
        value = chance.choice([0, 1, chance.random() * 1e9, 1e15, 2**53 - 1, 50, 1e-9])
        replayer.control(Control("go to time", value))
        replayer.step()
        replayer.control(Control("go to fact", value))
        replayer.control(Control("rate", min(max(value, SLOWEST), FASTEST)))


def _begin_after(path: Path) -> None:
    """What a run reads of the recordings before it."""
    opened = read_opened(path)
    use_of_recordings(path.parent, opened)
    day_of_recordings(path.parent, opened)
    left_open_by_last(path.parent, _whimbrel(WHIMBREL), "", "real")
    left_open_by_last(path.parent, _whimbrel(WHIMBREL), "", "simulated")
