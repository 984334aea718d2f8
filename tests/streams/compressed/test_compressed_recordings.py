"""A compressed recording is read from any place as the plain one is, and damage in it stays small."""

from __future__ import annotations

import io
import random
import struct
import time
import tracemalloc
from contextlib import closing
from pathlib import Path

import pytest
import pyzstd

from exhibit.facts.errors import RecordingFault
from exhibit.streams.compressed import compressed_file, frames
from exhibit.streams.compressed.compressing import compress
from exhibit.streams.compressed.names import is_recordings_name, plain_name, stem_of
from exhibit.streams.compressed.zstandard_library import zstd
from exhibit.streams.keyframes import Keyframes
from exhibit.streams.player import AS_FAST_AS_POSSIBLE, Player
from exhibit.streams.recording import (
    Damaged,
    RecordingFolder,
    RecordingWriter,
    Tail,
    find_seq,
    find_time,
    read,
    read_all,
    read_opened,
    writer_state,
)
from exhibit.streams.recording_files import last_crc
from exhibit.streams.recording_reader import open_recording
from tests.streams.samples import a_recording, an_opening

COUNT = 6000


@pytest.fixture(scope="module")
def plain(tmp_path_factory) -> Path:
    return a_recording(tmp_path_factory.mktemp("plain"), COUNT)


@pytest.fixture(scope="module")
def small(plain, tmp_path_factory) -> Path:
    """The same, compressed."""
    return compressed_to(plain, tmp_path_factory.mktemp("compressed"))


def compressed_to(plain: Path, folder: Path) -> Path:
    to = folder / f"{plain.name}.zst"
    with open_recording(plain) as file:
        compress(file, to)
    return to


def places(path: Path) -> list[frames.Frame]:
    with path.open("rb") as file:
        return frames.frames_of(file.fileno())


class Count:
    """A view that counts."""

    def __init__(self):
        self.seen = 0

    def apply(self, entry):
        self.seen = entry.seq

    def snapshot(self):
        return self.seen

    def restore(self, snapshot):
        self.seen = snapshot


def test_it_takes_much_less_room_and_has_several_pieces(plain, small):
    assert small.stat().st_size * 5 < plain.stat().st_size
    assert len(places(small)) > 4


def test_every_reader_reads_it_as_the_plain_one(plain, small, tmp_path):
    assert read_all(small) == read_all(plain)
    assert list(read(small)) == list(read(plain))
    assert read_opened(small) == read_opened(plain)
    assert last_crc(small) == last_crc(plain)
    for seq in 1, 2, 77, 3000, COUNT + 2, COUNT + 9:
        assert find_seq(small, seq) == find_seq(plain, seq)
        assert find_time(small, seq * 40_000 - 1) == find_time(plain, seq * 40_000 - 1)
    with closing(Tail(small, find_seq(small, 4000))) as tail:
        assert tail.read_new(5) == list(read(plain, find_seq(plain, 4000)))[:5]
        assert tail.writer_state() == writer_state(small) == "gone"
        assert not tail.was_replaced()


def test_a_player_and_its_keyframes_go_to_any_place_in_it(plain, small, tmp_path):
    for _ in range(2):  # the second time from what was kept
        frames_of_it = Keyframes(small, Count, "count", tmp_path / "cache")
        assert frames_of_it.seek(seq=5000).view.seen == 5000
        assert frames_of_it.seek(at_us=4000 * 40_000).view.seen == 4001
    with closing(Player(small, AS_FAST_AS_POSSIBLE)) as player:
        player.resume(0)
        player.seek(0, seq=5990)
        assert [entry.seq for entry in player.due(0)] == list(range(5990, COUNT + 3))


def test_other_software_for_zstandard_reads_it(plain, small):
    with pyzstd.SeekableZstdFile(small) as file:
        file.seek(200_000)
        assert file.read(1000) == plain.read_bytes()[200_000:201_000]
    assert zstd.decompress(small.read_bytes()) == plain.read_bytes()


