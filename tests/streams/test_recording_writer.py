"""What a writer writes to the disc."""

import errno
import os
import shutil
import threading

import pytest

from exhibit.facts import codec
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import BytesTyped, Entry, Heartbeat, RecordingClosed, RecordingOpened
from exhibit.streams import recording_writer, syncer
from exhibit.streams.recording import read_all, read_opened, writer_state
from exhibit.streams.recording_writer import RecordingWriter
from tests.streams.samples import a_recording, an_opening, some_facts

BEAT = Heartbeat(wall="2026-11-25T09:30:00+01:00")


@pytest.fixture
def writer(tmp_path):
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096)
    yield writer
    writer.abandon()


def test_everything_that_was_appended_is_read_back(tmp_path):
    writer = RecordingWriter(tmp_path, an_opening())
    entries = [writer.opened] + [writer.append(fact, at_us) for fact, at_us in some_facts(500)]
    entries.append(writer.close("done for today", 30_000_000))
    read = read_all(writer.path)
    assert read.entries == entries
    assert read.damages == []
    assert read.end.offset_bytes == writer.path.stat().st_size
    assert [entry.seq for entry in entries] == list(range(1, 503))
    assert entries[-1].fact == RecordingClosed(why="done for today")


def test_the_first_line_says_how_to_read_the_others(writer):
    opened = read_opened(writer.path)
    assert opened == writer.opened.fact
    assert opened.format == codec.FORMAT
    assert opened.how_to_read == codec.HOW_TO_READ


def test_a_fact_is_in_the_file_as_soon_as_append_returns(writer):
    for fact, at_us in some_facts(20):
        entry = writer.append(fact, at_us)
        assert read_all(writer.path).entries[-1] == entry


def test_each_fact_is_one_write(writer, monkeypatch):
    written = []
    monkeypatch.setattr(os, "write", lambda fd, data, write=os.write: written.append(data) or write(fd, data))
    for fact, at_us in some_facts(20):
        writer.append(fact, at_us)
    assert len(written) == 20
    assert all(line.endswith(b"\n") and line.count(b"\n") == 1 for line in written)


def test_times_never_go_back(writer):
    writer.append(BEAT, 5_000)
    assert writer.append(BEAT, 4_000).at_us == 5_000
    assert [entry.at_us for entry in read_all(writer.path).entries] == [0, 5_000, 5_000]


def test_the_file_is_named_after_machine_date_and_time(writer):
    assert writer.path.name == "whimbrel-2026-11-25T09-30-00.exhibit"


def test_a_machine_cannot_name_a_file_elsewhere(tmp_path):
    folder = tmp_path / "recordings"
    writer = RecordingWriter(folder, an_opening(machine="../Höhle 3/"), reserve_bytes=4096)
    writer.close("", 0)
    assert [path.name for path in folder.iterdir()] == ["h-hle-3-2026-11-25T09-30-00.exhibit"]


def test_two_recordings_of_the_same_second_are_two_files(tmp_path):
    names = []
    for _ in range(3):
        writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096)
        names.append(writer.path.name)
        writer.close("", 0)
    assert names == [f"whimbrel-2026-11-25T09-30-00{count}.exhibit" for count in ("", "-2", "-3")]


def test_a_recording_names_the_one_before_and_its_last_checksum(tmp_path):
    first = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096)
    first.close("", 0)
    other = RecordingWriter(tmp_path, an_opening(machine="heron"), reserve_bytes=4096)
    other.close("", 0)
    second = RecordingWriter(tmp_path, an_opening(wall="2026-11-26T09:30:00+01:00"), reserve_bytes=4096)
    second.close("", 0)
    assert (first.opened.fact.previous_file, first.opened.fact.previous_crc) == ("", "")
    assert (other.opened.fact.previous_file, other.opened.fact.previous_crc) == ("", "")
    assert second.opened.fact.previous_file == first.path.name
    assert second.opened.fact.previous_crc == read_all(first.path).end.crc


