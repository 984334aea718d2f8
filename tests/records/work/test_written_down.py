"""What an engineer writes down: where it goes, what it may say, and that nobody takes it for a day."""

from pathlib import Path

import msgspec
import pytest

from exhibit.facts.errors import SetUpFault
from exhibit.facts.kinds import PackEntered, ReadingMeasured, WorkDone
from exhibit.folder.whole import read_folder
from exhibit.records.index.asking import Index
from exhibit.records.work.listing import lines_of
from exhibit.records.work.reading import written_down
from exhibit.records.work.units import value_and_unit
from exhibit.records.work.writing import WORK, write_down
from exhibit.streams.last_recording import left_open_by_last
from exhibit.streams.recording import RecordingFolder, read_all, use_of_recordings
from tests.streams.samples import a_recording, an_opening

WHIMBREL = Path(__file__).resolve().parents[3] / "scripts/whimbrel"
NOW = "2026-11-25T18:00:00+01:00"
DONE = WorkDone(
    at="2026-11-25T14:30:00+01:00",
    by="engineer 1",
    act="swapped",
    part="lower-drive",
    board="A12",
    came_from="the donor",
    drawing="sheet 7",
)
FIVE_VOLTS = ReadingMeasured(at=DONE.at, by="engineer 1", what="+5 V", value=5.03, unit="V", part="processor")
PACK = PackEntered(at=DONE.at, by="engineer 1", label="SALLOW 1", holds="TIDEBOOK", copies=["SALLOW 3"])


@pytest.fixture(scope="module")
def whimbrel():
    return read_folder(WHIMBREL)


def test_each_time_a_small_whole_recording_is_written_beside_the_others(tmp_path, whimbrel):
    paths = [write_down(tmp_path, whimbrel, fact, NOW) for fact in (DONE, FIVE_VOLTS, PACK)]
    assert {path.parent for path in paths} == {tmp_path / WORK}
    for path in paths:
        recording = read_all(path)
        assert not recording.damages
        assert [type(entry.fact).__name__ for entry in recording.entries][::2] == [
            "RecordingOpened",
            "RecordingClosed",
        ]
        assert path.stat().st_size < 10_000
    assert list((tmp_path / WORK).glob("*.reserve")) == []


def test_the_files_form_a_chain_of_their_own(tmp_path, whimbrel):
    a_recording(tmp_path)
    first, second = (write_down(tmp_path, whimbrel, DONE, NOW) for _ in range(2))
    opened = [read_all(path).entries[0].fact for path in (first, second)]
    assert [one.previous_file for one in opened] == ["", first.name]
    assert opened[1].previous_crc


def test_all_of_it_is_read_back_with_the_newest_entry_of_each_pack(tmp_path, whimbrel):
    later = msgspec.structs.replace(PACK, at="2026-11-25T15:00:00+01:00", verified="2026-11-25", hours=12.5)
    for fact in (later, DONE, FIVE_VOLTS, PACK):
        write_down(tmp_path, whimbrel, fact, NOW)
    found = written_down([tmp_path], "whimbrel")
    assert (found.work, found.measured, found.packs) == ([DONE], [FIVE_VOLTS], [later])
    assert written_down([tmp_path], "heron").work == []


def test_it_is_found_beside_a_single_recording_too(tmp_path, whimbrel):
    recording = a_recording(tmp_path)
    write_down(tmp_path, whimbrel, DONE, NOW)
    assert written_down([recording]).work == [DONE]


def test_a_damaged_file_is_named_and_hides_nothing_else(tmp_path, whimbrel):
    spoilt = write_down(tmp_path, whimbrel, FIVE_VOLTS, NOW)
    write_down(tmp_path, whimbrel, DONE, NOW)
    spoilt.write_bytes(spoilt.read_bytes().replace(b"5.03", b"6.03"))
    found = written_down([tmp_path])
    assert (found.work, found.measured, found.damaged) == ([DONE], [], [spoilt])


