"""A full disc: the reserve has room for the tidy-up, then the recording ends with its last complete line."""

import errno
import os
import resource
import subprocess
import sys
from pathlib import Path

import pytest

from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import BytesReceived, Heartbeat, RecordingClosed, RecordNearlyFull
from exhibit.streams.recording import RecordingWriter, read_all
from tests.streams.full_disc import FullDisc
from tests.streams.samples import an_opening, some_facts
from tests.streams.small_disc import fill
from tests.streams.small_disc import small_disc as mounted_disc

ROOT = Path(__file__).resolve().parents[2]
RESERVE_BYTES = 128 * 1024


@pytest.fixture
def small_disc(tmp_path, needs):
    """A file system of 1 MiB."""
    with mounted_disc(tmp_path, needs, "1m") as disc:
        yield disc


def until_nearly_full(writer):
    """Append until the reserve is used, and then the fact about that. Returns all entries."""
    entries = [writer.opened]
    for fact, at_us in some_facts(100_000):
        entries.append(writer.append(fact, at_us))
        if (nearly_full := writer.take_nearly_full()) is not None:
            return [*entries, writer.append(nearly_full, at_us)]
    raise AssertionError("the disc was never full")


def append_all(writer, entries):
    for fact, at_us in some_facts(100_000):
        entries.append(writer.append(fact, at_us))


def test_when_the_disc_is_full_the_reserve_is_used_and_it_is_said_once(small_disc):
    writer = RecordingWriter(small_disc, an_opening(), reserve_bytes=RESERVE_BYTES)
    entries = until_nearly_full(writer)
    assert 0 < entries[-1].fact.left_bytes <= RESERVE_BYTES
    assert entries[-1].seq == entries[-2].seq + 1
    # Then the tidy-up is recorded as ever.
    for fact, at_us in some_facts(100):
        entries.append(writer.append(fact, at_us))
    assert writer.take_nearly_full() is None
    entries.append(writer.close("the disc is full", 10**12))
    read = read_all(writer.path)
    assert read.damages == []
    assert read.entries == entries
    assert read.entries[-1].fact == RecordingClosed(why="the disc is full")


def test_when_the_reserve_is_used_too_it_stops_with_its_last_whole_line(small_disc):
    writer = RecordingWriter(small_disc, an_opening(), reserve_bytes=RESERVE_BYTES)
    entries = until_nearly_full(writer)
    with pytest.raises(RecordingFault, match="No space left") as raised:
        append_all(writer, entries)
    assert "types nothing more" in raised.value.why
    read = read_all(writer.path)
    assert read.damages == []
    assert read.entries == entries
    # The reserve really carried something: about as many bytes as it had.
    nearly = next(entry for entry in entries if isinstance(entry.fact, RecordNearlyFull))
    assert len(entries) - nearly.seq > RESERVE_BYTES * 0.8 / 150
    # Room that comes back doesn't hide the gap: that takes a new recording.
    with pytest.raises(RecordingFault, match="No space left"):
        writer.append(Heartbeat(wall="2026-11-25T09:30:00+01:00"), 0)
    writer.abandon()
    assert read_all(writer.path).entries == entries


def test_a_full_disc_begins_no_recording_and_leaves_nothing(small_disc):
    fill(small_disc)
    with pytest.raises(RecordingFault, match=r"can't be created: No space left"):
        RecordingWriter(small_disc, an_opening(), reserve_bytes=RESERVE_BYTES)
    assert [path.name for path in small_disc.iterdir()] == ["filler"]


HITS_A_LIMIT = """
import resource, sys
from pathlib import Path
from exhibit.facts.errors import RecordingFault
from exhibit.streams.recording_writer import RecordingWriter
from tests.streams.samples import an_opening, some_facts
writer = RecordingWriter(Path(sys.argv[1]), an_opening(), reserve_bytes=4096)
resource.setrlimit(resource.RLIMIT_FSIZE, (20_011, 20_011))
entry = writer.opened
try:
    for fact, at_us in some_facts(10_000):
        entry = writer.append(fact, at_us)
except RecordingFault as fault:
    print(writer.path, entry.seq, fault.what, sep="|")
    sys.exit(7)
"""


def test_a_limit_on_the_size_of_a_file_cuts_no_line_in_two(tmp_path):
    """Here the operating system really writes part of the last line, and then refuses the rest."""
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] > 20_011 or resource.RLIM_INFINITY < 0
    done = subprocess.run(
        [sys.executable, "-c", HITS_A_LIMIT, tmp_path], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 7, done.stderr
    path, seq, what = done.stdout.strip().split("|")
    assert os.strerror(errno.EFBIG) in what
    read = read_all(Path(path))
    assert read.damages == []
    assert len(read.entries) == int(seq)
    assert read.end.offset_bytes == Path(path).stat().st_size < 20_011


@pytest.mark.parametrize("part_bytes", [0, 1, 60])
def test_a_disc_that_is_full_for_once_goes_on_with_the_same_fact(tmp_path, monkeypatch, part_bytes):
    """As on the small disc, but without mounting one."""
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096)
    reserve = tmp_path / (writer.path.name + ".reserve")
    really_write = os.write
    refusals = []

    def is_full_until_the_reserve_is_gone(fd, data):
        if not reserve.exists():
            return really_write(fd, data)
        refusals.append(data)
        if part_bytes and len(refusals) == 1:
            return really_write(fd, data[:part_bytes])
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "write", is_full_until_the_reserve_is_gone)
    fact = BytesReceived(bytes="x" * 100, first_us=0)
    assert writer.take_nearly_full() is None
    entry = writer.append(fact, 5)
    assert isinstance(writer.take_nearly_full(), RecordNearlyFull)
    writer.close("done", 6)
    read = read_all(writer.path)
    assert [kept.fact for kept in read.entries[1:]] == [fact, RecordingClosed(why="done")]
    assert entry.seq == 2
    assert read.damages == []


def test_a_recording_begins_with_its_opening_though_the_disc_is_full_from_the_first_line_on(
    tmp_path, monkeypatch
):
    FullDisc(monkeypatch).fills_at = 1
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096)
    writer.close("done", 6)
    assert [entry.fact for entry in read_all(writer.path).entries] == [
        writer.opened.fact,
        RecordingClosed(why="done"),
    ]
    assert isinstance(writer.take_nearly_full(), RecordNearlyFull)
