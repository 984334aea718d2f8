"""A reader finds all damage, says where it is, and continues after it."""

import os
import random
from contextlib import closing

import pytest

from exhibit.facts import codec
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Entry, RecordingOpened
from exhibit.streams.recording import (
    Damaged,
    Recording,
    Tail,
    find_seq,
    find_time,
    read,
    read_all,
    read_opened,
)
from tests.streams.samples import a_recording

COUNT = 12


@pytest.fixture
def path(tmp_path):
    return a_recording(tmp_path / "recordings", COUNT)


@pytest.fixture
def whole(path) -> Recording:
    read = read_all(path)
    assert len(read.entries) == COUNT + 2
    assert read.damages == []
    return read


def line_starts(kept: bytes) -> list[int]:
    starts = [0]
    for line in kept.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    return starts


def test_torn_at_any_byte_of_the_last_lines_it_reads_to_the_last_whole_line(path, whole):
    kept = path.read_bytes()
    starts = line_starts(kept)
    for size_bytes in range(starts[-4], len(kept)):
        os.truncate(path, size_bytes)
        read = read_all(path)
        lines = sum(start <= size_bytes for start in starts) - 1
        assert read.entries == whole.entries[:lines]
        torn_bytes = size_bytes - starts[lines]
        expected = [Damaged(starts[lines], torn_bytes, "its end is missing", torn=True)] if torn_bytes else []
        assert read.damages == expected
        assert read.end.offset_bytes == starts[lines]
        path.write_bytes(kept)


def test_a_flipped_bit_anywhere_is_found_and_costs_no_other_line(path, whole):
    kept = path.read_bytes()
    starts = line_starts(kept)
    first_line_bytes = starts[1]
    positions = list(range(first_line_bytes - 40, len(kept)))
    for at in positions:
        changed = bytearray(kept)
        changed[at] ^= 1 << (at % 8)
        path.write_bytes(changed)
        read = read_all(path)
        hit = sum(start <= at for start in starts) - 1
        assert len(read.damages) == 1, at
        damage = read.damages[0]
        assert damage.offset_bytes <= at < damage.offset_bytes + damage.length_bytes
        lost = {entry.seq for entry in whole.entries} - {entry.seq for entry in read.entries}
        # Where the newline itself was hit, two lines run together.
        newline = kept[at : at + 1] == b"\n"
        assert lost <= ({hit + 1, hit + 2} if newline else {hit + 1}), at
        assert all(entry == whole.entries[entry.seq - 1] for entry in read.entries)


def test_a_damaged_first_line_hides_the_machine_but_not_the_facts(path, whole):
    kept = path.read_bytes()
    for at in range(0, line_starts(kept)[1] - 1):
        changed = bytearray(kept)
        changed[at] ^= 0x01
        path.write_bytes(changed)
        assert read_all(path).entries == whole.entries[1:]
        with pytest.raises(RecordingFault, match="first line"):
            read_opened(path)


def test_damage_is_given_between_the_entries_where_it_is(path, whole):
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:4]) + b"spilled coffee\n\n\x00\x00" + b"".join(lines[4:]))
    items = list(read(path))
    where = next(number for number, item in enumerate(items) if isinstance(item, Damaged))
    assert items[:where] == whole.entries[:4]
    assert items[where] == Damaged(
        len(b"".join(lines[:4])), len(b"spilled coffee\n\n\x00\x00" + lines[4]), "its checksum is wrong"
    )
    assert items[where + 1 :] == whole.entries[5:]


@pytest.mark.parametrize("missing", [1, 2, 5])
def test_a_line_that_was_cut_out_is_noticed(path, whole, missing):
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:4] + lines[4 + missing :]))
    read = read_all(path)
    assert len(read.damages) == 1
    # The line after the gap can't be distinguished from one that was inserted there.
    assert read.entries == whole.entries[:4] + whole.entries[5 + missing :]


