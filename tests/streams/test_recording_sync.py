"""What remains after a power cut: everything is on the disc before anything relies on it."""

import errno
import os
import threading
from pathlib import Path

import pytest

from exhibit.facts.kinds import Heartbeat, RecordingClosed
from exhibit.streams import recording_lock
from exhibit.streams.recording import read_all
from exhibit.streams.recording_writer import RecordingWriter
from tests.streams.samples import an_opening

BEAT = Heartbeat(wall="2026-11-25T09:30:00+01:00")
LONG_S = 60
"""Longer than anything here takes, unless the computer stalls."""


class Disc:
    """Knows what would remain after a power cut: what was written to a file before its last sync began."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.bytes_of: dict[str, int] = {}
        """By a file's name."""
        self.names_in: dict[Path, set[str]] = {}
        """By folder."""
        self.syncing = threading.Event()
        """Set at the next sync, which then waits for `go_on`; both are set unless a test uses them."""
        self.go_on = threading.Event()
        self.syncing.set()
        for name in ("fdatasync", "fsync"):
            monkeypatch.setattr(os, name, self._synced(getattr(os, name)))

    def _synced(self, really_sync):
        def sync(fd: int) -> None:
            path = Path(os.readlink(f"/proc/self/fd/{fd}"))
            size_bytes = os.stat(fd).st_size
            names = set(os.listdir(path)) if path.is_dir() else set()
            if not self.syncing.is_set():
                self.syncing.set()
                assert self.go_on.wait(LONG_S)
            really_sync(fd)
            if path.is_dir():
                self.names_in[path] = names
            else:
                self.bytes_of[path.name] = size_bytes

        return sync


@pytest.fixture
def disc(monkeypatch):
    return Disc(monkeypatch)


def test_what_is_written_during_a_sync_is_synced_by_the_next_one(tmp_path, disc):
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096, sync_every_s=0.001)
    disc.syncing.clear()
    writer.append(BEAT, 0)
    assert disc.syncing.wait(LONG_S)
    writer.append(BEAT, 1)
    disc.go_on.set()
    writer._syncer.stop()
    assert disc.bytes_of[writer.path.name] == writer.path.stat().st_size
    writer.abandon()


def test_a_line_that_is_slow_to_write_counts_as_written_only_then(tmp_path, disc, monkeypatch):
    """Otherwise it would count as synced by a sync that began before it was written."""
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096, sync_every_s=0.001)
    looks = threading.Semaphore(0)
    really_write, really_look = os.write, os.fstat

    def look(fd):
        looks.release()
        return really_look(fd)

    def write_slowly(fd, data):
        monkeypatch.setattr(os, "fstat", look)  # as the syncer does before each sync
        for _ in range(2):
            assert looks.acquire(timeout=LONG_S)
        return really_write(fd, data)

    with monkeypatch.context() as patch:
        patch.setattr(os, "write", write_slowly)
        writer.append(BEAT, 0)
    writer._syncer.stop()
    assert disc.bytes_of[writer.path.name] == writer.path.stat().st_size
    writer.abandon()


def test_a_recording_lets_go_of_its_lock_when_all_of_it_is_on_the_disc(tmp_path, disc, monkeypatch):
    """Whoever then reads that it was closed properly relies on what it says."""
    really_release, kept_bytes = recording_lock.release, []
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096, sync_every_s=3600.0)

    def look_first(fd):
        kept_bytes.append(disc.bytes_of.get(writer.path.name, 0))
        really_release(fd)

    monkeypatch.setattr(recording_lock, "release", look_first)
    writer.append(BEAT, 0)
    writer.close("done", 1)
    assert kept_bytes == [writer.path.stat().st_size]
    assert read_all(writer.path).entries[-1].fact == RecordingClosed(why="done")


def test_the_name_of_a_recording_is_on_the_disc_before_anything_is_appended(tmp_path, disc):
    museum = tmp_path / "museum"
    writer = RecordingWriter(museum / "recordings", an_opening(), reserve_bytes=4096)
    assert writer.path.name in disc.names_in[museum / "recordings"]
    writer.abandon()


def test_so_are_the_names_of_the_folders_that_were_made_for_it(tmp_path, disc):
    museum = tmp_path / "museum"
    writer = RecordingWriter(museum / "recordings", an_opening(), reserve_bytes=4096)
    assert "museum" in disc.names_in[tmp_path]
    assert "recordings" in disc.names_in[museum]
    writer.abandon()


def test_a_reserve_that_is_taken_by_writing_is_really_taken_before_the_first_line(
    tmp_path, disc, monkeypatch
):
    """Until it is synced, the system may not yet know that there isn't enough room."""
    really_write, kept_bytes = os.write, []

    def is_not_offered(fd, offset, length):
        raise OSError(errno.EOPNOTSUPP, os.strerror(errno.EOPNOTSUPP))

    def look_first(fd, data):
        if bytes(data[:7]) == b'{"seq":':
            kept_bytes.append(sum(disc.bytes_of.values()))
        return really_write(fd, data)

    monkeypatch.setattr(os, "posix_fallocate", is_not_offered)
    monkeypatch.setattr(os, "write", look_first)
    RecordingWriter(tmp_path, an_opening(), reserve_bytes=100_000).abandon()
    assert kept_bytes == [100_000]
