"""A copy counts once it was read back in its place and is the same; nothing there is ever overwritten."""

from __future__ import annotations

import hashlib
import json
import os

import pytest

import exhibit.records.keeping.copying as copying
from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.records.keeping.compressing_days import compress_recording
from exhibit.records.keeping.copying import LIST, check, copy, is_copied, refuse
from exhibit.streams.recording import RecordingWriter
from tests.records.keeping.days import a_day
from tests.streams.samples import an_opening

NOW = "2026-11-28T10:00:00+01:00"


@pytest.fixture
def folder(tmp_path):
    for day in 25, 26, 27:
        a_day(tmp_path / "recordings", f"2026-11-{day}")
    return tmp_path / "recordings"


@pytest.fixture
def place(tmp_path):
    (tmp_path / "second").mkdir()
    return tmp_path / "second"


def names(folder) -> list[str]:
    return sorted(one.name for one in folder.iterdir())


def test_each_file_arrives_with_a_line_that_says_its_digest(folder, place):
    said = copy([folder], place, NOW)
    assert [one.is_wrong for one in said] == [False] * 3
    assert names(place) == [LIST, *names(folder)]
    lines = [json.loads(line) for line in (place / LIST).read_text().splitlines()]
    for line in lines:
        content = (place / line["file"]).read_bytes()
        assert content == (folder / line["file"]).read_bytes()
        assert (line["bytes"], line["sha256"]) == (len(content), hashlib.sha256(content).hexdigest())
    assert all(is_copied(path, place) for path in folder.iterdir())
    refuse(check(place))


def test_a_second_time_only_what_is_new_is_copied(folder, place):
    copy([folder], place, NOW)
    new = a_day(folder, "2026-11-28")
    said = {one.file: one.what for one in copy([folder], place, NOW)}
    assert said.pop(new.name).startswith("copied, and read back")
    assert all(what.startswith("there since ") for what in said.values())
    assert len((place / LIST).read_text().splitlines()) == 4


def test_what_does_not_come_back_as_it_was_sent_is_no_copy(folder, place, monkeypatch):
    monkeypatch.setattr(copying, "_read_back", lambda path: "0" * 64)
    said = copy([folder], place, NOW)
    assert all(one.is_wrong and "read back differs" in one.what for one in said)
    assert names(place) == []
    with pytest.raises(RecordingFault, match="3 of 3 files"):
        refuse(said)


def test_another_file_of_the_same_name_is_left_as_it_is(folder, place):
    name = names(folder)[0]
    (place / name).write_bytes(b"other")
    said = {one.file: one for one in copy([folder], place, NOW)}
    assert said[name].is_wrong
    assert (place / name).read_bytes() == b"other"
    assert not is_copied(folder / name, place)


def test_a_copy_that_is_spoilt_later_is_found(folder, place):
    copy([folder], place, NOW)
    name = names(folder)[1]
    content = bytearray((place / name).read_bytes())
    content[1000] ^= 1
    (place / name).write_bytes(content)
    (place / names(folder)[2]).unlink()
    wrong = [one.file for one in check(place) if one.is_wrong]
    assert wrong == names(folder)[1:]
    with pytest.raises(RecordingFault):
        refuse(check(place))


def test_a_torn_line_in_the_list_counts_as_not_copied_and_hides_no_other(folder, place):
    copy([folder], place, NOW)
    kept = (place / LIST).read_bytes()
    os.truncate(place / LIST, len(kept) - 30)
    said = copy([folder], place, NOW)
    assert [one.what.split(",")[0] for one in said] == [said[0].what, said[1].what, "copied"]
    assert len(check(place)) == 3


def test_what_is_being_written_waits(folder, place):
    writer = RecordingWriter(folder, an_opening(wall="2026-11-28T09:30:00+01:00"), reserve_bytes=4096)
    said = {one.file: one for one in copy([folder], place, NOW)}
    writer.abandon()
    assert "still being written" in said[writer.path.name].what
    assert not said[writer.path.name].is_wrong
    assert writer.path.name not in names(place)


def test_a_compressed_one_arrives_compressed(folder, place):
    packed = compress_recording(folder / names(folder)[0])
    copy([folder], place, NOW)
    assert (place / packed.name).read_bytes() == packed.read_bytes()


def test_a_place_that_is_not_there_is_not_made(folder, tmp_path):
    with pytest.raises(SetUpFault, match="no folder"):
        copy([folder], tmp_path / "not-mounted", NOW)
    with pytest.raises(SetUpFault, match="no list"):
        check(tmp_path)


def test_a_list_from_a_stranger_leads_nowhere_else(place):
    (place / LIST).write_text(
        '{"file":"../other","bytes":1,"sha256":"0","read_back":"2026","changed_ns":1}\nnot JSON\n[]\n'
    )
    assert check(place) == []
