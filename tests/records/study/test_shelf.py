"""Which recordings there are: those of the folders and files that were given, each once, each by one name."""

from __future__ import annotations

from pathlib import Path

import pytest

from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.records.study.shelf import MOST_OPEN, Shelf
from tests.streams.samples import a_recording

SAMPLE = Path(__file__).resolve().parents[3] / "recordings" / "whimbrel-one-round.exhibit"


def test_a_row_says_when_it_was_how_long_and_whether_it_was_closed(tmp_path: Path) -> None:
    path = a_recording(tmp_path, 100)
    torn = tmp_path / "torn.exhibit"
    torn.write_bytes(path.read_bytes()[:-30])
    rows = {row["name"]: row for row in Shelf([tmp_path]).rows()}
    whole = rows[path.stem]
    assert (whole["wall"], whole["end_us"], whole["closed"]) == (
        "2026-11-25T09:30:00+01:00",
        4_000_000,
        True,
    )
    assert rows["torn"]["closed"] is False
    assert rows["torn"]["end_us"] == 4_000_000


def test_a_folder_s_other_files_are_left_out_and_a_file_twice_stands_once(tmp_path: Path) -> None:
    path = a_recording(tmp_path, 10)
    (tmp_path / "notes.txt").write_text("no recording")
    (tmp_path / "empty.exhibit").write_bytes(b"")
    assert Shelf([tmp_path, path]).names() == [path.stem]


def test_two_of_the_same_name_have_two_names(tmp_path: Path) -> None:
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "day.exhibit").write_bytes(SAMPLE.read_bytes())
    shelf = Shelf([tmp_path / "a", tmp_path / "b"])
    assert shelf.names() == ["day", "day (2)"]
    assert shelf.path("day (2)") == tmp_path / "b" / "day.exhibit"


def test_nothing_to_show_is_said_in_sentences(tmp_path: Path) -> None:
    with pytest.raises(SetUpFault, match="There is no recording in"):
        Shelf([tmp_path])
    (tmp_path / "x.txt").write_text("no recording")
    with pytest.raises(RecordingFault):
        Shelf([tmp_path / "x.txt"])


def test_a_name_that_leads_elsewhere_opens_nothing(tmp_path: Path) -> None:
    shelf = Shelf([a_recording(tmp_path, 10)])
    for name in ("../../etc/passwd", "/etc/passwd", "", "x" * 5000):
        with pytest.raises(RecordingFault, match="There is no recording"):
            shelf.studied(name)


def test_only_a_few_are_kept_open(tmp_path: Path) -> None:
    paths = []
    for number in range(MOST_OPEN + 2):
        (tmp_path / f"{number}").mkdir()
        paths.append(a_recording(tmp_path / f"{number}", 10).rename(tmp_path / f"day{number}.exhibit"))
    shelf = Shelf([tmp_path], tmp_path / "cache")
    first = shelf.studied("day0")
    for number in range(MOST_OPEN + 2):
        shelf.studied(f"day{number}")
    assert shelf.studied("day0") is not first
    shelf.close()


def test_a_recording_that_is_still_being_written_is_opened_anew_once_it_has_grown(tmp_path: Path) -> None:
    whole = SAMPLE.read_bytes()
    path = tmp_path / "today.exhibit"
    path.write_bytes(whole[: whole.index(b'{"seq":2000,')])
    shelf = Shelf([path], tmp_path / "cache")
    assert b'"end_seq":1999' in shelf.studied("today").line()
    path.write_bytes(whole)
    assert b'"end_seq":6990' in shelf.studied("today").line()
    shelf.close()