def test_what_other_software_compressed_in_pieces_is_read_too(plain, tmp_path):
    other = tmp_path / "other.exhibit.zst"
    with pyzstd.SeekableZstdFile(other, "w", max_frame_content_size=50_000) as file:
        file.write(plain.read_bytes())
    assert read_all(other) == read_all(plain)


def test_what_was_compressed_as_a_whole_is_read_if_it_is_small_and_else_refused_in_sentences(plain, tmp_path):
    whole = tmp_path / "whole.exhibit.zst"
    whole.write_bytes(zstd.compress(plain.read_bytes()))
    assert read_all(whole) == read_all(plain)
    whole.write_bytes(zstd.compress(bytes(frames.MOST_FRAME_BYTES + 1)))
    with pytest.raises(RecordingFault, match="compressed as a whole"):
        read_all(whole)


def test_any_place_and_length_reads_what_the_plain_file_has(plain, small):
    content, chance = plain.read_bytes(), random.Random(4)
    with open_recording(small) as file:
        assert file.seek(0, io.SEEK_END) == len(content)
        for _ in range(300):
            at, length = chance.randrange(len(content) + 100), chance.choice([0, 1, 500, 200_000])
            file.seek(at)
            assert file.read(length) == content[at : at + length]


def test_without_its_table_the_pieces_are_looked_for(plain, small, tmp_path):
    kept = small.read_bytes()
    table_bytes = len(kept) - sum(frame.length_bytes for frame in places(small))
    cut = tmp_path / "cut.exhibit.zst"
    for short_bytes in 1, 5, table_bytes - 3, table_bytes:
        cut.write_bytes(kept[:-short_bytes])
        assert read_all(cut) == read_all(plain)


