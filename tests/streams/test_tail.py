"""Following a recording while it grows."""

import os

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Heartbeat, RecordingClosed
from exhibit.streams.recording import RecordingWriter, Tail, find_seq, read_all
from tests.streams.samples import a_recording, an_opening, some_facts

BEAT = Heartbeat(wall="2026-11-25T09:30:00+01:00")


@pytest.fixture
def writer(tmp_path):
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096)
    yield writer
    writer.abandon()


@pytest.fixture
def tail(writer):
    tail = Tail(writer.path)
    yield tail
    tail.close()


def test_each_fact_is_seen_once_as_soon_as_it_is_appended(writer, tail):
    assert tail.read_new() == [writer.opened]
    assert tail.read_new() == []
    for fact, at_us in some_facts(30):
        entry = writer.append(fact, at_us)
        assert tail.read_new() == [entry]
        assert tail.read_new() == []


def test_two_readers_and_a_writer_do_not_disturb_each_other(writer, tail):
    other = Tail(writer.path)
    expected = [writer.opened]
    seen, seen_by_other = [], []
    for number, (fact, at_us) in enumerate(some_facts(200)):
        expected.append(writer.append(fact, at_us))
        if number % 3 == 0:
            seen += tail.read_new()
        if number % 7 == 0:
            seen_by_other += other.read_new(most=5)
    seen += tail.read_new()
    while new := other.read_new(most=5):
        seen_by_other += new
    other.close()
    assert tail.writer_state() == "writing"
    assert seen == seen_by_other == expected
    assert tail.position == read_all(writer.path).end


def test_no_more_entries_are_given_than_were_asked_for(writer, tail):
    for fact, at_us in some_facts(30):
        writer.append(fact, at_us)
    found = []
    while new := tail.read_new(most=7):
        assert len(new) <= 7
        found += new
    assert found == read_all(writer.path).entries


def test_it_can_begin_in_the_middle(writer):
    for fact, at_us in some_facts(30):
        writer.append(fact, at_us)
    tail = Tail(writer.path, find_seq(writer.path, 20))
    assert [entry.seq for entry in tail.read_new()] == list(range(20, 32))
    assert tail.position == read_all(writer.path).end
    tail.close()


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(cuts=st.lists(st.integers(0, 10**6), max_size=20))
def test_how_the_file_grew_makes_no_difference(tmp_path, cuts):
    whole = tmp_path / "whole"
    if not whole.exists():
        a_recording(tmp_path / "recordings", 60).rename(whole)
    kept = whole.read_bytes()
    growing = tmp_path / "growing"
    growing.write_bytes(b"")
    tail = Tail(growing)
    found = []
    with growing.open("ab", buffering=0) as file:
        before = 0
        for cut in sorted({cut % len(kept) for cut in cuts} | {len(kept)}):
            file.write(kept[before:cut])
            before = cut
            found += tail.read_new()
    tail.close()
    assert found == read_all(whole).entries
    assert tail.damages == []


def test_half_a_line_that_is_cut_off_again_is_never_read(writer, tail):
    """What happens when the disc is full: the writer cuts half a line off and writes another one."""
    assert tail.read_new() == [writer.opened]
    with writer.path.open("ab") as file:
        file.write(b'{"seq":2,"at_us":0,"fact":"heartbeat","wall":"half a l')
    assert tail.read_new() == []
    os.truncate(writer.path, writer._size_bytes)
    entry = writer.append(BEAT, 0)
    assert tail.read_new() == [entry]
    assert tail.damages == []


def test_an_empty_file_is_read_once_it_has_content(tmp_path):
    path = tmp_path / "new"
    path.write_bytes(b"")
    tail = Tail(path)
    assert tail.read_new() == []
    path.write_bytes(a_recording(tmp_path / "recordings", 1).read_bytes())
    assert len(tail.read_new()) == 3
    tail.close()


def test_a_file_that_became_shorter_is_a_fault(writer, tail):
    tail.read_new()
    os.truncate(writer.path, 10)
    with pytest.raises(RecordingFault, match="shorter"):
        tail.read_new()


def test_a_recording_may_be_moved_while_it_is_followed(writer, tail, tmp_path):
    tail.read_new()
    writer.path.rename(tmp_path / "moved")
    entry = writer.append(BEAT, 0)
    assert tail.read_new() == [entry]


def test_the_end_of_the_writer_is_noticed(writer, tail):
    assert tail.writer_state() == "writing"
    writer.close("done", 0)
    assert tail.writer_state() == "gone"
    assert tail.read_new()[-1].fact == RecordingClosed(why="done")


def test_damage_is_listed_and_skipped(tmp_path):
    path = a_recording(tmp_path / "recordings", 300)
    content = bytearray(path.read_bytes())
    for at in range(4000, len(content), 4000):
        content[at] ^= 4
    path.write_bytes(content)
    whole = read_all(path)
    assert len(whole.damages) > 3
    tail = Tail(path)
    found = []
    while new := tail.read_new(most=10):
        found += new
    assert found == whole.entries
    assert tail.damages == whole.damages
    tail.close()
