"""Whichever line finds the disc full, also the last one and the first of a new day, the recording says so."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from exhibit.bridge.bridge import NEW_DAY
from exhibit.bridge.inbox import StopWanted
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.streams.recording import RecordingFolder, RecordingWriter
from tests.bridge.bridge_world import Staged
from tests.bridge.test_another_day import LATE
from tests.decisions.again import check_decided_again
from tests.decisions.heron import S, folder, pause, script
from tests.streams.full_disc import FullDisc
from tests.streams.small_disc import fill, small_disc

RESTS = folder(script("round", pause("look", S)), rest_us=20 * S)
TWO = Wanted(before=(), rounds=2, after=())
FULL = "the disc for the recordings is full"


class NextFails(RecordingWriter):
    """Its next recording finds the disc full, or not, according to `number`; 0: it succeeds."""

    number = 0

    def begin_next(self, wall: str) -> bool:
        really_open = os.open

        def refuses(path, flags, *mode, **names):
            if flags & os.O_EXCL and self.number:
                raise OSError(self.number, os.strerror(self.number))
            return really_open(path, flags, *mode, **names)

        os.open = refuses
        try:
            return super().begin_next(wall)
        finally:
            os.open = really_open


def resting(place: Path, wanted: Wanted | None = TWO, writer=RecordingWriter) -> Staged:
    """It rests between two rounds at midnight, which is ten seconds away."""
    return Staged(place, RESTS, wanted, begins=LATE, writer=writer)


def lines_until(staged: Staged, kind: type) -> int:
    return [entry.seq for entry in staged.entries() if isinstance(entry.fact, kind)][-1]


def watched(place: Path) -> Staged:
    staged = Staged(place, RESTS, None)
    staged.world.at(10 * S, StopWanted("enough"))
    return staged


def scripted(place: Path) -> Staged:
    return Staged(place, RESTS, Wanted(before=(), rounds=1, after=()))


@pytest.mark.parametrize("begin", [watched, scripted])
def test_a_full_disc_that_only_the_last_line_finds_is_recorded_before_it(tmp_path, monkeypatch, begin):
    as_ever = begin(tmp_path / "as ever")
    as_ever.bridge.run(stay_when_failed=False)
    FullDisc(monkeypatch).fills_at = lines_until(as_ever, kinds.RecordingClosed)
    staged = begin(tmp_path / "full")
    staged.bridge.run(stay_when_failed=False)
    *_, said, closed = staged.facts(kinds.RecordNearlyFull, kinds.RecordingClosed)
    assert isinstance(said, kinds.RecordNearlyFull)
    assert isinstance(closed, kinds.RecordingClosed)
    assert len(staged.entries()) == len(as_ever.entries()) + 1
    check_decided_again(RESTS, staged.wanted, staged.entries())


def test_a_full_disc_that_the_last_line_of_a_day_finds_is_said_and_the_recording_goes_on(
    tmp_path, monkeypatch
):
    as_ever = resting(tmp_path / "as ever")
    assert isinstance(as_ever.bridge.run(stay_when_failed=True), kinds.CarriedOver)
    FullDisc(monkeypatch).fills_at = lines_until(as_ever, kinds.RecordingClosed)
    staged = resting(tmp_path / "full")
    staged.world.at(15 * S, lambda: None)
    carried_over = staged.bridge.run(stay_when_failed=True)
    # Room came back, so the next day has a recording after all, and knows why nothing is typed.
    assert isinstance(carried_over, kinds.CarriedOver)
    assert carried_over.failed == FULL
    assert [fact.why for fact in staged.facts(kinds.SessionFailed)] == [FULL]
    assert staged.facts(kinds.RecordingClosed) == [kinds.RecordingClosed(why=NEW_DAY)]
    check_decided_again(RESTS, TWO, staged.entries())


def test_if_the_next_recording_cannot_begin_this_one_goes_on_and_says_why_once(tmp_path, monkeypatch):
    monkeypatch.setattr(NextFails, "number", errno.ENOSPC)
    staged = resting(tmp_path, writer=NextFails)
    staged.world.at(60 * S, StopWanted("enough"))
    staged.world.at(61 * S, StopWanted("enough"))
    assert staged.bridge.run(stay_when_failed=True) == "failed"
    assert len(staged.facts(kinds.RecordNearlyFull)) == 1
    assert [fact.why for fact in staged.facts(kinds.SessionFailed)] == [FULL]
    assert staged.entries()[-1].at_us >= 60 * S
    assert [path.suffix for path in tmp_path.iterdir()] == [".exhibit"]
    check_decided_again(RESTS, TWO, staged.entries())


def test_if_it_cannot_begin_for_another_reason_nothing_is_lost_and_it_is_tried_again(tmp_path, monkeypatch):
    monkeypatch.setattr(NextFails, "number", errno.EMFILE)
    staged = resting(tmp_path, None, NextFails)
    staged.world.at(60 * S, lambda: monkeypatch.setattr(NextFails, "number", 0))
    assert isinstance(staged.bridge.run(stay_when_failed=True), kinds.CarriedOver)
    assert staged.facts(kinds.RecordNearlyFull) == []
    assert staged.entries()[-1].at_us >= 60 * S


def test_a_new_day_begins_on_a_disc_with_room_for_no_other_reserve(tmp_path, needs):
    """It inherits that of the day before, so no other program can take the room in between."""
    with small_disc(tmp_path, needs, "6m") as disc:
        staged = resting(disc, None)
        fill(disc, leave_bytes=64 * 1024)
        carried_over = staged.bridge.run(stay_when_failed=True)
        assert isinstance(carried_over, kinds.CarriedOver)
        before = staged.writer.path
        fill(disc)
        staged.another_day(carried_over)
        staged.world.at(staged.world.now_us + 5 * S, StopWanted("enough"))
        staged.bridge.run(stay_when_failed=True)
        assert staged.facts(kinds.RecordNearlyFull) != []
        assert [file.path for file in RecordingFolder(disc).recordings()] == [before, staged.writer.path]
        assert {path.name for path in disc.iterdir()} == {before.name, staged.writer.path.name, "filler"}


def test_on_a_full_disc_a_day_goes_on_after_midnight_in_the_recording_that_there_is(tmp_path, needs):
    with small_disc(tmp_path, needs, "6m") as disc:
        staged = resting(disc, None)
        staged.world.at(5 * S, lambda: fill(disc))
        staged.receives_at(6 * S, b"TICK\r\n" * 1000)
        # Its reserve was needed, and something else takes most of that too.
        staged.world.at(8 * S, lambda: fill(disc, leave_bytes=256 * 1024))
        staged.world.at(60 * S, StopWanted("enough"))
        assert staged.bridge.run(stay_when_failed=True) == "stopped"
        assert staged.entries()[-1].at_us >= 60 * S
        assert len(staged.facts(kinds.RecordNearlyFull)) == 1
        assert len(RecordingFolder(disc).recordings()) == 1
