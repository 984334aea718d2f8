"""A recording is followed to its end, and then the next one, whatever happens to the files meanwhile."""

import pytest

from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Heartbeat, RecordingClosed, RecordingOpened
from exhibit.streams.recording import RecordingFollower, RecordingWriter, follow_from
from tests.streams.samples import SMALL_RESERVE_BYTES, an_opening, some_facts

WALL = "2026-11-25T09:30:00+01:00"


def begin(folder):
    return RecordingWriter(folder, an_opening(), reserve_bytes=SMALL_RESERVE_BYTES)


def kinds_of(entries):
    return [type(entry.fact) for entry in entries]


class Next:
    """Says which recording is next, once for each that is put there."""

    def __init__(self):
        self.path = None

    def __call__(self, follower):
        path, self.path = self.path, None
        return path


@pytest.fixture
def follower():
    made = RecordingFollower(Next())
    yield made
    made.close()


def test_until_there_is_a_recording_nothing_is_followed(follower):
    assert (follower.read_new(), follower.path, follower.writer_state(), follower.count) == (
        [],
        None,
        None,
        0,
    )
    assert not follower.was_replaced()


def test_each_recording_is_read_to_its_end_before_the_next(tmp_path):
    first = begin(tmp_path)
    for fact, at_us in some_facts(25):
        first.append(fact, at_us)
    first.close("midnight", 10**9)
    second = begin(tmp_path)
    follower = follow_from(first.path)
    read = []
    while entries := follower.read_new(10):
        assert len(entries) <= 10
        read.append((follower.path, [entry.seq for entry in entries]))
    second.abandon()
    follower.close()
    assert [seq for path, seqs in read if path == first.path for seq in seqs] == list(range(1, 28))
    assert read[-1] == (second.path, [1])
    assert follower.count == 2


def test_a_recording_that_was_not_closed_is_not_left_for_another(tmp_path):
    first = begin(tmp_path)
    follower = follow_from(first.path)
    assert kinds_of(follower.read_new()) == [RecordingOpened]
    other = begin(tmp_path)
    assert other.opened.fact.previous_file == first.path.name
    assert follower.read_new() == []
    first.append(Heartbeat(wall=WALL), 1)
    assert kinds_of(follower.read_new()) == [Heartbeat]
    assert not follower.is_closed
    first.close("midnight", 2)
    assert kinds_of(follower.read_new()) == [RecordingClosed]
    assert follower.is_closed
    other.abandon()
    follower.close()


def test_if_the_next_one_cannot_be_opened_the_same_one_is_still_followed(tmp_path, follower):
    writer = begin(tmp_path)
    follower._find_next.path = writer.path
    follower.read_new()
    follower._find_next.path = tmp_path / "not there"
    with pytest.raises(RecordingFault):
        follower.read_new()
    writer.append(Heartbeat(wall=WALL), 1)
    assert kinds_of(follower.read_new()) == [Heartbeat]
    assert (follower.path, follower.writer_state(), follower.count) == (writer.path, "writing", 1)
    writer.abandon()
    assert follower.writer_state() == "gone"


def test_one_that_cannot_be_read_any_more_is_begun_again_if_it_is_next(tmp_path, follower):
    writer = begin(tmp_path)
    writer.append(Heartbeat(wall=WALL), 1)
    follower._find_next.path = writer.path
    assert len(follower.read_new()) == 2
    whole = writer.path.read_bytes()
    writer.path.write_bytes(whole[: whole.index(b"\n") + 1])
    with pytest.raises(RecordingFault, match="has become shorter"):
        follower.read_new()
    assert (follower.path, follower.read_new()) == (None, [])
    follower._find_next.path = writer.path
    assert kinds_of(follower.read_new()) == [RecordingOpened]
    assert follower.count == 2
    writer.abandon()


def test_it_is_seen_when_another_file_takes_the_name_and_not_when_the_name_is_gone(tmp_path, follower):
    writer, other = begin(tmp_path), begin(tmp_path / "apart")
    follower._find_next.path = writer.path
    follower.read_new()
    assert not follower.was_replaced()
    writer.path.unlink()
    assert not follower.was_replaced()
    other.path.rename(writer.path)
    assert follower.was_replaced()
    writer.append(Heartbeat(wall=WALL), 1)
    assert kinds_of(follower.read_new()) == [Heartbeat]
    writer.abandon()
    other.abandon()
