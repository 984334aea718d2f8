"""Whatever happens to a recording: one kind of fault, the right byte, no hang; what is readable is read."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from exhibit.facts.errors import RecordingFault
from exhibit.records.keeping.mending import mend
from exhibit.records.keeping.verifying import examine, verify
from exhibit.streams.player import AS_FAST_AS_POSSIBLE, Player
from exhibit.streams.recording import Damaged, Tail, find_seq, read, read_all
from tests.streams.samples import a_recording

COUNT = 120
TRIES = 60
Hit = tuple[bytes, int, set[int], str]
"""A damaged recording, the first byte that isn't as it was, which facts must be lost, and how it was done."""


@pytest.fixture(scope="module")
def lines(tmp_path_factory) -> list[bytes]:
    return a_recording(tmp_path_factory.mktemp("whole"), COUNT).read_bytes().splitlines(keepends=True)


def start(lines: list[bytes], number: int) -> int:
    return sum(map(len, lines[:number]))


def a_bit(lines: list[bytes], chance: random.Random) -> Hit:
    number = chance.randrange(1, len(lines))
    line = bytearray(lines[number])
    at = chance.randrange(max(1, len(line) - 1))
    line[at] ^= 1 << chance.randrange(8)
    content = b"".join([*lines[:number], bytes(line), *lines[number + 1 :]])
    return content, start(lines, number), {number + 1}, f"bit at {at} of {number + 1}"


def cut_lines(lines: list[bytes], chance: random.Random) -> Hit:
    number, many = chance.randrange(1, len(lines) - 12), chance.choice([1, 2, 10])
    lost = set(range(number + 1, number + many + 2))  # nothing shows that the next one follows
    return b"".join(lines[:number] + lines[number + many :]), start(lines, number), lost, f"{many} cut"


def half_a_line(lines: list[bytes], chance: random.Random) -> Hit:
    number = chance.randrange(1, len(lines) - 2)
    kept = lines[number][: chance.randrange(1, max(2, len(lines[number]) - 1))]
    content = b"".join([*lines[:number], kept, *lines[number + 1 :]])
    return content, start(lines, number), {number + 1, number + 2}, "half a line"


def swapped(lines: list[bytes], chance: random.Random) -> Hit:
    number = chance.randrange(1, len(lines) - 3)
    others = [lines[number + 1], lines[number]]
    content = b"".join([*lines[:number], *others, *lines[number + 2 :]])
    return content, start(lines, number), {number + 1, number + 2, number + 3}, "swapped"


def doubled(lines: list[bytes], chance: random.Random) -> Hit:
    number = chance.randrange(1, len(lines) - 1)
    content = b"".join([*lines[: number + 1], *lines[number:]])
    return content, start(lines, number + 1), set(), "doubled"


def zeros(lines: list[bytes], chance: random.Random) -> Hit:
    number, many = chance.randrange(1, len(lines) - 3), chance.choice([4096, 100_000])
    content = b"".join([*lines[:number], bytes(many), *lines[number:]])
    return content, start(lines, number), {number + 1}, f"{many} zero bytes"


def strange_bytes(lines: list[bytes], chance: random.Random) -> Hit:
    number = chance.randrange(1, len(lines) - 3)
    other = chance.choice(
        [b"\xff\xfe" * 50, b"\n" * 50, b"{" * 5000, b'{"seq":1}\n' * 9, chance.randbytes(999)]
    )
    content = b"".join([*lines[:number], other, b"\n", *lines[number:]])
    return content, start(lines, number), {number + 1}, "strange bytes"


WAYS: list[Callable[[list[bytes], random.Random], Hit]] = [
    a_bit, cut_lines, half_a_line, swapped, doubled, zeros, strange_bytes,
]  # fmt: skip


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.__name__)
def test_it_says_the_right_byte_and_reads_all_that_is_readable(way, lines, tmp_path):
    chance, path = random.Random(way.__name__), tmp_path / "fuzzed.exhibit"
    for _ in range(TRIES):
        content, at_bytes, lost, how = way(lines, chance)
        path.write_bytes(content)
        items = list(read(path))
        (place,) = [n for n, item in enumerate(items) if isinstance(item, Damaged)]
        assert items[place].offset_bytes == at_bytes, how
        seen = {item.seq for item in items if not isinstance(item, Damaged)}
        assert set(range(1, COUNT + 3)) - seen <= lost, how
        # What was before the damage comes before it, and what follows it after it.
        before = [item.seq for item in items[:place]]
        assert before == list(range(1, len(before) + 1))
        assert read_all(path).damages == [items[place]]
        assert any(f"byte {at_bytes:,}: " in line for line in verify([path]).lines)
        with closing(Tail(path)) as tail:
            assert [entry.seq for entry in tail.read_new()] == sorted(seen)
        outcome = mend(path)
        verify([outcome.to]).refuse()
        outcome.to.unlink()


