"""`exhibit verify` says whether each file is as it was written, where it isn't, and what it continues."""

from __future__ import annotations

from pathlib import Path

import pytest

from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.records.keeping.verifying import examine, verify
from exhibit.streams.compressed.compressing import compress
from exhibit.streams.recording import RecordingWriter, read
from exhibit.streams.recording_files import last_crc
from exhibit.streams.recording_reader import open_recording
from tests.streams.samples import a_recording, an_opening, some_facts

COUNT = 40


@pytest.fixture
def folder(tmp_path) -> Path:
    """Three days, one continuing the other."""
    a_recording(tmp_path, COUNT)
    for day in 26, 27:
        opened = an_opening(wall=f"2026-11-{day}T09:30:00+01:00")
        writer = RecordingWriter(tmp_path, opened, reserve_bytes=4096)
        for fact, at_us in some_facts(5):
            writer.append(fact, at_us)
        writer.close("the test is over", at_us)
    return tmp_path


def files(folder: Path) -> list[Path]:
    return sorted(folder.glob("*.exhibit*"))


def test_a_folder_in_order_is_a_line_a_file_and_raises_nothing(folder):
    checked = verify([folder])
    first, second, third = files(folder)
    assert checked.lines == [
        f"{first.name}: in order; 42 facts",
        f"{second.name}: in order; 7 facts; continues the one before it",
        f"{third.name}: in order; 7 facts; continues the one before it",
    ]
    checked.refuse()


@pytest.mark.parametrize("at", range(5000, 7150, 43))
def test_it_says_the_byte_and_the_bit_that_was_flipped(folder, at):
    path = files(folder)[0]
    content = bytearray(path.read_bytes())
    line_at = content.rindex(b"\n", 0, at) + 1
    line_end = content.index(b"\n", at)
    content[at] ^= 1 << (at % 8)
    path.write_bytes(content)
    checked = verify([path])
    said = checked.lines[1].strip()
    assert said.startswith(f"byte {line_at:,}: its checksum is wrong, ")
    if at < line_end - 18:
        assert f"bit {at % 8} of byte {at:,} is flipped" in said
    assert "missing" in said
    with pytest.raises(RecordingFault, match="1 of 1 recording is damaged") as raised:
        checked.refuse()
    assert "exhibit mend" in raised.value.do


def test_it_says_which_facts_are_missing(folder):
    path = files(folder)[0]
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:10] + lines[14:]))
    said = verify([path]).lines[1]
    assert said.endswith("facts 11 to 15 are missing")
    assert f"byte {len(b''.join(lines[:10])):,}:" in said


def test_a_file_that_does_not_continue_the_one_before_it_is_found(folder):
    first, second, third = files(folder)
    other = a_recording(folder / "other", 7)
    first.write_bytes(other.read_bytes())
    checked = verify(files(folder))
    assert checked.lines[1].endswith(f"which ends with {last_crc(first)}, not {opened(second).previous_crc}")
    with pytest.raises(RecordingFault, match="1 of 3 recordings can't be the continuation"):
        checked.refuse()


def opened(path):
    return next(iter(read(path))).fact


def test_a_missing_file_before_it_is_said_but_is_no_damage(folder):
    first, second, _ = files(folder)
    first.unlink()
    checked = verify([folder])
    assert f"the one before it, {first.name}, isn't here" in checked.lines[0]
    checked.refuse()


def test_a_file_that_was_torn_or_never_closed_is_told_apart(folder):
    first, second, third = files(folder)
    lines = third.read_bytes().splitlines(keepends=True)
    third.write_bytes(b"".join(lines[:-1]))
    assert "in order; 6 facts, ended without being closed" in verify([folder]).lines[2]
    verify([folder]).refuse()
    third.write_bytes(third.read_bytes() + lines[-1][:30])
    said = verify([folder]).lines
    assert "damaged in 1 place" in said[2]
    assert "its end is missing, 30 bytes; no fact follows" in said[3]


def test_what_is_being_written_is_not_damaged_by_half_a_line(tmp_path):
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096)
    with writer.path.open("ab") as file:
        file.write(b'{"seq":2,"at_us"')
    try:
        one = examine(writer.path)
        assert one.being_written
        assert not one.is_damaged
        assert "still being written" in verify([writer.path]).lines[0]
    finally:
        writer.abandon()


def test_a_compressed_one_is_verified_like_a_plain_one_and_says_the_byte_in_the_file(folder):
    path = files(folder)[0]
    with open_recording(path) as file:
        compress(file, path.with_name(f"{path.name}.zst"))
    path.unlink()
    packed = files(folder)[0]
    checked = verify([folder])
    assert checked.lines[0] == f"{packed.name}: in order; 42 facts"
    assert "continues the one before it" in checked.lines[1]
    checked.refuse()


def test_what_cannot_be_read_at_all_is_damaged_too(folder):
    first = files(folder)[0]
    first.write_bytes(b"\x00" * 5000)
    checked = verify([folder])
    assert checked.damaged == 1
    assert f"{first.name}: damaged, nothing can be read." in checked.lines[-1]


def test_a_folder_without_recordings_is_refused(tmp_path):
    with pytest.raises(SetUpFault, match="no recording"):
        verify([tmp_path])
