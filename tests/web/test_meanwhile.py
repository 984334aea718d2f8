"""Which recording is shown while the machine rests, and when."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import gevent
import pytest

from exhibit.decisions.page.badge import Sight
from exhibit.facts import kinds
from exhibit.facts.kinds import Entry
from exhibit.streams.recording import read_all
from exhibit.streams.recording_files import FIRST_LINES_AT_ONCE
from exhibit.web.meanwhile import Meanwhile, at_first_caption, judge
from exhibit.web.picture import Ask, Picture
from exhibit.web.places import recordings_folder
from tests.pages import made_facts
from tests.pages.pictures import good_day
from tests.web.file_work import FileWork, many


def test_the_newest_recording_that_went_well_is_chosen(tmp_path: Path) -> None:
    day = good_day()
    old = made_facts.write(tmp_path, day, made_facts.opened(wall="2026-11-18T10:00:00.000+00:00"))
    good = made_facts.write(tmp_path, day, made_facts.opened(wall="2026-11-19T10:00:00.000+00:00"))
    failed = [*day, (day[-1][0], kinds.SessionFailed(why="x", last_lines=[]))]
    made_facts.write(tmp_path, failed, made_facts.opened(wall="2026-11-20T10:00:00.000+00:00"))
    found = Meanwhile(Picture("live"), tmp_path, "whimbrel", samples=tmp_path / "none").best()
    assert found == good
    good.unlink()
    assert Meanwhile(Picture("live"), tmp_path, "whimbrel", samples=tmp_path / "none").best() == old


def test_a_damaged_recording_is_not_chosen(tmp_path: Path) -> None:
    good = made_facts.write(tmp_path, good_day(), made_facts.opened())
    lines = good.read_bytes().splitlines(keepends=True)
    middle = len(lines) // 2
    good.write_bytes(
        b"".join([*lines[:middle], lines[middle].replace(b"at_us", b"at_us "), *lines[middle + 1 :]])
    )
    assert Meanwhile(Picture("live"), tmp_path, "whimbrel", samples=tmp_path / "none").best() is None
    good.write_bytes(b"".join(lines))
    assert Meanwhile(Picture("live"), tmp_path, "whimbrel", samples=tmp_path / "none").best() == good


def test_without_one_the_sample_is_chosen_if_it_is_of_this_machine(tmp_path: Path) -> None:
    found = Meanwhile(Picture("live"), tmp_path / "empty", "whimbrel").best()
    assert found is not None
    assert found.parent == recordings_folder()
    assert Meanwhile(Picture("live"), tmp_path / "empty", "heron").best() is None


def test_of_an_unknown_machine_no_sample_is_shown_since_it_may_be_another_one(tmp_path: Path) -> None:
    assert Meanwhile(Picture("live"), tmp_path / "empty").best() is None
    good = made_facts.write(tmp_path, good_day(), made_facts.opened())
    assert Meanwhile(Picture("live"), tmp_path).best() == good


def test_where_there_is_nothing_better_a_good_recording_that_broke_off_is_shown(tmp_path: Path) -> None:
    def best() -> Path | None:
        return Meanwhile(Picture("live"), tmp_path, "whimbrel", samples=tmp_path / "none").best()

    broken_off = made_facts.write(tmp_path, good_day(), made_facts.opened(), close=False)
    assert best() == broken_off
    early = made_facts.opened(wall="2026-11-18T10:00:00.000+00:00")
    good = made_facts.write(tmp_path, good_day(), early)
    assert best() == good
    good.unlink()
    failed = kinds.SessionFailed(why="x", last_lines=[])
    day = good_day()
    late = made_facts.opened(wall="2026-11-26T10:00:00.000+00:00")
    made_facts.write(tmp_path, [*day, (day[-1][0], failed)], late, close=False)
    assert best() == broken_off


def test_a_recording_that_is_still_written_is_not_shown_as_one_of_the_past(tmp_path: Path) -> None:
    writer = made_facts.begin(tmp_path, made_facts.opened())
    for at_s, fact in good_day():
        writer.append(fact, int(at_s * 1e6))
    meanwhile = Meanwhile(Picture("live"), tmp_path, "whimbrel", samples=tmp_path / "none")
    assert meanwhile.best() is None
    path = writer.path
    writer.abandon()
    assert meanwhile.best() == path


def test_a_recording_that_is_still_written_is_not_read_again_and_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[Path] = []
    really = judge

    def counted(path: Path, between_turns: Callable[[], None]) -> str:
        read.append(path)
        return really(path, between_turns)

    monkeypatch.setattr("exhibit.web.meanwhile.judge", counted)
    writer = made_facts.begin(tmp_path, made_facts.opened())
    meanwhile = Meanwhile(Picture("live"), tmp_path, "whimbrel", samples=tmp_path / "none")
    for at_s, fact in good_day():
        writer.append(fact, int(at_s * 1e6))
        assert meanwhile.best() is None
    assert read == []
    path = writer.path
    writer.abandon()
    assert [meanwhile.best(), meanwhile.best()] == [path, path]
    assert read == [path]


def test_many_recordings_keep_no_page_waiting_and_are_looked_through_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    many(tmp_path, 120)
    meanwhile = Meanwhile(Picture("live"), tmp_path, "whimbrel", samples=tmp_path / "none")
    work = FileWork(monkeypatch)
    turns = [work.first_lines]

    def other_pages() -> None:
        while True:
            turns.append(work.first_lines)
            gevent.sleep(0)

    pages = gevent.spawn(other_pages)
    assert meanwhile.best() is None
    pages.kill()
    assert work.first_lines == 120
    in_one_turn = [later - before for before, later in zip(turns, [*turns[1:], 120], strict=True)]
    assert max(in_one_turn) <= FIRST_LINES_AT_ONCE
    work.first_lines = 0
    assert meanwhile.best() is None
    assert work.first_lines == 0


class Clock:
    """A clock that the test advances."""

    def __init__(self) -> None:
        self.s = 100.0

    def __call__(self) -> float:
        return self.s


def resting(clock: Clock, first: kinds.RecordingOpened | None = None) -> Picture:
    picture = Picture("live", clock)
    told = [*made_facts.a_day(), (60.0, kinds.SessionResting(until_us=0))]
    for entry in made_facts.entries(told, first):
        picture.view.apply(entry)
    picture.see(Sight(mode="live", writer="writing", silent_s=0.1))
    picture.changed()
    return picture


def test_a_machine_is_quiet_since_something_last_happened_and_not_since_it_last_gave_a_sign_of_life() -> None:
    clock = Clock()
    picture = resting(clock)
    clock.s += 10
    assert picture.quiet_s() == 10
    picture.changed(happened=False)
    assert picture.quiet_s() == 10
    picture.changed()
    assert picture.quiet_s() == 0


def test_a_machine_that_is_there_is_never_quiet() -> None:
    clock = Clock()
    picture = resting(clock)
    started = kinds.ScriptStarted(script="round", title={"en": "x"}, by="session", round=2)
    picture.view.apply(Entry(picture.view.seq + 1, 61_000_000, started))
    picture.changed()
    clock.s += 1000
    assert picture.quiet_s() == 0


def test_what_happens_at_the_machine_takes_the_recordings_place_at_once() -> None:
    clock = Clock()
    picture, recording = resting(clock), Picture("replay")
    recording.see(Sight(mode="replay"))
    recording.show(resting(clock).view, "earlier")
    picture.show_instead(recording)
    answer = picture.answer(Ask())
    assert (answer["mode"], answer["badge"]["name"], answer["machine"]["name"]) == (
        "meanwhile",
        "recorded",
        "resting",
    )
    assert not answer["badge"]["speaks"]
    picture.changed(happened=False)
    assert picture.shows_instead(recording)
    picture.changed()
    assert not picture.shows_instead(recording)
    answer = picture.answer(Ask())
    assert answer["mode"] == "live"
    assert "machine" not in answer


def test_a_new_state_of_the_machine_is_shown_before_the_recording_continues() -> None:
    clock = Clock()
    picture, recording = resting(clock), Picture("replay")
    picture.show_instead(recording)
    picture.see(Sight(mode="live", writer="gone"))
    assert not picture.shows_instead(recording)
    assert picture.answer(Ask())["badge"]["name"] == "bridge gone"


def test_a_recording_begins_at_its_first_caption_and_not_with_emptiness() -> None:
    path = next(recordings_folder().glob("whimbrel*.exhibit"))
    view, seq = at_first_caption(path)
    entries = read_all(path).entries
    assert seq == next(entry.seq for entry in entries if isinstance(entry.fact, kinds.CaptionShown))
    assert view.seq == seq - 1
    shown = view.batch(0)["items"]
    assert shown["recording"]["drawn"], "there is a machine to look at"
    assert shown["session"]["state"] != "not started"


def test_a_recording_without_captions_begins_at_its_beginning(tmp_path: Path) -> None:
    path = made_facts.write(tmp_path, [(1.0, kinds.LineOpened(line="x"))], made_facts.opened())
    view, seq = at_first_caption(path)
    assert (view.seq, seq) == (0, 1)


def test_what_is_shown_in_a_practices_place_says_that_it_is_a_practice() -> None:
    """Even the sample that comes with the program, which is of no practice."""
    practising, recording = resting(Clock(), made_facts.opened(practice=True)), Picture("replay")
    recording.see(Sight(mode="replay"))
    practising.show_instead(recording)
    told = practising.answer(Ask())
    assert (told["mode"], told["badge"]["name"], told["badge"]["practice"]) == ("meanwhile", "recorded", True)
    real = resting(Clock())
    real.show_instead(recording)
    assert "practice" not in real.answer(Ask())["badge"]


def test_after_a_failure_the_trouble_stays_beside_the_recording() -> None:
    clock = Clock()
    trouble = kinds.TroubleRaised(
        trouble="disc-errors", line="x", words={"en": "Errors."}, do={"en": "Call the engineer."}
    )
    picture, recording = resting(clock), Picture("replay")
    recording.see(Sight(mode="replay"))
    for fact in (trouble, kinds.SessionFailed(why="x", last_lines=[])):
        picture.view.apply(Entry(picture.view.seq + 1, 61_000_000, fact))
    picture.changed()
    picture.show_instead(recording)
    told = picture.answer(Ask())["machine"]
    assert told["name"] == "failed"
    assert told["trouble"]["do"] == {"en": "Call the engineer."}
    calm = resting(clock)
    calm.show_instead(recording)
    assert "trouble" not in calm.answer(Ask())["machine"]