def test_after_a_torn_file_the_chain_goes_on_from_its_last_whole_line(tmp_path):
    torn = a_recording(tmp_path, 20)
    kept = torn.read_bytes()
    torn.write_bytes(kept[:-5])
    before = kept[: kept.rindex(b"\n", 0, -1)]
    writer = RecordingWriter(tmp_path, an_opening(wall="2026-11-26T09:30:00+01:00"), reserve_bytes=4096)
    writer.close("", 0)
    assert writer.opened.fact.previous_crc == before[-10:-2].decode()
    assert torn.read_bytes() == kept[:-5]


def test_nothing_can_be_appended_to_a_closed_recording(writer):
    writer.close("", 0)
    with pytest.raises(RecordingFault, match="closed"):
        writer.append(BEAT, 0)
    writer.abandon()
    assert read_all(writer.path).entries[-1].fact == RecordingClosed(why="")


def test_it_may_be_closed_again_without_harm(writer):
    writer.abandon()
    writer.abandon()
    assert writer_state(writer.path) == "gone"


def test_a_fact_that_cannot_be_written_stops_the_recording_for_good(writer):
    size_bytes = writer.path.stat().st_size
    with pytest.raises(RecordingFault) as first:
        writer.append(Heartbeat(wall=7), 0)
    with pytest.raises(RecordingFault) as second:
        writer.append(BEAT, 0)
    assert second.value is first.value
    assert writer.path.stat().st_size == size_bytes


@pytest.mark.parametrize("part_bytes", [0, 1, 30, 60])
def test_a_write_that_fails_half_way_leaves_no_half_line(writer, monkeypatch, part_bytes):
    before = writer.path.read_bytes()
    really_write = os.write

    def fails_half_way(fd, data, calls=[]):  # noqa: B006
        calls.append(data)
        if len(calls) == 1 and part_bytes:
            return really_write(fd, data[:part_bytes])
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    monkeypatch.setattr(os, "write", fails_half_way)
    with pytest.raises(RecordingFault, match="be written") as raised:
        writer.append(BytesTyped(bytes="R", count=1, by="script"), 0)
    assert "copy the recordings elsewhere" in raised.value.do
    assert writer.path.read_bytes() == before


def test_a_write_that_is_done_in_parts_makes_one_whole_line(writer, monkeypatch):
    really_write = os.write
    monkeypatch.setattr(os, "write", lambda fd, data: really_write(fd, data[:7]))
    entry = writer.append(BEAT, 0)
    assert read_all(writer.path).entries[-1] == entry


def test_an_interrupted_write_leaves_no_line_that_is_not_counted(writer, monkeypatch):
    really_write = os.write

    def is_interrupted(fd, data):
        really_write(fd, data)
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(os, "write", is_interrupted)
        with pytest.raises(KeyboardInterrupt):
            writer.append(BEAT, 0)
    entry = writer.append(BEAT, 0)
    read = read_all(writer.path)
    assert read.damages == []
    assert read.entries == [writer.opened, entry]
    assert entry.seq == 2


class SyncsSeen:
    """Replaces os.fdatasync: notes which thread called it, and lets the test wait for that."""

    def __init__(self, failure: OSError | None = None) -> None:
        self.threads: list[str] = []
        self.happened = threading.Semaphore(0)
        self.failure = failure

    def __call__(self, fd: int) -> None:
        self.threads.append(threading.current_thread().name)
        self.happened.release()
        if self.failure is not None:
            raise self.failure


def test_what_is_written_is_synced_by_a_thread_of_its_own(tmp_path, monkeypatch):
    syncs = SyncsSeen()
    monkeypatch.setattr(syncer.os, "fdatasync", syncs)
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096, sync_every_s=0.01)
    for _ in range(3):
        assert syncs.happened.acquire(timeout=60)
        writer.append(BEAT, 0)
    writer.close("", 0)
    assert set(syncs.threads) == {"recording sync"}
    # A quiet recording isn't synced needlessly: at most once more than there were writes.
    assert len(syncs.threads) <= 6


def test_the_last_facts_are_synced_when_it_is_closed(tmp_path, monkeypatch):
    syncs = SyncsSeen()
    monkeypatch.setattr(syncer.os, "fdatasync", syncs)
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096, sync_every_s=3600.0)
    assert syncs.threads == []
    writer.close("", 0)
    assert syncs.threads == ["recording sync"]


def test_it_syncs_more_often_than_once_a_second_by_itself():
    assert recording_writer.SYNC_EVERY_S < 1.0


