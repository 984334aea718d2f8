"""The index says what the recordings say, and reads only what is new or has changed."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pytest

from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.paper.summary import summary
from exhibit.records.index import building, reading_files, recording_rows, storing
from exhibit.records.index.asking import Index
from exhibit.records.index.rows import TABLES, DayRow, GapRow, StepRow, TroubleRow
from exhibit.records.index.storing import NAME
from exhibit.streams.compressed.compressing import compress
from exhibit.streams.recording import read, read_all
from exhibit.sums.step_times import Stopwatch
from tests.records.index.written import WALL, die, received, script, write

SAMPLE = Path(__file__).resolve().parents[3] / "recordings" / "whimbrel-one-round.exhibit"
PRINTED = received("HELLO THERE\r\nDISC ERROR 7\r\n", 2)


def names_read(folder: Path, **how) -> list[str]:
    """The names of the files that are read when the index is opened now."""
    names: list[str] = []
    Index.open(folder, reading=lambda name, *_: names.append(name), **how).close()
    return names


@pytest.fixture(autouse=True)
def cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch) -> Path:
    cache = tmp_path_factory.mktemp("cache")
    monkeypatch.setenv("XDG_CACHE_HOME", f"{cache}")
    return cache


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write(tmp_path / "a.exhibit", PRINTED, *script("round", 1, 3, ("add", 2.5)))
    write(tmp_path / "b.exhibit", received("ALL WELL\r\n", 1), wall="2026-11-26T09:00:00+01:00")
    return tmp_path


def test_a_file_is_read_once_and_again_only_after_it_has_changed(folder):
    assert names_read(folder) == ["a.exhibit", "b.exhibit"]
    assert names_read(folder) == []
    write(folder / "b.exhibit", received("ALL WELL AGAIN\r\n", 1), wall="2026-11-26T09:00:00+01:00")
    assert names_read(folder) == ["b.exhibit"]
    with Index.open(folder) as index:
        assert [row.text for row in index.find(text="well")] == ["ALL WELL AGAIN"]


def test_a_file_that_is_gone_leaves_the_index(folder):
    names_read(folder)
    (folder / "a.exhibit").unlink()
    with Index.open(folder) as index:
        assert [row.recording for row in index.recordings()] == ["b.exhibit"]
        assert list(index.find(text="disc error")) == []
        assert index.rows(StepRow) == []


def test_files_can_be_asked_for_alone_and_the_others_are_not_read(folder):
    assert names_read(folder, only=["b.exhibit"]) == ["b.exhibit"]
    assert names_read(folder, only=["b.exhibit"]) == []
    assert not (folder / NAME).exists()
    names_read(folder)
    assert names_read(folder, only=["b.exhibit"]) == []
    with Index.open(folder, only=["b.exhibit"]) as index:
        assert [day.date for day in index.days()] == ["2026-11-26"]
        assert list(index.find(text="disc error")) == []


@pytest.mark.parametrize("spoilt", [b"", b"no index at all", b"SQLite format 3\0" + bytes(5000)])
def test_what_is_no_index_is_made_anew(folder, spoilt):
    (folder / NAME).write_bytes(spoilt)
    with Index.open(folder) as index:
        assert len(index.recordings()) == 2


def test_an_index_that_was_damaged_is_made_anew(folder):
    names_read(folder)
    content = bytearray((folder / NAME).read_bytes())
    for place in range(4096, len(content), 7):
        content[place] ^= 0xFF
    (folder / NAME).write_bytes(content)
    with Index.open(folder) as index:
        assert [row.text for row in index.find(text="disc error")] == ["DISC ERROR 7"]


def test_an_index_of_another_version_or_with_a_strangers_tables_is_made_anew(folder):
    for change in ("PRAGMA user_version = 1", "CREATE TRIGGER more AFTER INSERT ON said BEGIN SELECT 1; END"):
        names_read(folder)
        with sqlite3.connect(folder / NAME) as database:
            database.execute(change)
        database.close()
        assert names_read(folder) == ["a.exhibit", "b.exhibit"], change


def test_without_a_place_beside_the_recordings_the_index_is_in_the_cache_folder(folder, cache, monkeypatch):
    monkeypatch.setattr(storing.os, "access", lambda path, how: False)
    assert names_read(folder) == ["a.exhibit", "b.exhibit"]
    assert names_read(folder) == []
    assert not (folder / NAME).exists()
    assert len([*(cache / "exhibit").iterdir()]) == 1


def test_without_any_place_the_index_is_in_memory(folder, monkeypatch):
    monkeypatch.setattr(storing, "_places", lambda folder, whole: [])
    with Index.open(folder) as index:
        assert [row.text for row in index.find(text="disc error")] == ["DISC ERROR 7"]


def test_a_folder_without_recordings_gets_no_index_and_one_that_lost_them_forgets_them(tmp_path, cache):
    assert names_read(tmp_path) == []
    assert [*tmp_path.iterdir()] == []
    assert [*cache.rglob("*.sqlite")] == []
    write(tmp_path / "a.exhibit", PRINTED)
    assert names_read(tmp_path) == ["a.exhibit"]
    (tmp_path / "a.exhibit").unlink()
    with Index.open(tmp_path) as index:
        assert list(index.find(text="disc error")) == []
    assert b"DISC ERROR" not in (tmp_path / NAME).read_bytes()


def test_a_link_is_followed_neither_to_a_recording_nor_to_an_index(folder, tmp_path_factory):
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    write(elsewhere / "c.exhibit")
    (folder / "c.exhibit").symlink_to(elsewhere / "c.exhibit")
    (folder / NAME).symlink_to(elsewhere / "victim")
    assert names_read(folder) == ["a.exhibit", "b.exhibit"]
    assert not (elsewhere / "victim").exists()


def test_a_copy_counts_once(folder):
    shutil.copy(folder / "a.exhibit", folder / "z.exhibit")
    with Index.open(folder) as index:
        assert [row.recording for row in index.recordings()] == ["a.exhibit", "b.exhibit"]
        assert len(index.rows(StepRow)) == 1
        assert len(list(index.find(text="disc error"))) == 1


def test_a_file_that_is_no_recording_says_why_and_hides_no_other(folder):
    (folder / "c.exhibit").write_text("nothing of the kind\n")
    with Index.open(folder) as index:
        assert len(index.recordings()) == 2
        [bad] = [row for row in index.recordings(unreadable=True) if row.fault]
        assert bad.recording == "c.exhibit"
        assert "isn't a recording" in bad.fault
    assert names_read(folder) == []


def test_a_folder_that_is_not_there_is_a_sentence(tmp_path):
    with pytest.raises(RecordingFault, match="can't be read"):
        Index.open(tmp_path / "none")


def test_damage_is_a_gap_with_its_byte_and_a_step_over_it_has_no_end(tmp_path):
    whole = write(tmp_path / "a.exhibit", PRINTED, *script("round", 1, 3, ("add", 2.5))).read_bytes()
    lines = whole.splitlines(keepends=True)
    at = next(place for place, line in enumerate(lines) if b'"step_ended"' in line)
    lines[at] = lines[at].replace(b"step_ended", b"step_ENDED")
    (tmp_path / "a.exhibit").write_bytes(b"".join(lines))
    with Index.open(tmp_path) as index:
        [gap] = index.rows(GapRow)
        assert (gap.kind, gap.lost_facts, gap.offset_bytes) == ("damaged", 1, len(b"".join(lines[:at])))
        [step] = index.rows(StepRow)
        assert (step.step, step.outcome) == ("add", "")
        assert index.days()[0].damaged


def test_a_step_with_damage_in_its_middle_has_no_end_although_one_is_recorded(tmp_path):
    begun, ended = script("round", 1, 3, ("add", 2.5))[1:3]
    path = write(tmp_path / "a.exhibit", begun, (4, kinds.Heartbeat(wall=WALL)), ended)
    path.write_bytes(path.read_bytes().replace(b'"heartbeat"', b'"heartBEAT"'))
    with Index.open(tmp_path) as index:
        assert [(step.step, step.outcome) for step in index.rows(StepRow)] == [("add", "")]


def test_recordings_of_somebody_practising_are_left_out_unless_asked_for(tmp_path):
    write(tmp_path / "a.exhibit", PRINTED, *script("round", 1, 3, ("add", 2.5)), practice=True)
    with Index.open(tmp_path) as index:
        assert index.rows(StepRow) == index.days() == [*index.find(text="disc error")] == []
        assert len(index.rows(StepRow, practice=True)) == len(index.days(practice=True)) == 1
        assert len([*index.find(text="disc error", practice=True)]) == 1


def test_a_trouble_has_what_became_of_it_and_what_ran(tmp_path):
    raised = kinds.TroubleRaised(
        trouble="disc-error", line="DISC ERROR 7", words={"en": "The disc erred."}, do={}
    )
    begun = kinds.ExerciserBegun(exerciser="shuttle", job="1", part="drive", ends_us=0)
    write(
        tmp_path / "a.exhibit",
        (0, kinds.PartStarted(part="drive", by="opening.start")),
        (1, kinds.ScriptStarted(script="round", title={"en": "Round"}, by="docent 1", round=3)),
        (2, kinds.StepStarted(script="round", step="exercise")),
        (3, begun),
        (63, raised),
        (64, kinds.TroubleSeen(raised=6, by="docent 1")),
        (70, kinds.TroubleOver(raised=6, by="docent 1", how="read again")),
    )
    with Index.open(tmp_path) as index:
        [trouble] = index.rows(TroubleRow)
    assert (trouble.step, trouble.round, trouble.parts, trouble.on_s) == ("exercise", 3, "drive", 63)
    assert trouble.at == "2026-11-25T09:01:03.000+01:00"
    assert (trouble.seen_at[11:19], trouble.over_at[11:19], trouble.over_how) == (
        "09:01:04",
        "09:01:10",
        "read again",
    )


def test_the_sample_s_steps_are_those_that_the_stopwatch_times(tmp_path):
    shutil.copy(SAMPLE, tmp_path)
    watch = Stopwatch()
    watch.begin(SAMPLE.name)
    for entry in read(SAMPLE):
        watch.take(entry)
    with Index.open(tmp_path) as index:
        for (script_name, step), times in watch.steps.items():
            done = index.rows(StepRow, script=script_name, step=step, outcome="done")
            assert [row.took_us for row in done] == times.good_us, step


def test_a_days_figures_are_those_of_the_printed_summary(tmp_path):
    shutil.copy(SAMPLE, tmp_path)
    with Index.open(tmp_path) as index:
        [day] = index.days("whimbrel")
    page = summary([tmp_path / SAMPLE.name])
    assert f"{day.rounds_done} of {day.rounds}" in page
    assert day.by_hand == sum(
        isinstance(entry.fact, kinds.HandsOnConfirmed) for entry in read_all(SAMPLE).entries
    )
    assert day.part_s["processor"] == pytest.approx(298.971)


def test_every_table_can_be_asked_and_a_column_that_is_none_is_refused(folder):
    with Index.open(folder) as index:
        for row in TABLES:
            assert all(isinstance(one, row) for one in index.rows(row))
        with pytest.raises(ValueError, match="no column colour"):
            index.rows(DayRow, colour="red")


def test_a_line_is_found_by_any_part_of_it_a_pattern_its_kind_its_step_and_its_time(folder):
    def texts(**how) -> list[str]:
        with Index.open(folder) as index:
            return [row.text for row in index.find(**how)]

    assert texts(text="sc err") == ["DISC ERROR 7"]
    assert texts(text='"; DROP') == []
    assert texts(text="r 7") == ["DISC ERROR 7"]
    for odd in ("\0", "a\0bcd", "\udc9bxyz", "%", "walrus " * 400, "*", "NEAR(", "'"):
        assert texts(text=odd, step=odd, machine=odd) == [], odd
        assert texts(text=odd) == [], odd
    assert texts(text="7", kind=["printed"]) == ["DISC ERROR 7"]
    assert texts(pattern=r"ERROR \d$") == ["DISC ERROR 7"]
    assert texts(step="add", kind=["step_started"]) == texts(step="round.add", kind=["step_started"])
    assert texts(kind=["printed"], since=datetime.fromisoformat("2026-11-26T00:00+00:00")) == ["ALL WELL"]
    assert texts(kind=["printed"], until=datetime.fromisoformat("2026-11-26T00:00+00:00"), most=1) == [
        "HELLO THERE"
    ]


def test_no_text_of_a_note_is_in_the_index(tmp_path):
    write(tmp_path / "a.exhibit", (1, kinds.NoteMade(kind="note", by="docent 1", digest="ab" * 32)))
    (tmp_path / ("ab" * 32 + ".txt")).write_text("the belt slips")
    names_read(tmp_path)
    assert b"belt" not in (tmp_path / NAME).read_bytes()


def test_a_growing_file_is_read_to_its_present_end(tmp_path):
    path = write(tmp_path / "a.exhibit", PRINTED, closed=False)
    with Index.open(tmp_path) as index:
        assert not index.recordings()[0].closed
        assert not index.days()[0].closed
    os.utime(path, ns=(1, 1))
    assert names_read(tmp_path) == ["a.exhibit"]


def test_several_processes_read_the_same_as_one(tmp_path, monkeypatch):
    for number in range(5):
        wall = f"2026-11-{number + 10}T09:00:00+01:00"
        write(tmp_path / f"{number}.exhibit", PRINTED, *script("round", 1, 3, ("add", 2.5)), wall=wall)
    (tmp_path / "x.exhibit").write_text("nothing of the kind")
    with Index.open(tmp_path) as index:
        one = {row: index.rows(row) for row in TABLES}, index.recordings(unreadable=True), [*index.find()]
    (tmp_path / NAME).unlink()
    monkeypatch.setattr(building, "BESIDE_BYTES", 0)
    with Index.open(tmp_path) as index:
        several = {row: index.rows(row) for row in TABLES}, index.recordings(unreadable=True), [*index.find()]
    assert several == one


def test_a_process_that_dies_costs_nothing(tmp_path, monkeypatch):
    write(tmp_path / "a.exhibit", PRINTED)
    write(tmp_path / "b.exhibit", PRINTED, wall="2026-11-26T09:00:00+01:00")
    monkeypatch.setattr(building, "BESIDE_BYTES", 0)
    monkeypatch.setattr(reading_files, "_all_rows", die)
    with Index.open(tmp_path) as index:
        assert len([*index.find(text="disc error")]) == 2


def test_a_file_that_fails_half_way_leaves_no_rows(tmp_path, monkeypatch):
    write(tmp_path / "a.exhibit", PRINTED, *script("round", 1, 3, ("add", 2.5)))

    def half(path):
        yield from [*read(path)][:-2]
        raise RecordingFault("The disc failed.", "So it can't be read.", "Replace it.")

    monkeypatch.setattr(recording_rows, "read", half)
    with Index.open(tmp_path) as index:
        assert [row.fault for row in index.recordings(unreadable=True)] == [
            "The disc failed. So it can't be read. Replace it."
        ]
        assert index.rows(StepRow) == []
        assert [*index.find(text="disc error")] == []


@pytest.mark.parametrize("why", ["database or disk is full", "attempt to write a readonly database"])
def test_an_index_that_cannot_be_written_is_kept_in_memory(folder, monkeypatch, why):
    written = building._write

    def full(database, *more):
        if database.execute("PRAGMA database_list").fetchone()[2]:
            raise sqlite3.OperationalError(why)
        written(database, *more)

    monkeypatch.setattr(building, "_write", full)
    with Index.open(folder) as index:
        assert [row.text for row in index.find(text="disc error")] == ["DISC ERROR 7"]


def test_two_that_open_it_at_once_read_each_file_once_and_both_have_it(folder):
    command = [sys.executable, "-m", "exhibit", "find", f"{folder}", "--text", "disc error"]
    both = [subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(2)]
    for process in both:
        out, err = process.communicate(timeout=60)
        assert (process.returncode, err) == (0, b"")
        assert out.count(b"DISC ERROR 7") == 1
    with Index.open(folder) as index:
        assert len([*index.find(text="disc error")]) == 1


def test_a_compressed_recording_is_read_like_a_plain_one(folder):
    plain = folder / "a.exhibit"
    with plain.open("rb") as content:
        compress(content, folder / "a.exhibit.zst")
    with Index.open(folder) as index:
        assert [row.recording for row in index.recordings()] == ["a.exhibit", "b.exhibit"]
    plain.unlink()
    with Index.open(folder) as index:
        [row] = index.find(text="disc error")
        assert row.recording == "a.exhibit.zst"
