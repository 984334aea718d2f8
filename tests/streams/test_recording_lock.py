"""A reader sees at once whether a recording's writer is alive, and disturbs nothing."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from exhibit.facts.errors import RecordingFault
from exhibit.streams.recording import RecordingWriter, Tail, writer_state
from tests.streams.samples import a_recording, an_opening

ROOT = Path(__file__).resolve().parents[2]

WRITES_AND_WAITS = """
import sys
from pathlib import Path
from exhibit.streams.recording_writer import RecordingWriter
from tests.streams.samples import an_opening
writer = RecordingWriter(Path(sys.argv[1]), an_opening(), reserve_bytes=4096)
print(writer.path, flush=True)
sys.stdin.read()
"""


@pytest.fixture
def other(tmp_path):
    """A process that has a recording open for writing."""
    process = subprocess.Popen(
        [sys.executable, "-c", WRITES_AND_WAITS, tmp_path],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    process.path = Path(process.stdout.readline().strip())
    yield process
    process.kill()
    process.communicate()


def test_it_says_gone_as_soon_as_the_writer_was_killed(other):
    assert writer_state(other.path) == "writing"
    os.kill(other.pid, signal.SIGKILL)
    os.waitid(os.P_PID, other.pid, os.WEXITED | os.WNOWAIT)
    assert writer_state(other.path) == "gone"


def test_a_stopped_writer_is_still_one(other):
    os.kill(other.pid, signal.SIGSTOP)
    os.waitid(os.P_PID, other.pid, os.WSTOPPED | os.WNOWAIT)
    assert writer_state(other.path) == "writing"
    os.kill(other.pid, signal.SIGCONT)
    assert writer_state(other.path) == "writing"


def test_asking_and_reading_take_nothing_from_the_writer(tmp_path):
    """A lock of the older kind would be lost when the same process first closes the file."""
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096)
    for _ in range(3):
        tail = Tail(writer.path)
        tail.read_new()
        assert tail.writer_state() == "writing"
        tail.close()
        assert writer_state(writer.path) == "writing"
        assert writer.path.read_bytes()
    writer.close("done", 0)
    assert writer_state(writer.path) == "gone"


def test_a_finished_recording_has_no_writer(tmp_path):
    assert writer_state(a_recording(tmp_path, 1)) == "gone"


def test_the_writers_state_can_be_read_from_a_read_only_file(other):
    other.path.chmod(0o444)
    assert writer_state(other.path) == "writing"


def test_a_file_that_is_not_there_is_one_clear_sentence(tmp_path):
    with pytest.raises(RecordingFault, match="can't be opened: No such file"):
        writer_state(tmp_path / "none")


def test_a_program_started_by_the_writer_does_not_keep_the_lock(tmp_path):
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096)
    child = subprocess.Popen(["cat"], stdin=subprocess.PIPE, close_fds=False)
    writer.close("done", 0)
    assert writer_state(writer.path) == "gone"
    child.communicate()
