"""Use is added up over all recordings in a folder, although only the newest is read."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from exhibit.decisions.wear.use import Use
from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.facts.use_before import DayBefore
from exhibit.streams import use_of_recordings as summing
from exhibit.streams.recording import RecordingWriter, day_of_recordings, use_of, use_of_recordings
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
    with pytest.raises(RecordingFault, match="can.t be true"):
        use_of(strange)
    assert exercised_min(tmp_path) == 5


# -- the day ---------------------------------------------------------------------------------------


def a_round(folder: Path, wall: str, *, closed: bool = True, **changed) -> Path:
    """A recording in which one round was done, begun as a bridge would do it."""
    opening = msgspec.structs.replace(an_opening(wall=wall), **changed)
    opening = msgspec.structs.replace(opening, today=day_of_recordings(folder, opening))
    writer = RecordingWriter(folder, opening, reserve_bytes=SMALL_RESERVE_BYTES)
    writer.append(kinds.ScriptStarted(script="round", title={}, by="a test", round=1), S)
    if closed:
        writer.append(kinds.ScriptEnded(script="round", outcome="done", tidy=True, why=""), 5 * MIN)
        writer.close("the test is over", 6 * MIN)
    else:
        writer.abandon()
    return writer.path


def rounds_before(folder: Path, wall: str, **changed) -> int:
    opening = msgspec.structs.replace(an_opening(wall=wall), **changed)
    return day_of_recordings(folder, opening).sums.rounds


def test_the_day_is_carried_from_each_recording_to_the_next(tmp_path):
    for hour in (9, 10, 11):
        assert rounds_before(tmp_path, f"2026-11-25T{hour:02}:00:00+01:00") == hour - 9
        a_round(tmp_path, f"2026-11-25T{hour:02}:00:00+01:00")
    day = day_of_recordings(tmp_path, an_opening(wall="2026-11-25T12:00:00+01:00"))
    assert [(span.from_[11:16], span.until[11:16]) for span in day.spans] == [
        ("09:00", "09:05"),
        ("10:00", "10:05"),
        ("11:00", "11:05"),
    ]


def test_on_another_day_it_begins_empty(tmp_path):
    a_round(tmp_path, "2026-11-25T09:00:00+01:00")
    assert rounds_before(tmp_path, "2026-11-26T09:00:00+01:00") == 0


def test_the_day_of_another_machine_counts_for_itself(tmp_path):
    a_round(tmp_path, "2026-11-25T09:00:00+01:00")
    for changed in ({"machine_is": "simulated"}, {"machine": "bittern"}, {"rate": 20.0}):
        before = an_opening(), msgspec.structs.replace(an_opening(), **changed)
        if before[0] != before[1]:
            assert rounds_before(tmp_path, "2026-11-25T10:00:00+01:00", **changed) == 0


def test_a_round_whose_recording_broke_off_broke_off(tmp_path):
    a_round(tmp_path, "2026-11-25T09:00:00+01:00", closed=False)
    (span,) = day_of_recordings(tmp_path, an_opening(wall="2026-11-25T10:00:00+01:00")).spans
    assert (span.outcome, bool(span.until)) == ("broken off", True)


def test_where_nothing_was_recorded_the_day_is_empty(tmp_path):
    assert day_of_recordings(tmp_path, an_opening()) == DayBefore()
    damaged = a_round(tmp_path, "2026-11-25T09:00:00+01:00")
    damaged.write_bytes(b"nonsense")
    assert day_of_recordings(tmp_path, an_opening(wall="2026-11-25T10:00:00+01:00")) == DayBefore()


def test_a_trouble_that_was_not_over_is_left_to_the_next_recording(tmp_path):
    opening = an_opening(wall="2026-11-25T09:00:00+01:00")
    writer = RecordingWriter(tmp_path, opening, reserve_bytes=SMALL_RESERVE_BYTES)
    raised = [
        writer.append(kinds.TroubleRaised(trouble=name, line=name.upper(), words={}, do={}), MIN)
        for name in ("warm", "full")
    ]
    writer.append(kinds.TroubleOver(raised=raised[1].seq, by="a docent", how=""), 2 * MIN)
    writer.abandon()  # the program was killed
    before = use_of_recordings(tmp_path, opening)
    assert before is not None
    assert [(one.trouble, one.line, one.since) for one in before.troubles] == [
        ("warm", "WARM", "2026-11-25T09:01:00+01:00")
    ]
