"""Recordings in their folder, and the digests of a machine's folder."""

import hashlib
import os

import pytest

from exhibit.facts.errors import RecordingFault
from exhibit.streams.recording import RecordingFolder, RecordingWriter, digests
from exhibit.streams.recording_files import last_crc
from tests.streams.samples import an_opening


def make(folder, wall, machine="whimbrel"):
    writer = RecordingWriter(folder, an_opening(machine=machine, wall=wall), reserve_bytes=4096)
    writer.close("", 0)
    return writer.path.name


def names(files):
    return [file.path.name for file in files]


def test_they_are_listed_by_date_whatever_the_offset(tmp_path):
    made = [
        make(tmp_path, "2026-10-25T00:30:00+00:00"),
        # The hour that comes twice: the file's name says an earlier time, its offset says later.
        make(tmp_path, "2026-10-25T02:50:00+02:00"),
        make(tmp_path, "2026-10-25T02:10:00+01:00"),
    ]
    folder = RecordingFolder(tmp_path)
    assert names(folder.recordings()) == made
    assert folder.newest().path.name == made[-1]


def test_a_computer_that_forgets_the_date_does_not_hide_the_newest(tmp_path):
    made = [
        make(tmp_path, "2026-10-25T09:30:00Z"),
        make(tmp_path, "1970-01-01T00:00:10Z"),
        make(tmp_path, "1970-01-01T00:00:10Z"),
        make(tmp_path, "2026-10-26T09:30:00Z"),
        make(tmp_path, "1970-01-01T00:00:09Z"),
    ]
    assert names(RecordingFolder(tmp_path).recordings()) == made


def test_a_chain_whose_beginning_was_taken_away_keeps_its_place(tmp_path):
    first = make(tmp_path, "2026-10-24T09:30:00Z")
    second = make(tmp_path, "2026-10-25T09:30:00Z")
    third = make(tmp_path, "2026-10-26T09:30:00Z")
    (tmp_path / second).unlink()
    assert names(RecordingFolder(tmp_path).recordings()) == [first, third]


def test_machines_are_kept_apart(tmp_path):
    make(tmp_path, "2026-10-25T09:30:00Z")
    heron = make(tmp_path, "2026-10-26T09:30:00Z", machine="heron")
    last = make(tmp_path, "2026-10-27T09:30:00Z")
    folder = RecordingFolder(tmp_path)
    assert folder.newest("heron").path.name == heron
    assert folder.newest().path.name == last
    assert folder.newest("curlew") is None


def test_a_new_recording_is_seen_when_asked_again(tmp_path):
    folder = RecordingFolder(tmp_path / "later")
    assert folder.newest() is None
    first = make(tmp_path / "later", "2026-10-25T09:30:00Z")
    assert folder.newest().path.name == first
    second = make(tmp_path / "later", "2026-10-26T09:30:00Z")
    assert folder.newest().path.name == second


def test_first_lines_are_read_once(tmp_path, monkeypatch):
    from exhibit.streams import recording_files

    made = [make(tmp_path, f"2026-10-{day}T09:30:00Z") for day in (24, 25, 26)]
    reads = []
    really_read = recording_files.read_opened
    monkeypatch.setattr(recording_files, "read_opened", lambda path: reads.append(path) or really_read(path))
    folder = RecordingFolder(tmp_path)
    for _ in range(5):
        assert names(folder.recordings()) == made
    assert len(reads) == 3


def test_what_is_no_recording_hides_no_other(tmp_path):
    good = make(tmp_path, "2026-10-25T09:30:00Z")
    (tmp_path / "empty.exhibit").write_bytes(b"")
    (tmp_path / "other.exhibit").write_bytes(b"hello\n")
    (tmp_path / "notes.txt").write_bytes(b"hello\n")
    (tmp_path / "folder.exhibit").mkdir()
    os.mkfifo(tmp_path / "pipe.exhibit")
    assert names(RecordingFolder(tmp_path).recordings()) == [good]


def test_the_last_checksum_is_that_of_the_last_whole_line(tmp_path):
    path = tmp_path / make(tmp_path, "2026-10-25T09:30:00Z")
    kept = path.read_bytes()
    assert last_crc(path) == kept[-11:-3].decode()
    for torn in kept[:-1], kept + b"half a line", kept + b'{"crc":"', kept + bytes(1000):
        path.write_bytes(torn)
        assert last_crc(path) in (kept[-11:-3].decode(), kept[: kept.rindex(b"\n", 0, -1)][-10:-2].decode())
    path.write_bytes(b"")
    assert last_crc(path) == ""


def test_digests_are_sha_256_by_name(tmp_path):
    (tmp_path / "captions").mkdir()
    (tmp_path / "captions" / "en.toml").write_bytes(b"abc")
    (tmp_path / "machine.toml").write_bytes(b"")
    (tmp_path / ".hidden").write_bytes(b"x")
    (tmp_path / "secrets.toml").write_bytes(b"x")
    (tmp_path / "loop").symlink_to(tmp_path)
    assert digests(tmp_path, leave_out=["secrets.toml"]) == {
        # FIPS 180-4 examples: SHA-256 of "abc"; that of nothing is NIST's too.
        "captions/en.toml": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
        "machine.toml": "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    }
    assert hashlib.sha256(b"x").hexdigest() not in digests(tmp_path, leave_out=["secrets.toml"]).values()


def test_a_folder_that_is_not_there_has_no_digests(tmp_path):
    with pytest.raises(RecordingFault, match="No such file"):
        digests(tmp_path / "none", leave_out=[])
