"""Recordings are removed by a rule that somebody wrote, a day at a time, and never one that matters."""

from __future__ import annotations

from datetime import date

import pytest

from exhibit.records.keeping.copying import copy
from exhibit.records.keeping.discarding import discard, old_days
from exhibit.records.keeping.verifying import verify
from exhibit.streams.recording import RecordingWriter
from tests.records.keeping.days import FAILED, TROUBLE, a_day, note
from tests.streams.samples import an_opening

NOW = "2026-11-28T10:00:00+01:00"
TODAY = date(2026, 11, 28)
DIGEST = "9f" * 32


def looked_at(folder, **more):
    return old_days(folder, "whimbrel", 30, TODAY, folder / "saved", **more)


def test_a_day_is_old_only_when_it_is_beyond_the_rule(tmp_path):
    for day in "2026-10-01", "2026-10-28", "2026-10-29", "2026-11-28":
        a_day(tmp_path, day)
    assert [one.day for one in looked_at(tmp_path)] == [date(2026, 10, 1), date(2026, 10, 28)]


def test_removing_a_day_keeps_the_chain_and_says_so(tmp_path):
    first, second = a_day(tmp_path, "2026-10-01"), a_day(tmp_path, "2026-10-01")
    third = a_day(tmp_path, "2026-11-28")
    (one,) = looked_at(tmp_path)
    assert one.files == [first, second]
    assert one.keep_because == ""
    discard(one, TODAY, "keep = 30 days")
    assert not first.exists()
    assert not second.exists()
    checked = verify([tmp_path])
    checked.refuse()
    assert checked.lines == [
        f"{third.name}: in order; 202 facts; continues {second.name}, "
        "which was discarded on 2026-11-28 (keep = 30 days)"
    ]


@pytest.mark.parametrize(
    ("fact", "because"),
    [
        (TROUBLE, "the trouble disc-error was raised (fact 202 of "),
        (FAILED, "a run failed"),
        (note(DIGEST, "photograph"), "a photograph was kept"),
        (note(DIGEST, "minutes kept"), "minutes were saved"),
        (note(DIGEST), "a note asks a question"),
    ],
)
def test_a_day_that_matters_is_kept_whole_for_good(tmp_path, fact, because):
    (tmp_path / "saved" / "notes").mkdir(parents=True)
    (tmp_path / "saved" / "notes" / f"{DIGEST}.txt").write_text("Why does the lower drive click?")
    a_day(tmp_path, "2026-10-01")
    a_day(tmp_path, "2026-10-01", [fact])
    a_day(tmp_path, "2026-11-28")
    (one,) = looked_at(tmp_path)
    assert because in one.keep_because


@pytest.mark.parametrize("words", ["All was well.", None])
def test_a_note_that_asks_nothing_or_was_erased_keeps_no_day(tmp_path, words):
    (tmp_path / "saved" / "notes").mkdir(parents=True)
    if words is not None:
        (tmp_path / "saved" / "notes" / f"{DIGEST}.txt").write_text(words)
    a_day(tmp_path, "2026-10-01", [note(DIGEST)])
    a_day(tmp_path, "2026-11-28")
    assert [one.keep_because for one in looked_at(tmp_path)] == [""]


def test_what_is_damaged_newest_saved_from_or_being_written_is_kept(tmp_path):
    first, second = a_day(tmp_path, "2026-10-01"), a_day(tmp_path, "2026-10-02")
    third = a_day(tmp_path, "2026-10-03")
    content = bytearray(first.read_bytes())
    content[-3000] ^= 1
    first.write_bytes(content)
    (tmp_path / "saved").mkdir()
    (tmp_path / "saved" / f"{second.stem}-last-10-min-11-00-00.exhibit").touch()
    reasons = [one.keep_because for one in looked_at(tmp_path)]
    assert reasons[0] == f"{first.name} is damaged"
    assert reasons[1].startswith("minutes of it were saved as ")
    assert "the newest recording" in reasons[2]
    assert third.exists()
    writer = RecordingWriter(tmp_path, an_opening(wall="2026-10-04T09:30:00+01:00"), reserve_bytes=4096)
    assert looked_at(tmp_path)[3].keep_because == "it is still being written"
    writer.abandon()


def test_with_a_second_place_only_what_has_arrived_there_can_go(tmp_path):
    (tmp_path / "second").mkdir()
    recordings = tmp_path / "recordings"
    first = a_day(recordings, "2026-10-01")
    copy([recordings], tmp_path / "second", NOW)
    second = a_day(recordings, "2026-10-02")
    a_day(recordings, "2026-11-28")
    found = looked_at(recordings, copied_to=tmp_path / "second")
    assert [one.keep_because for one in found] == [
        "",
        f"{second.name} hasn't arrived in {tmp_path / 'second'}",
    ]
    (tmp_path / "second" / first.name).unlink()
    assert "hasn't arrived" in looked_at(recordings, copied_to=tmp_path / "second")[0].keep_because


def test_another_machine_s_days_are_not_touched(tmp_path):
    a_day(tmp_path, "2026-10-01")
    a_day(tmp_path, "2026-11-28")
    assert old_days(tmp_path, "heron", 30, TODAY, tmp_path / "saved") == []