def test_a_piece_that_was_hit_costs_only_its_own_lines(plain, small, tmp_path):
    whole, kept = read_all(plain), small.read_bytes()
    hit = tmp_path / "hit.exhibit.zst"
    for frame in places(small)[1:]:
        changed = bytearray(kept)
        changed[frame.offset_bytes + frame.length_bytes // 2] ^= 4
        hit.write_bytes(changed)
        read = read_all(hit)
        (damage,) = read.damages
        assert damage.offset_bytes == frame.start_bytes
        end_bytes = damage.offset_bytes + damage.length_bytes
        assert frame.start_bytes + frame.size_bytes <= end_bytes <= frame.start_bytes + frame.size_bytes + 400
        with open_recording(hit) as file:
            at = compressed_file.compressed_of(file).file_offset_bytes(damage.offset_bytes)
        assert at == frame.offset_bytes
        assert len(read.entries) < len(whole.entries)
        assert all(entry == whole.entries[entry.seq - 1] for entry in read.entries)


def test_cut_short_anywhere_it_reads_the_whole_pieces_and_marks_the_rest(plain, small, tmp_path):
    whole, kept, cut = read_all(plain), small.read_bytes(), tmp_path / "cut.exhibit.zst"
    second = places(small)[2]
    for size_bytes in range(second.offset_bytes + 1, second.offset_bytes + second.length_bytes, 997):
        cut.write_bytes(kept[:size_bytes])
        read = read_all(cut)
        assert read.entries == whole.entries[: len(read.entries)]
        assert read.end.offset_bytes == second.start_bytes
        assert [damage.offset_bytes for damage in read.damages] == [second.start_bytes]


def test_whatever_is_done_to_its_bytes_one_kind_of_fault_escapes(small, tmp_path):
    chance, kept, path = random.Random(1977), small.read_bytes(), tmp_path / "fuzzed.exhibit.zst"
    for _ in range(60):
        content = bytearray(kept)
        for _ in range(chance.choice([1, 1, 3])):
            at, length = chance.randrange(len(content)), chance.choice([1, 4, 200, 5000])
            if chance.random() < 0.4:
                at = len(content) - chance.randrange(1, 120)
            new = chance.choice(
                [chance.randbytes(length), bytes(length), kept[at : at + length], frames.MAGIC]
            )
            content[at : at + chance.choice([0, length])] = new
        path.write_bytes(content)
        began_s = time.process_time()
        try:
            read = read_all(path)
        except RecordingFault:
            continue
        finally:
            assert time.process_time() - began_s < 2
        assert [entry.seq for entry in read.entries] == sorted({entry.seq for entry in read.entries})
        assert len(read.entries) == COUNT + 2 or read.damages


def bombs() -> dict[str, bytes]:
    """Small files that say that they have much."""
    zeros = zstd.compress(bytes(frames.MOST_FRAME_BYTES))
    many = zeros * 2000
    lies = zstd.compress(bytes(100))
    entries = struct.pack("<II", len(lies), frames.MOST_FRAME_BYTES) * 60_000
    head = struct.pack("<II", 0x184D2A5E, len(entries) + 9)
    table = head + entries + struct.pack("<IBI", 60_000, 0, 0x8F92EAB1)
    unsaid = zstd.ZstdCompressor()
    streamed = unsaid.compress(bytes(200_000_000)) + unsaid.flush()
    return {
        "16 GB of zero bytes": many,
        "a table that says far more than there is": lies * 60_000 + table,
        "one frame of 200 MB": streamed,
        "nothing but beginnings of frames": frames.MAGIC * 2_000_000,
    }


@pytest.mark.parametrize("name", bombs())
def test_a_file_that_says_that_it_has_much_costs_neither_time_nor_memory(name, tmp_path):
    path = tmp_path / "bomb.exhibit.zst"
    path.write_bytes(bombs()[name])
    tracemalloc.start()
    began_s = time.process_time()
    for attempt in read_all, read_opened, lambda path: find_seq(path, 7):
        with pytest.raises(RecordingFault):
            attempt(path)
    assert time.process_time() - began_s < 5
    assert tracemalloc.get_traced_memory()[1] < 100_000_000
    tracemalloc.stop()


def test_a_folder_lists_it_once_and_knows_it_by_its_old_name(plain, tmp_path):
    folder = tmp_path / "recordings"
    first = a_recording(folder, 20)
    writer = RecordingWriter(folder, an_opening(wall="2026-11-26T09:30:00+01:00"), reserve_bytes=4096)
    second = writer.path
    writer.close("the test is over", 0)
    packed = compressed_to(first, folder)
    assert [file.path for file in RecordingFolder(folder).recordings()] == [first, second]
    first.unlink()
    found = RecordingFolder(folder)
    assert [file.path for file in found.recordings()] == [packed, second]
    assert [file.name for file in found.recordings()] == [first.name, second.name]
    assert found.next_after(first.name).path == found.next_after(packed.name).path == second
    writer = RecordingWriter(folder, an_opening(wall="2026-11-27T09:30:00+01:00"), reserve_bytes=4096)
    writer.close("the test is over", 0)
    third = writer.path
    packed_second = compressed_to(second, folder)
    second.unlink()
    assert read_opened(third).previous_file == second.name
    assert [file.path for file in RecordingFolder(folder).recordings()] == [packed, packed_second, third]
    # What a run begins with says the plain name too, whatever the one before it is called by then.
    writer = RecordingWriter(folder, an_opening(machine="whimbrel"), reserve_bytes=4096)
    writer.abandon()
    assert read_opened(writer.path).previous_file == third.name
    assert read_opened(writer.path).previous_crc == last_crc(third)


def test_names():
    assert is_recordings_name("a.exhibit")
    assert is_recordings_name("a.exhibit.zst")
    assert not is_recordings_name("a.zst")
    assert plain_name("a.exhibit.zst") == plain_name("a.exhibit") == "a.exhibit"
    assert plain_name("a.zst") == "a.zst"
    assert stem_of("a.exhibit.zst") == stem_of("a.exhibit") == "a"


def test_damage_before_it_was_compressed_is_still_the_same_damage(plain, tmp_path):
    hit = tmp_path / plain.name
    content = bytearray(plain.read_bytes())
    content[500_000 % len(content)] ^= 1
    hit.write_bytes(content[:-30])
    packed = compressed_to(hit, tmp_path)
    assert read_all(packed) == read_all(hit)
    assert [type(item) for item in read(packed)].count(Damaged) == 2
