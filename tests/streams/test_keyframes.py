"""Keyframes: a seek gives the same view as reading everything, whatever is in the cache."""

import os
import random
import sys
import zlib
from pathlib import Path

import pytest

from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import BytesReceived, Entry
from exhibit.streams import keyframe_cache
from exhibit.streams.keyframe_cache import default_cache_folder
from exhibit.streams.keyframes import EVERY_RECEIVED_BYTES, EVERY_US, Keyframes
from exhibit.streams.recording import START, RecordingWriter, read, read_all
from tests.streams.samples import a_recording, an_opening, some_facts

COUNT = 9000
"""Facts, one every 40 ms: six minutes."""


class Tally:
    """A view whose state is different for every series of entries."""

    applied = 0
    """By all of them together."""

    def __init__(self) -> None:
        self.count = 0
        self.sum = 0

    def apply(self, entry: Entry) -> None:
        Tally.applied += 1
        self.count += 1
        self.sum = zlib.crc32(repr(entry).encode(), self.sum)

    def snapshot(self) -> object:
        return {"count": self.count, "sum": self.sum}

    def restore(self, snapshot) -> None:
        self.count, self.sum = snapshot["count"], snapshot["sum"]

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Tally) and self.snapshot() == other.snapshot()

    __hash__ = None


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return a_recording(tmp_path_factory.mktemp("recordings"), COUNT)


@pytest.fixture(scope="module")
def entries(path):
    return read_all(path).entries


@pytest.fixture
def cache(tmp_path):
    return tmp_path / "cache"


def folded(entries) -> Tally:
    view = Tally()
    for entry in entries:
        view.apply(entry)
    return view


def frames_of(path: Path, cache: Path, version: str = "tally 1") -> Keyframes[Tally]:
    return Keyframes(path, Tally, version, cache)


def applied_by(work) -> int:
    before = Tally.applied
    work()
    return Tally.applied - before


def the_file(cache: Path) -> Path:
    (only,) = cache.iterdir()
    return only


def test_a_seek_by_number_gives_the_view_that_reading_everything_gives(path, entries, cache):
    frames = frames_of(path, cache)
    chance = random.Random(5)
    for seq in [1, 2, COUNT, *(chance.randrange(1, COUNT) for _ in range(25))]:
        found = frames.seek(seq=seq)
        assert found.view == folded(entries[:seq])
        assert found.position.seq == seq
        assert next(iter(read(path, found.position))) == entries[seq]


def test_a_seek_by_time_includes_all_of_that_time(path, entries, cache):
    frames = frames_of(path, cache)
    frames.seek(seq=sys.maxsize)
    chance = random.Random(6)
    for _ in range(25):
        at_us = chance.choice(entries).at_us + chance.choice([-1, 0, 1])
        expected = [entry for entry in entries if entry.at_us <= at_us]
        found = frames.seek(at_us=at_us)
        assert found.view == folded(expected)
        assert found.position.seq == len(expected)


def test_before_the_first_and_behind_the_last_entry(path, entries, cache):
    frames = frames_of(path, cache)
    assert frames.seek(seq=0).view == Tally()
    assert frames.seek(at_us=-1).position.seq == 0
    end = frames.seek(seq=10**12)
    assert end.view == folded(entries)
    assert end.position == read_all(path).end