def test_a_line_that_was_put_in_twice_is_noticed(path, whole):
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[:5], *lines[4:]]))
    read = read_all(path)
    assert [damage.offset_bytes for damage in read.damages] == [len(b"".join(lines[:5]))]
    assert read.entries == whole.entries


def test_two_lines_that_changed_places_are_noticed(path):
    lines = path.read_bytes().splitlines(keepends=True)
    lines[4], lines[5] = lines[5], lines[4]
    path.write_bytes(b"".join(lines))
    read = read_all(path)
    assert len(read.damages) == 1
    assert {5, 6}.isdisjoint(entry.seq for entry in read.entries)


def rewritten(path, *entries: Entry) -> None:
    """Append lines with right checksums, as only faulty software would write them."""
    crc = path.read_bytes()[-11:-3]
    with path.open("ab") as file:
        for entry in entries:
            line, crc = codec.encode_line(entry, crc)
            file.write(line)


@pytest.mark.parametrize(
    ("further", "later_us", "why"),
    [
        (0, 0, "its number 14 doesn't follow 14"),
        (-3, 0, "its number 11 doesn't follow 14"),
        (2, 0, "its number 16 doesn't follow 14"),
        (1, -1, "its time goes back"),
    ],
)
def test_what_does_not_follow_is_damage_even_with_a_right_checksum(path, whole, further, later_us, why):
    last = whole.entries[-1]
    wrong = Entry(last.seq + further, last.at_us + later_us, last.fact)
    right = Entry(last.seq + 2, last.at_us, last.fact)
    rewritten(path, wrong, right)
    read = read_all(path)
    assert [damage.why for damage in read.damages] == [why]
    assert read.entries == [*whole.entries, right]


def test_a_line_longer_than_any_that_is_written_is_damage(path, whole, monkeypatch):
    monkeypatch.setattr(codec, "MAX_LINE_BYTES", 4096)
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join([*lines[:4], b"x" * 100_000 + b"\n", *lines[4:]]))
    read = read_all(path)
    assert [damage.torn for damage in read.damages] == [False]
    assert read.entries == whole.entries[:4] + whole.entries[5:]
    with closing(Tail(path)) as tail:
        assert tail.read_new() == read.entries
        assert [damage.length_bytes for damage in tail.damages] == [100_001 + len(lines[4])]


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\n",
        b"{}\n",
        b"hello\n" * 100,
        b"\x00" * 5000,
        b'{"seq":1,"at_us":0,"fact":"recording_opened"',
        b"x",
    ],
    ids=lambda content: repr(content[:20]),
)
def test_another_file_is_said_not_to_be_a_recording(tmp_path, content):
    path = tmp_path / "other"
    path.write_bytes(content)
    for attempt in read_all, lambda path: list(read(path)), read_opened, lambda path: find_seq(path, 5):
        with pytest.raises(RecordingFault, match=r"isn't a recording|first line"):
            attempt(path)


def test_a_large_other_file_is_given_up_soon(tmp_path):
    path = tmp_path / "other"
    with path.open("wb") as file:
        file.truncate(10**12)  # a hole: takes no room
    with pytest.raises(RecordingFault, match="isn't a recording"):
        read_all(path)
    tail = Tail(path)
    with pytest.raises(RecordingFault, match="isn't a recording"):
        tail.read_new()
    tail.close()


