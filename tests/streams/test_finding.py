"""Finding a number or a time without reading everything before it."""

import random

import pytest

from exhibit.facts.kinds import Heartbeat
from exhibit.streams import finding, recording_reader
from exhibit.streams.recording import START, find_seq, find_time, read, read_all
from tests.streams.samples import a_recording, some_facts

BEAT = Heartbeat(wall="2026-11-25T09:30:00+01:00")


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    facts = some_facts(2000)
    # Several facts of one time, and a long silence.
    facts += [(BEAT, 90_000_000)] * 500
    return a_recording(tmp_path_factory.mktemp("recordings"), [*facts, *[(BEAT, 9_000_000_000)] * 3])


@pytest.fixture(scope="module")
def entries(path):
    return read_all(path).entries


def onward(path, place):
    return list(read(path, place))


def test_each_number_is_found(path, entries):
    for seq in [*range(0, len(entries), 13), 1, 2, len(entries) - 1, len(entries)]:
        place = find_seq(path, seq)
        assert onward(path, place) == entries[max(0, seq - 1) :]
        assert place.seq == max(0, seq - 1)
        assert place.at_us == (entries[seq - 2].at_us if seq > 1 else 0)


@pytest.mark.parametrize("seq", [10**6, 10**17])
def test_a_number_past_the_end_gives_the_end(path, entries, seq):
    place = find_seq(path, seq)
    assert place == read_all(path).end
    assert onward(path, place) == []


def test_each_time_is_found(path, entries):
    chance = random.Random(7)
    times_us = {entry.at_us for entry in chance.sample(entries, 100)} | {0, 90_000_000, 9_000_000_000}
    for at_us in times_us | {t - 1 for t in times_us} | {t + 1 for t in times_us}:
        expected = [entry for entry in entries if entry.at_us >= at_us]
        assert onward(path, find_time(path, at_us)) == expected


def test_a_time_before_the_first_entry_is_the_start(path):
    assert find_time(path, -5) == find_seq(path, 1) == START


def test_damage_does_not_mislead_the_search(path, entries, tmp_path):
    """Numbers are changed into much larger and smaller ones where bisecting may look."""
    chance = random.Random(11)
    kept = path.read_bytes()
    for _ in range(60):
        content = bytearray(kept)
        for at in chance.sample(range(len(content)), 20):
            begin = content.find(b'{"seq":', at)
            if begin > 0:
                content[begin + 7] = chance.choice(b"0123456789")
        damaged = tmp_path / "damaged"
        damaged.write_bytes(content)
        whole = read_all(damaged).entries
        seq = chance.choice(whole).seq
        found = [entry for entry in onward(damaged, find_seq(damaged, seq)) if hasattr(entry, "seq")]
        assert found == [entry for entry in whole if entry.seq >= seq]


def test_it_reads_a_small_part_of_the_file(path, entries, monkeypatch):
    """What counts is how much of the file is read, not how long it takes."""
    read_bytes = 0

    class Counting:
        def __init__(self, file):
            self._file = file

        def __getattr__(self, name):
            return getattr(self._file, name)

        def __enter__(self):
            return self

        def __exit__(self, *_):
            self._file.close()

        def readline(self, limit):
            nonlocal read_bytes
            line = self._file.readline(limit)
            read_bytes += len(line)
            return line

    monkeypatch.setattr(
        finding, "open_recording", lambda path: Counting(recording_reader.open_recording(path))
    )
    find_seq(path, 1700)
    assert 0 < read_bytes < path.stat().st_size / 5