def test_with_keyframes_a_seek_applies_at_most_a_minute_of_entries(path, cache):
    frames_of(path, cache).seek(seq=sys.maxsize)
    frames = frames_of(path, cache)
    a_minute = EVERY_US // 40_000
    for seq in (1, a_minute + 5, COUNT // 2, COUNT):
        assert applied_by(lambda seq=seq: frames.seek(seq=seq)) <= a_minute + 1


def test_where_much_is_received_keyframes_are_closer_together(tmp_path, cache):
    text = "x" * 250
    facts = [(BytesReceived(bytes=text, first_us=number), number) for number in range(3000)]
    path = a_recording(tmp_path / "dense", facts)
    frames_of(path, cache).seek(seq=sys.maxsize)
    frames = frames_of(path, cache)
    assert applied_by(lambda: frames.seek(seq=2900)) <= EVERY_RECEIVED_BYTES // 250 + 1


def test_saved_keyframes_serve_the_next_process(path, cache):
    frames_of(path, cache).seek(seq=sys.maxsize)
    assert applied_by(lambda: frames_of(path, cache).seek(seq=COUNT)) < COUNT / 3
    assert the_file(cache).suffix == ".keyframes"


def test_nothing_is_written_beside_the_recording(path, cache):
    before = sorted(path.parent.iterdir())
    frames_of(path, cache).seek(seq=sys.maxsize)
    assert sorted(path.parent.iterdir()) == before


def test_a_recording_that_grows_gets_more_keyframes_and_keeps_the_old(tmp_path, cache):
    writer = RecordingWriter(tmp_path / "growing", an_opening(), reserve_bytes=4096)
    facts = some_facts(COUNT)
    for fact, at_us in facts[: COUNT // 2]:
        writer.append(fact, at_us)
    frames = frames_of(writer.path, cache)
    frames.seek(seq=sys.maxsize)
    for fact, at_us in facts[COUNT // 2 :]:
        writer.append(fact, at_us)
    assert applied_by(lambda: frames.seek(seq=sys.maxsize)) < COUNT * 0.7
    expected = folded(read_all(writer.path).entries)
    assert frames_of(writer.path, cache).seek(seq=COUNT * 2).view == expected
    writer.abandon()


def test_a_corrupt_cache_is_rebuilt_whatever_byte_is_wrong(path, entries, cache):
    frames_of(path, cache).seek(seq=sys.maxsize)
    file = the_file(cache)
    kept = file.read_bytes()
    chance = random.Random(8)
    expected = folded(entries[:8000])
    for at in [0, 31, 32, 33, len(kept) - 1, *(chance.randrange(len(kept)) for _ in range(5))]:
        content = bytearray(kept)
        content[at] ^= 0x10
        file.write_bytes(content)
        assert frames_of(path, cache).seek(seq=8000).view == expected
        assert file.read_bytes() != bytes(content)
    for content in b"", b"x", kept[:-1], kept[:40], kept + b"\x00":
        file.write_bytes(content)
        assert frames_of(path, cache).seek(seq=8000).view == expected


def test_a_cache_of_another_recording_of_the_same_name_is_not_used(path, cache, tmp_path):
    frames_of(path, cache).seek(seq=sys.maxsize)
    other = a_recording(tmp_path / "other", 8000)
    content = other.read_bytes()
    other.write_bytes(content.replace(b"The Whimbrel", b"The whimbrel", 1))
    # The same first line but other facts behind it: an altered copy.
    altered = tmp_path / "altered.exhibit"
    writer = RecordingWriter(tmp_path / "altered", an_opening(), reserve_bytes=4096)
    for fact, at_us in some_facts(COUNT):
        writer.append(BytesReceived(bytes="z", first_us=0) if at_us == 4_000_000 else fact, at_us)
    writer.close("", 0)
    writer.path.rename(altered)
    assert altered.read_bytes().split(b"\n")[0] == path.read_bytes().split(b"\n")[0]
    assert frames_of(altered, cache).seek(seq=8000).view == folded(read_all(altered).entries[:8000])


def test_a_recording_that_was_cut_short_since_is_not_shown_longer(path, entries, cache, tmp_path):
    copy = tmp_path / "copy.exhibit"
    copy.write_bytes(path.read_bytes())
    frames_of(copy, cache).seek(seq=sys.maxsize)
    os.truncate(copy, copy.stat().st_size // 2)
    left = read_all(copy).entries
    found = frames_of(copy, cache).seek(seq=COUNT)
    assert found.view == folded(left)
    assert found.position == read_all(copy).end


def test_keyframes_of_another_version_of_the_view_are_not_used(path, cache):
    frames_of(path, cache).seek(seq=sys.maxsize)
    assert applied_by(lambda: frames_of(path, cache, "tally 2").seek(seq=COUNT)) == COUNT
    assert len(list(cache.iterdir())) == 2


def test_a_snapshot_that_the_view_cannot_use_is_ignored(path, entries, cache):
    class Picky(Tally):
        def restore(self, snapshot) -> None:
            super().restore({"count": 1, "sum": 1})
            raise KeyError("changed")

    frames_of(path, cache).seek(seq=sys.maxsize)
    found = Keyframes(path, Picky, "tally 1", cache).seek(seq=5000)
    assert found.view == folded(entries[:5000])


def test_a_view_that_cannot_be_kept_just_now_is_kept_a_little_later(path, entries, cache):
    class Seldom(Tally):
        def snapshot(self) -> object:
            return super().snapshot() if self.count % 10 == 3 else None

    frames = Keyframes(path, Seldom, "seldom 1", cache)
    frames.seek(seq=sys.maxsize)
    before = Tally.applied
    found = Keyframes(path, Seldom, "seldom 1", cache).seek(seq=8000)
    assert Tally.applied - before < COUNT / 3
    assert (found.view.count, found.view.sum) == (folded(entries[:8000]).count, folded(entries[:8000]).sum)


def test_it_works_where_nothing_may_be_written(path, entries, tmp_path):
    in_the_way = tmp_path / "a file"
    in_the_way.write_text("")
    frames = frames_of(path, in_the_way / "cache")
    frames.seek(seq=sys.maxsize)
    assert frames.seek(seq=7000).view == folded(entries[:7000])
    # And what was built is remembered while it runs.
    assert applied_by(lambda: frames.seek(seq=7000)) < COUNT / 3


def test_a_recording_that_may_only_be_read_works(path, entries, cache, tmp_path):
    folder = tmp_path / "read only"
    folder.mkdir()
    copy = folder / path.name
    copy.write_bytes(path.read_bytes())
    copy.chmod(0o444)
    folder.chmod(0o555)
    assert frames_of(copy, cache).seek(seq=7000).view == folded(entries[:7000])
    folder.chmod(0o755)


def test_two_readers_at_once_leave_a_whole_cache(path, entries, cache):
    first, second = frames_of(path, cache), frames_of(path, cache)
    first.seek(seq=4000)
    second.seek(seq=sys.maxsize)
    first.seek(seq=6000)
    assert frames_of(path, cache).seek(seq=COUNT).view == folded(entries[:COUNT])
    assert len(list(cache.iterdir())) == 1


def test_damage_in_the_recording_is_counted_in_the_place_found(path, cache, tmp_path):
    copy = tmp_path / "copy.exhibit"
    content = bytearray(path.read_bytes())
    content[len(content) // 3] ^= 1
    copy.write_bytes(content)
    whole = read_all(copy).entries
    for frames in frames_of(copy, cache), frames_of(copy, cache):
        found = frames.seek(seq=8000)
        assert found.position.damages == 1
        assert found.view == folded([entry for entry in whole if entry.seq <= 8000])


def test_a_seek_needs_one_aim(path, cache):
    for aim in {}, {"seq": 1, "at_us": 1}:
        with pytest.raises(TypeError):
            frames_of(path, cache).seek(**aim)


def test_a_file_that_is_not_a_recording_is_a_fault(tmp_path, cache):
    (tmp_path / "other").write_text("hello\n")
    with pytest.raises(RecordingFault):
        frames_of(tmp_path / "other", cache).seek(seq=1)


def test_the_cache_is_where_the_desktop_standard_says(monkeypatch, tmp_path):
    # XDG Base Directory Specification: $XDG_CACHE_HOME, if absolute, else $HOME/.cache.
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    assert default_cache_folder() == tmp_path / ".cache" / "exhibit"
    monkeypatch.setenv("XDG_CACHE_HOME", "/var/tmp/c")
    assert default_cache_folder() == Path("/var/tmp/c/exhibit")
    monkeypatch.setenv("XDG_CACHE_HOME", "not/absolute")
    assert default_cache_folder() == tmp_path / ".cache" / "exhibit"


def test_a_user_without_a_home_has_no_saved_keyframes(monkeypatch, path, entries):
    def has_none():
        raise RuntimeError("no home")

    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setattr(keyframe_cache.Path, "home", has_none)
    assert default_cache_folder() is None
    assert Keyframes(path, Tally, "tally 1").seek(seq=10).view == folded(entries[:10])


def test_another_seek_can_come_in_between_and_no_keyframe_is_made_twice(path, entries, cache):
    frames = frames_of(path, cache)
    reached = []

    def give_way(position, damages):
        reached.append(position.seq)
        assert damages == []
        if len(reached) == 3:
            assert frames.seek(seq=5000).view == folded(entries[:5000])

    frames.seek(seq=sys.maxsize, give_way=give_way)
    assert reached == sorted(reached)
    assert reached[-1] == entries[-1].seq
    places = [frame.position.seq for frame in frames._frames]
    assert places == sorted(set(places))
    for seq in (4000, 5001, COUNT):
        assert frames.seek(seq=seq).view == folded(entries[:seq])


def test_whoever_has_the_whole_read_is_told_of_the_damage(path, cache, tmp_path):
    content = bytearray(path.read_bytes())
    place = content.index(b'{"seq":3000,') + 30
    content[place] ^= 1
    damaged = tmp_path / "damaged.exhibit"
    damaged.write_bytes(content)
    told = []
    frames_of(damaged, cache).seek(seq=sys.maxsize, give_way=lambda _, damages: told.extend(damages))
    (damage,) = told
    assert damage.offset_bytes <= place < damage.offset_bytes + damage.length_bytes


def test_the_last_keyframe_before_a_place_is_known_without_a_seek(path, entries, cache):
    frames = frames_of(path, cache)
    assert frames.last_before(seq=COUNT) == START
    frames.seek(seq=sys.maxsize)
    last = frames.last_before(seq=COUNT)
    assert last.seq <= COUNT
    assert frames.last_until(at_us=last.at_us) == last
    assert frames.last_before(seq=last.seq - 1).seq < last.seq
