"""Playing a recording: each entry when it is due, at any rate, from any place."""

import random
from contextlib import closing

import pytest

from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.facts.kinds import Heartbeat
from exhibit.streams.player import AS_FAST_AS_POSSIBLE, Player
from exhibit.streams.recording import RecordingWriter, find_seq, read_all
from tests.streams.samples import a_recording, an_opening, some_facts

BEAT = Heartbeat(wall="2026-11-25T09:30:00+01:00")
NOON_US = 5_000_000_000
"""What the caller's clock happens to show."""


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    return a_recording(tmp_path_factory.mktemp("recordings"), [*some_facts(1300), (BEAT, 3_600_000_000)])


@pytest.fixture(scope="module")
def entries(path):
    return read_all(path).entries


@pytest.fixture
def player(path):
    with closing(Player(path)) as player:
        yield player


def test_it_waits_until_it_is_started(player):
    assert player.paused
    assert player.due(NOON_US) == []
    assert player.next_due_us(NOON_US) is None
    assert player.opened.machine == "whimbrel"


@pytest.mark.parametrize("rate", [1.0, 20.0, 0.3, 1000.0, 1 / 3, 1e-9, 1e12])
def test_each_entry_comes_exactly_when_it_is_due_at_any_rate(path, entries, rate):
    with closing(Player(path, rate)) as player:
        player.resume(NOON_US)
        now_us = NOON_US
        found = []
        while (due_us := player.next_due_us(now_us)) is not None:
            assert due_us >= now_us
            if due_us > now_us:
                assert player.due(due_us - 1) == []
            now_us = due_us
            came = player.due(now_us)
            assert came
            assert all(entry.at_us <= (now_us - NOON_US) * rate * (1 + 1e-12) + 1 for entry in came)
            found += came
        assert found == entries
        assert player.ended


def test_a_long_silence_lasts_as_long_as_it_did(player, entries):
    player.resume(0)
    last_at_us = entries[-3].at_us
    while len(player.due(last_at_us)) == 1000:
        pass
    assert player.next_due_us(last_at_us) == entries[-1].at_us == 3_600_000_000


def test_as_fast_as_possible_means_without_waiting(path, entries):
    with closing(Player(path, AS_FAST_AS_POSSIBLE)) as player:
        player.resume(NOON_US)
        found = []
        while player.next_due_us(NOON_US) == NOON_US:
            batch = player.due(NOON_US, most=100)
            assert 0 < len(batch) <= 100
            found += batch
            assert player.at_us(NOON_US) == batch[-1].at_us
        assert found == entries


def test_batches_are_bounded_and_ask_to_be_continued_at_once(player, entries):
    player.resume(0)
    now_us = entries[-1].at_us
    found = []
    while batch := player.due(now_us, most=17):
        assert len(batch) <= 17
        assert found or player.next_due_us(now_us) == now_us
        found += batch
    assert found == entries


def test_after_a_pause_it_continues_where_it_was(player, entries):
    player.resume(0)
    seen = player.due(1_000_000)
    player.pause(1_000_000)
    assert player.due(50_000_000) == []
    assert player.at_us(50_000_000) == 1_000_000
    player.resume(60_000_000)
    seen += player.due(60_500_000)
    assert seen == [entry for entry in entries if entry.at_us <= 1_500_000]


def test_the_rate_changes_from_here_on(player, entries):
    player.resume(0)
    seen = player.due(1_000_000)
    player.set_rate(10.0, 1_000_000)
    assert player.at_us(1_100_000) == 2_000_000
    seen += player.due(1_100_000)
    player.set_rate(AS_FAST_AS_POSSIBLE, 1_100_000)
    player.set_rate(0.5, 1_100_000)
    assert player.at_us(1_300_000) == 2_100_000
    seen += player.due(1_300_000)
    assert seen == [entry for entry in entries if entry.at_us <= 2_100_000]


def test_a_number_that_is_sought_comes_at_once_and_the_rest_in_its_time(player, entries):
    chance = random.Random(3)
    player.resume(0)
    for _ in range(30):
        seq = chance.randrange(1, len(entries))
        now_us = chance.randrange(10**9)
        player.seek(now_us, seq=seq)
        at_us = entries[seq - 1].at_us
        assert player.at_us(now_us) == at_us
        expected = [entry for entry in entries if entry.seq >= seq and entry.at_us <= at_us + 200_000]
        assert player.due(now_us + 200_000) == expected


def test_a_time_that_is_sought_is_shown_even_in_the_midst_of_a_silence(player, entries):
    player.resume(0)
    player.seek(7, at_us=3_599_000_000)
    assert player.at_us(7) == 3_599_000_000
    assert player.due(7) == []
    assert player.next_due_us(7) == 1_000_007
    assert [entry.at_us for entry in player.due(1_000_007)] == [3_600_000_000] * 2


def test_seeking_leaves_it_paused_if_it_was(player, entries):
    player.seek(0, seq=500)
    assert player.paused
    assert player.due(10**9) == []
    player.resume(10**9)
    assert player.due(10**9)[0] == entries[499]


def test_backwards_and_to_the_end(player, entries):
    player.resume(0)
    player.seek(0, seq=10**9)
    assert player.ended
    assert player.next_due_us(0) is None
    player.seek(0, at_us=0)
    assert player.due(0) == entries[:1]


def test_it_goes_to_a_place_that_somebody_else_found(player, path, entries):
    player.resume(0)
    player.go_to(find_seq(path, 700), 5)
    assert player.at_us(5) == entries[698].at_us
    assert player.due(40_005)[0] == entries[699]


def test_a_seek_needs_one_aim(player):
    with pytest.raises(TypeError):
        player.seek(0)
    with pytest.raises(TypeError):
        player.seek(0, seq=1, at_us=1)


def test_a_recording_that_is_still_written_is_played_on(tmp_path):
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096)
    with closing(Player(writer.path)) as player:
        player.resume(0)
        assert player.due(0) == [writer.opened]
        assert player.ended
        entry = writer.append(BEAT, 2_000_000)
        assert not player.ended
        assert player.due(1_999_999) == []
        assert player.due(2_000_000) == [entry]
    writer.close("", 2_000_000)


def test_damage_is_skipped_and_listed(tmp_path):
    path = a_recording(tmp_path, 100)
    content = bytearray(path.read_bytes())
    content[-3000] ^= 1
    path.write_bytes(content)
    with closing(Player(path, AS_FAST_AS_POSSIBLE)) as player:
        player.resume(0)
        assert player.due(0) == read_all(path).entries
        assert player.damages == read_all(path).damages != []


@pytest.mark.parametrize("rate", [0.0, -1.0, float("nan")])
def test_a_rate_at_which_no_time_passes_is_refused(path, player, rate):
    with pytest.raises(SetUpFault):
        Player(path, rate)
    with pytest.raises(SetUpFault):
        player.set_rate(rate, 0)
    assert player.rate == 1.0


def test_a_file_that_is_not_a_recording_is_a_fault(tmp_path):
    (tmp_path / "other").write_text("hello\n")
    with pytest.raises(RecordingFault):
        Player(tmp_path / "other")