def test_a_sync_that_fails_stops_the_recording(tmp_path, monkeypatch):
    syncs = SyncsSeen(OSError(errno.EIO, os.strerror(errno.EIO)))
    monkeypatch.setattr(syncer.os, "fdatasync", syncs)
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096, sync_every_s=0.01)
    assert syncs.happened.acquire(timeout=60)
    writer._syncer.stop()
    with pytest.raises(RecordingFault, match="Input/output error"):
        writer.append(BEAT, 0)
    writer.abandon()


@pytest.mark.parametrize("every_s", [0.001, 3600.0])
def test_a_recording_that_is_removed_while_it_is_written_stops_and_says_so(tmp_path, every_s):
    folder = tmp_path / "recordings"
    writer = RecordingWriter(folder, an_opening(), reserve_bytes=4096, sync_every_s=every_s)
    shutil.rmtree(folder)
    writer._syncer.stop()  # it checks once more
    with pytest.raises(RecordingFault, match="No such file") as caught:
        writer.append(BEAT, 0)
    assert "removed" in caught.value.do
    assert "look at the machine" in caught.value.why
    writer.abandon()


def test_a_recording_that_is_moved_while_it_is_written_goes_on(tmp_path):
    folder = tmp_path / "recordings"
    writer = RecordingWriter(folder, an_opening(), reserve_bytes=4096)
    folder.rename(tmp_path / "elsewhere")
    writer._syncer.stop()
    writer.close("over", 1)
    (moved,) = (tmp_path / "elsewhere").glob("*.exhibit")
    assert isinstance(list(read_all(moved).entries)[-1].fact, RecordingClosed)


def test_a_folder_that_cannot_be_made_is_one_clear_sentence(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(RecordingFault, match="Not a directory"):
        RecordingWriter(tmp_path / "file" / "recordings", an_opening())


def test_without_room_for_the_reserve_nothing_is_begun(tmp_path, monkeypatch):
    def is_full(fd, offset, length):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "posix_fallocate", is_full)
    with pytest.raises(RecordingFault, match="No space left") as raised:
        RecordingWriter(tmp_path, an_opening())
    assert "Free some space" in raised.value.do
    assert list(tmp_path.iterdir()) == []


def test_an_invalid_date_begins_no_recording(tmp_path):
    with pytest.raises(RecordingFault, match="date and time"):
        RecordingWriter(tmp_path, an_opening(wall="yesterday"))
    assert list(tmp_path.iterdir()) == []


def test_the_reserve_is_beside_the_recording_while_it_is_written(tmp_path):
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=64 * 1024)
    reserve = tmp_path / (writer.path.name + ".reserve")
    assert reserve.stat().st_blocks * 512 >= 64 * 1024
    writer.close("", 0)
    assert not reserve.exists()


def test_if_the_disc_cannot_reserve_room_it_is_filled_by_writing(tmp_path, monkeypatch):
    def is_not_offered(fd, offset, length):
        raise OSError(errno.EOPNOTSUPP, os.strerror(errno.EOPNOTSUPP))

    monkeypatch.setattr(os, "posix_fallocate", is_not_offered)
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=100_000)
    assert (tmp_path / (writer.path.name + ".reserve")).stat().st_size == 100_000
    writer.close("", 0)


def test_only_the_reserves_of_killed_writers_are_removed(tmp_path, writer):
    living = tmp_path / (writer.path.name + ".reserve")
    record_of_the_dead = tmp_path / "whimbrel-2026-11-24T09-30-00.exhibit"
    record_of_the_dead.write_text("")
    dead = tmp_path / (record_of_the_dead.name + ".reserve")
    dead.write_bytes(bytes(100))
    orphan = tmp_path / "whimbrel-2026-11-23T09-30-00.exhibit.reserve"
    orphan.write_bytes(bytes(100))
    other = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096)
    other.close("", 0)
    assert living.exists()
    assert not dead.exists()
    assert not orphan.exists()


def test_append_returns_the_fact_as_an_entry(writer):
    assert writer.append(BEAT, 3) == Entry(2, 3, BEAT)
    assert isinstance(writer.opened.fact, RecordingOpened)