def test_much_damage_at_once_escapes_as_one_kind_of_fault_and_is_mended(lines, tmp_path):
    chance, path = random.Random(1969), tmp_path / "fuzzed.exhibit"
    for _ in range(150):
        content, many = b"".join(lines), chance.choice([2, 5, 30])
        for _ in range(many):
            found = content.splitlines(keepends=True)
            if len(found) < 20:
                break
            content = chance.choice(WAYS)(found, chance)[0]
            if chance.random() < 0.2:
                at = chance.randrange(len(content))
                content = content[:at] + chance.randbytes(3) + content[at + chance.randrange(5) :]
        path.write_bytes(content)
        one = examine(path)
        if one.fault is not None:
            continue
        try:
            outcome = mend(path)
        except RecordingFault as fault:
            assert "first line" in fault.what  # noqa: PT017
            continue
        verify([outcome.to]).refuse()
        assert outcome.facts >= one.facts
        outcome.to.unlink()


def holed(path: Path, lines: list[bytes], begin: bytes, hole_bytes: int, end: bytes) -> Path:
    """A recording with something huge between two of its lines; a hole takes no room on the disc."""
    with path.open("wb") as file:
        file.write(b"".join(lines[:60]) + begin)
        file.seek(hole_bytes, 1)
        file.write(end + b"".join(lines[60:]))
    return path


@pytest.mark.parametrize("begin", [b"", b'{"seq":61,"at_us":2400000,"fact":"bytes_received","bytes":"'])
def test_a_line_of_a_gigabyte_is_passed_over_and_what_follows_is_read(lines, tmp_path, begin):
    path = holed(tmp_path / "large.exhibit", lines, begin, 2**30, b"\n")
    began_s = time.process_time()
    items = list(read(path))
    (place,) = [n for n, item in enumerate(items) if isinstance(item, Damaged)]
    assert items[place].offset_bytes == start(lines, 60)
    assert items[place].length_bytes >= 2**30
    expected = [*range(1, 61), *range(62, COUNT + 3)]
    assert [item.seq for item in items if not isinstance(item, Damaged)] == expected
    assert find_seq(path, 100).seq == 99
    with closing(Player(path, AS_FAST_AS_POSSIBLE)) as player:
        player.resume(0)
        assert [entry.seq for entry in player.due(0)] == expected
    outcome = mend(path)
    verify([outcome.to]).refuse()
    assert outcome.facts == len(expected)
    assert [(gap.first, gap.last) for gap in outcome.gaps] == [(61, 61)]
    assert time.process_time() - began_s < 10


def test_a_line_of_a_gigabyte_that_is_really_on_the_disc_costs_seconds(lines, tmp_path):
    path, megabyte = tmp_path / "large.exhibit", b"x" * 2**20
    with path.open("wb") as file:
        file.write(b"".join(lines[:60]))
        for _ in range(1024):
            file.write(megabyte)
        file.write(b"\n" + b"".join(lines[60:]))
    began_s = time.process_time()
    assert len(read_all(path).entries) == COUNT + 1
    assert time.process_time() - began_s < 10
    path.unlink()


def test_an_endless_row_of_lines_that_are_none_is_given_up(lines, tmp_path):
    path = tmp_path / "large.exhibit"
    with path.open("wb") as file:
        file.write(b"".join(lines[:60]))
        for _ in range(100):
            file.write(b'{"seq":9}\n' * 100_000)
        file.write(b"".join(lines[60:]))
    began_s = time.process_time()
    recording = read_all(path)
    assert time.process_time() - began_s < 5
    assert [entry.seq for entry in recording.entries][:60] == list(range(1, 61))
    assert [damage.offset_bytes for damage in recording.damages] == [start(lines, 60)]


def test_reading_goes_on_in_the_right_place_after_much_damage_in_a_small_file(lines, tmp_path):
    """The search must not move the file beneath what was already read of it."""
    path = tmp_path / "small.exhibit"
    path.write_bytes(b"".join(lines[:60]) + b"\n" * 100_000 + b"".join(lines[60:]))
    recording = read_all(path)
    assert [damage.offset_bytes for damage in recording.damages] == [start(lines, 60)]
    assert recording.end.offset_bytes == path.stat().st_size
    assert len(recording.entries) == COUNT + 1