def test_anything_but_a_regular_file_is_refused_without_waiting(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for name in "pipe", ".", "nothing", "a\x00b":
        with pytest.raises(RecordingFault):
            read_all(tmp_path / name)
    with pytest.raises(RecordingFault):
        read_all(tmp_path / "\ud800" / "x")


def everything_reads_or_says_why(path) -> None:
    """Read in every possible way: nothing may be raised but a RecordingFault."""
    try:
        read = read_all(path)
    except RecordingFault:
        return
    assert all(isinstance(entry, Entry) for entry in read.entries)
    assert [entry.seq for entry in read.entries] == sorted({entry.seq for entry in read.entries})
    tail = Tail(path)
    assert tail.read_new() == read.entries
    tail.close()
    middle = read.entries[len(read.entries) // 2]
    for place in find_seq(path, middle.seq), find_time(path, middle.at_us):
        onward = [item for item in list_from(path, place) if isinstance(item, Entry)]
        assert middle in onward


def list_from(path, place):
    return list(read(path, place))


def test_only_one_kind_of_fault_escapes_from_whatever_bytes(tmp_path, path):
    chance = random.Random(20261125)
    kept = path.read_bytes()
    fuzzed = tmp_path / "fuzzed"
    for _ in range(1500):
        content = bytearray(kept)
        for _ in range(chance.choice([1, 1, 2, 8])):
            at = chance.randrange(len(content))
            length = chance.choice([0, 1, 1, 4, 200])
            new = chance.choice(
                [
                    chance.randbytes(length),
                    b"\n" * length,
                    b"{" * length,
                    b"\x00" * length,
                    kept[at : at + length],
                    b'"crc":"',
                    b'"seq":99999999999999999999999,',
                ]
            )
            content[at : at + chance.choice([0, length, 3 * length])] = new
        fuzzed.write_bytes(content)
        everything_reads_or_says_why(fuzzed)


def test_only_one_kind_of_fault_escapes_where_the_checksums_were_made_right_again(tmp_path, path):
    """Damage with right checksums, which only the checks of form and number can find."""
    chance = random.Random(1973)
    lines = path.read_bytes().splitlines(keepends=True)
    fuzzed = tmp_path / "fuzzed"
    for _ in range(1500):
        crc = codec.FIRST_CRC
        content = b""
        for line in lines:
            body = bytearray(line[:-19])
            if chance.random() < 0.2:
                at = chance.randrange(len(body))
                body[at : at + chance.choice([0, 1, 3])] = chance.choice(
                    [b"", b"[", b"9", b"\xff", b'"', b","]
                )
            whole = bytes(body) + b',"crc":"00000000"}\n'
            crc = codec.line_crc(whole, crc)
            content += whole[:-11] + crc + b'"}\n'
        fuzzed.write_bytes(content)
        everything_reads_or_says_why(fuzzed)


def test_a_file_that_does_not_begin_with_recording_opened_is_not_a_recording(tmp_path, whole):
    path = tmp_path / "other"
    line, _ = codec.encode_line(Entry(1, 0, whole.entries[1].fact), codec.FIRST_CRC)
    path.write_bytes(line)
    with pytest.raises(RecordingFault, match="isn't a recording"):
        read_all(path)


def test_a_newer_recording_is_refused_by_every_way_of_reading(path, whole, monkeypatch):
    fifth = find_seq(path, 5)
    monkeypatch.setattr(codec, "FORMAT", 0)
    with closing(Tail(path)) as tail:
        for attempt in (
            lambda: read_all(path),
            lambda: read_opened(path),
            lambda: find_seq(path, 5),
            lambda: list(read(path, fifth)),
            tail.read_new,
        ):
            with pytest.raises(RecordingFault, match="older than the recording"):
                attempt()


def test_an_older_recording_is_read_through_the_upgraders_from_any_place(path, whole, monkeypatch):
    def shout(fact):
        if fact["fact"] == "bytes_received":
            fact["bytes"] = fact["bytes"].lower()
        return fact

    monkeypatch.setattr(codec, "FORMAT", 2)
    monkeypatch.setattr(codec, "UPGRADERS", {1: shout})
    upgraded = read_all(path)
    assert upgraded.damages == []
    assert isinstance(upgraded.entries[0].fact, RecordingOpened)
    assert upgraded.entries[1].fact.bytes == whole.entries[1].fact.bytes.lower()
    assert list(read(path, find_seq(path, 5))) == upgraded.entries[4:]
