"""Recordings in their folder, and the digests of a machine's folder."""

import hashlib
import os
import time

import pytest

from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Heartbeat
from exhibit.streams import recording_files
from exhibit.streams.recording import RecordingFolder, RecordingWriter, digests
from exhibit.streams.recording_files import last_crc, no_recording
from tests.streams.samples import a_recording, an_opening


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


class Work:
    """How often folders were listed, and which first lines were read."""

    def __init__(self, monkeypatch):
        self.listings = 0
        self.first_lines = []
        self._really_list, self._really_read = os.scandir, recording_files.read_opened
        monkeypatch.setattr(os, "scandir", self._list)
        monkeypatch.setattr(recording_files, "read_opened", self._read)

    def _list(self, path):
        self.listings += 1
        return self._really_list(path)

    def _read(self, path):
        self.first_lines.append(path.name)
        return self._really_read(path)


@pytest.fixture
def work(monkeypatch):
    return Work(monkeypatch)


def settle(folder):
    """As if nothing had been created, renamed or removed there for an hour."""
    an_hour_ago = time.time() - 3600
    os.utime(folder, (an_hour_ago, an_hour_ago))


def test_a_folder_in_which_nothing_changes_is_listed_once_and_each_first_line_is_read_once(tmp_path, work):
    made = [make(tmp_path, f"2026-10-{day}T09:30:00Z") for day in range(10, 30)]
    settle(tmp_path)
    folder = RecordingFolder(tmp_path)
    work.listings = 0
    work.first_lines.clear()
    for _ in range(50):
        assert names(folder.recordings()) == made
        assert folder.newest().path.name == made[-1]
    assert (work.listings, sorted(work.first_lines)) == (1, made)


def test_a_recording_that_is_new_costs_one_listing_and_one_first_line(tmp_path, work):
    for day in range(10, 30):
        make(tmp_path, f"2026-10-{day}T09:30:00Z")
    settle(tmp_path)
    folder = RecordingFolder(tmp_path)
    folder.newest()
    new = make(tmp_path, "2026-10-30T09:30:00Z")
    work.listings = 0
    work.first_lines.clear()
    assert folder.newest().path.name == new
    assert (work.listings, work.first_lines) == (1, [new])


def test_what_is_appended_to_a_recording_costs_no_listing(tmp_path, work):
    make(tmp_path, "2026-10-25T09:30:00Z")
    writer = RecordingWriter(tmp_path, an_opening(wall="2026-10-26T09:30:00Z"), reserve_bytes=4096)
    settle(tmp_path)
    folder = RecordingFolder(tmp_path)
    folder.newest()
    work.listings = 0
    for at_us in range(50):
        writer.append(Heartbeat(wall="2026-10-26T09:30:00Z"), at_us)
        assert folder.newest().path == writer.path
    writer.abandon()
    assert work.listings == 0


def test_of_many_recordings_the_first_lines_can_be_read_a_few_at_a_time(tmp_path, work):
    made = [make(tmp_path, f"2026-10-{day}T09:30:00Z") for day in range(10, 30)]
    folder = RecordingFolder(tmp_path)
    work.first_lines.clear()
    turns = 1
    while folder.read_on(3):
        assert len(work.first_lines) == 3 * turns
        turns += 1
    assert turns == 7
    assert folder.newest().path.name == made[-1]
    assert len(work.first_lines) == 20


def test_a_recording_made_in_the_same_moment_as_the_listing_is_found(tmp_path):
    """Some file systems keep a folder's time in whole seconds."""
    make(tmp_path, "2026-10-25T09:30:00Z")
    folder, now_s = RecordingFolder(tmp_path), int(time.time())
    os.utime(tmp_path, (now_s, now_s))
    folder.newest()
    second = make(tmp_path, "2026-10-26T09:30:00Z")
    os.utime(tmp_path, (now_s, now_s))
    assert folder.newest().path.name == second


def test_a_recording_whose_first_line_is_still_being_written_is_found_once_it_is_whole(tmp_path):
    first = make(tmp_path, "2026-10-25T09:30:00Z")
    second = make(tmp_path, "2026-10-26T09:30:00Z")
    whole = (tmp_path / second).read_bytes()
    settled = RecordingFolder(tmp_path)
    for written in (b"", whole[:100]):
        (tmp_path / second).write_bytes(written)
        settle(tmp_path)
        assert settled.newest().path.name == first
    (tmp_path / second).write_bytes(whole)
    settle(tmp_path)
    assert settled.newest().path.name == second


def test_a_recording_that_is_replaced_by_another_is_read_again(tmp_path):
    path = tmp_path / make(tmp_path, "2026-10-25T09:30:00Z")
    folder = RecordingFolder(tmp_path)
    assert folder.newest("whimbrel").path == path
    (tmp_path / "apart").mkdir()
    other = tmp_path / "apart" / make(tmp_path / "apart", "2026-10-25T09:30:00Z", machine="heron")
    other.replace(path)
    assert folder.newest("whimbrel") is None
    assert folder.newest("heron").path == path


def test_a_recording_that_is_taken_away_is_no_longer_the_newest(tmp_path):
    first = make(tmp_path, "2026-10-25T09:30:00Z")
    second = make(tmp_path, "2026-10-26T09:30:00Z")
    folder = RecordingFolder(tmp_path)
    assert folder.newest().path.name == second
    (tmp_path / second).unlink()
    assert folder.newest().path.name == first


def test_the_recording_that_continues_another_is_found_by_its_name(tmp_path):
    first = make(tmp_path, "2026-10-25T09:30:00Z")
    folder = RecordingFolder(tmp_path)
    assert folder.next_after(first) is None
    make(tmp_path, "2026-10-25T10:30:00Z", machine="heron")
    second = make(tmp_path, "2026-10-26T00:00:00Z")
    third = make(tmp_path, "2026-10-27T00:00:00Z")
    assert folder.next_after(first).path.name == second
    assert folder.next_after(second).path.name == third
    assert folder.next_after(third) is None


def test_a_file_that_is_not_a_recording_hides_no_other(tmp_path):
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


def test_where_there_is_none_the_folders_inside_that_hold_some_are_named(tmp_path):
    for name in ("b", "a", "d", "c"):
        a_recording(tmp_path / name, [])
    (tmp_path / "empty").mkdir()
    fault = no_recording([tmp_path], "So it is.", "whimbrel")
    assert fault.what == f"There is no recording of whimbrel in {tmp_path}."
    assert f"{tmp_path / 'a'}, {tmp_path / 'b'}, {tmp_path / 'c'} and others" in fault.do
    assert "empty" not in fault.do
    assert "a folder that holds some" in no_recording([tmp_path / "empty", tmp_path / "gone"], "").do
