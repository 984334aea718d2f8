"""Use is added up over all recordings in a folder, although only the newest is read."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from exhibit.decisions.wear.use import Use
from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.streams import use_of_recordings as summing
from exhibit.streams.recording import RecordingWriter, use_of, use_of_recordings
from tests.streams.samples import SMALL_RESERVE_BYTES, an_opening

S = 1_000_000
MIN = 60 * S


def record(folder: Path, wall: str, minutes: float, job: str = "1", closed: bool = True, **changed) -> Path:
    """A recording of 20 minutes in which an exerciser ran from the start; begun as a bridge would do it."""
    opening = msgspec.structs.replace(an_opening(wall=wall), **changed)
    opening = msgspec.structs.replace(opening, use_before=use_of_recordings(folder, opening))
    if opening.use_before is None:
        opening = msgspec.structs.replace(opening, use_before=Use(opening).before(0))
    writer = RecordingWriter(folder, opening, reserve_bytes=SMALL_RESERVE_BYTES)
    fact = kinds.ExerciserBegun(exerciser="shuttle", job=job, part="left", ends_us=round(minutes * MIN))
    writer.append(fact, 0)
    writer.append(kinds.Heartbeat(wall=wall[:14] + "20:00+01:00"), 20 * MIN)
    if closed:
        writer.close("the test is over", 20 * MIN)
    else:
        writer.abandon()
    return writer.path


def exercised_min(folder: Path, wall: str = "2026-11-25T12:00:00+01:00", **changed) -> float:
    opening = msgspec.structs.replace(an_opening(wall=wall), **changed)
    before = use_of_recordings(folder, opening)
    if before is None:
        return 0.0
    return sum(before.years.values()) / MIN


def test_where_nothing_was_recorded_nothing_was_used(tmp_path):
    assert use_of_recordings(tmp_path, an_opening()) is None
    assert use_of_recordings(tmp_path / "nowhere", an_opening()) is None


def test_three_recordings_are_counted_and_one_is_read(tmp_path, monkeypatch):
    paths = [record(tmp_path, f"2026-11-25T{hour:02}:00:00+01:00", 5) for hour in (9, 10, 11)]
    read: list[Path] = []
    really_read = summing.read
    monkeypatch.setattr(summing, "read", lambda path: (read.append(path), really_read(path))[1])
    assert exercised_min(tmp_path) == 15
    assert read == [paths[-1]]


def test_a_recording_that_was_taken_away_still_counts(tmp_path):
    paths = [record(tmp_path, f"2026-11-25T{hour:02}:00:00+01:00", 5) for hour in (9, 10, 11)]
    paths[0].unlink()
    paths[1].unlink()
    assert exercised_min(tmp_path) == 15


def test_a_bridge_that_was_killed_counts_as_far_as_it_came_and_its_exerciser_goes_on(tmp_path):
    path = record(tmp_path, "2026-11-25T09:00:00+01:00", 30, closed=False)
    with path.open("ab") as file:
        file.write(b'{"seq":4,"at_us":1200')
    before = use_of_recordings(tmp_path, an_opening(wall="2026-11-25T09:25:00+01:00"))
    assert before.years == {"2026": 20 * MIN}
    assert Use(an_opening_with(before, "2026-11-25T09:25:00+01:00")).today.exercised_us == 25 * MIN
    assert Use(an_opening_with(before, "2026-11-25T10:25:00+01:00")).today.exercised_us == 30 * MIN


def an_opening_with(before, wall: str) -> kinds.RecordingOpened:
    return msgspec.structs.replace(an_opening(wall=wall), use_before=before)


@pytest.mark.parametrize(
    "other",
    [{"machine_is": "real"}, {"rate": 20.0}, {"machine": "heron"}],
    ids=lambda other: next(iter(other)),
)
def test_another_machine_the_simulator_or_another_rate_counts_apart(tmp_path, other):
    record(tmp_path, "2026-11-25T09:00:00+01:00", 5)
    record(tmp_path, "2026-11-25T10:00:00+01:00", 7, **other)
    assert exercised_min(tmp_path) == 5
    assert exercised_min(tmp_path, **other) == 7 / other.get("rate", 1)


def test_a_recording_by_a_version_that_counted_nothing_interrupts_no_sum(tmp_path):
    record(tmp_path, "2026-11-25T09:00:00+01:00", 5)
    old = RecordingWriter(
        tmp_path, an_opening(wall="2026-11-25T10:00:00+01:00"), reserve_bytes=SMALL_RESERVE_BYTES
    )
    old.append(kinds.PackMounted(label="A", drive="left", may_be_written=True, by="1"), S)
    old.close("over", S)
    assert exercised_min(tmp_path) == 5
    assert list(use_of_recordings(tmp_path, an_opening()).packs) == ["left"]


def test_what_is_damaged_does_not_count_and_the_rest_does(tmp_path):
    path = record(tmp_path, "2026-11-25T09:00:00+01:00", 5)
    record(tmp_path, "2026-11-25T10:00:00+01:00", 7)
    newest = sorted(tmp_path.glob("*.exhibit"))[-1]
    assert newest != path
    lines = newest.read_bytes().splitlines(keepends=True)
    newest.write_bytes(b"".join([lines[0], lines[1].replace(b"shuttle", b"shuffle"), *lines[2:]]))
    assert exercised_min(tmp_path) == 5


def test_a_recording_whose_first_line_is_damaged_is_skipped(tmp_path):
    record(tmp_path, "2026-11-25T09:00:00+01:00", 5)
    newest = record(tmp_path, "2026-11-25T10:00:00+01:00", 7)
    lines = newest.read_bytes().splitlines(keepends=True)
    newest.write_bytes(b"".join([lines[0].replace(b"Whimbrel", b"Wimbrell"), *lines[1:]]))
    with pytest.raises(RecordingFault):
        use_of(newest)
    assert exercised_min(tmp_path) == 5


def test_if_times_are_outside_the_calendar_what_was_used_before_counts(tmp_path):
    record(tmp_path, "2026-11-25T09:00:00+01:00", 5)
    strange = record(tmp_path, "9999-12-31T23:50:00+01:00", 20, job="2")
    with pytest.raises(RecordingFault, match="outside the years"):
        use_of(strange)
    assert exercised_min(tmp_path) == 5