@pytest.mark.parametrize(
    ("fact", "said"),
    [
        (msgspec.structs.replace(DONE, part="lower drive"), "has no part 'lower drive'"),
        (msgspec.structs.replace(DONE, part=""), "has no part"),
        (msgspec.structs.replace(DONE, at="yesterday"), "is not a date and time"),
        (msgspec.structs.replace(DONE, board="A" * 201), "201 characters"),
        (msgspec.structs.replace(DONE, board="\x1b[2J"), "can't be printed"),
        (msgspec.structs.replace(PACK, copies=["X"] * 51), "51 entries"),
    ],
)
def test_what_no_museum_would_want_to_find_is_not_written(tmp_path, whimbrel, fact, said):
    with pytest.raises(SetUpFault, match=said):
        write_down(tmp_path, whimbrel, fact, NOW)
    assert not (tmp_path / WORK).exists()


# -- nobody takes it for a day


@pytest.fixture
def copied_together(tmp_path, whimbrel):
    """A recording, and what was written down after it, all in one folder, as somebody may copy them."""
    day = a_recording(tmp_path)
    written = write_down(tmp_path, whimbrel, DONE, NOW)
    written.rename(tmp_path / written.name)
    return tmp_path, day


def test_it_is_never_the_newest_recording_nor_one_of_them(copied_together):
    folder, day = copied_together
    files = RecordingFolder(folder)
    assert [file.path for file in files.recordings("whimbrel")] == [day]
    newest = files.newest("whimbrel")
    assert newest is not None
    assert newest.path == day
    assert len(files.work("whimbrel")) == 1
    assert written_down([folder]).work == [DONE]


def test_what_the_last_run_left_open_is_looked_for_in_the_days_alone(copied_together, whimbrel):
    folder, day = copied_together
    assert left_open_by_last(folder, whimbrel, "boot", "simulated").recording == day.name


def test_the_next_day_follows_the_day_and_its_hours(copied_together):
    folder, day = copied_together
    following = read_all(a_recording(folder, 1)).entries[0].fact
    assert following.previous_file == day.name
    assert use_of_recordings(folder, an_opening()) is not None


def test_the_index_of_the_recordings_takes_it_for_no_day(copied_together):
    folder, day = copied_together
    with Index.open(folder) as index:
        assert [row.recording for row in index.recordings()] == [day.name]
        assert [one.files for one in index.days()] == [(day.name,)]
        (written,) = [row for row in index.recordings(unreadable=True) if row.recording != day.name]
        assert "exhibit work list" in written.fault


def test_a_folder_of_nothing_but_work_counts_as_empty(tmp_path, whimbrel):
    write_down(tmp_path, whimbrel, DONE, NOW)
    assert RecordingFolder(tmp_path / WORK).recordings() == []
    assert RecordingFolder(tmp_path / WORK).newest() is None


# -- values with their units


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("5.03 V", (5.03, "V")),
        ("-12,1V", (-12.1, "V")),
        ("\u221212.1 V", (-12.1, "V")),
        ("21.5 C", (21.5, "°C")),
        ("48 %", (48.0, "%")),
        ("12034.5 h", (12034.5, "h")),
        ("4.7 kohm", (4.7, "kΩ")),
    ],
)
def test_a_value_is_taken_as_people_write_it(text, value):
    assert value_and_unit(text) == value


@pytest.mark.parametrize("text", ["5.03", "V", "five V", "5 furlong", "1e9999 V", "nan V", ""])
def test_a_value_without_a_known_unit_is_refused(text):
    with pytest.raises(SetUpFault, match="not a number with a unit"):
        value_and_unit(text)


def test_the_list_says_what_is_not_known(tmp_path, whimbrel):
    for fact in (DONE, FIVE_VOLTS, PACK):
        write_down(tmp_path, whimbrel, fact, NOW)
    said = "\n".join(lines_of(written_down([tmp_path])))
    assert "lower-drive, A12: swapped, from the donor (engineer 1; drawing sheet 7)" in said
    assert "+5 V at processor: 5.03 V (engineer 1)" in said
    assert "SALLOW 1: TIDEBOOK; copy; copies SALLOW 3, never verified; hours unknown, errors unknown" in said
