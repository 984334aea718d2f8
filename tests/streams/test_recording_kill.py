"""kill -9 of a writer at 50 moments: every file reads to its last whole line, and nothing given is lost."""

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from exhibit.streams.recording import read_all, writer_state

ROOT = Path(__file__).resolve().parents[2]
MOMENTS = 50

# Appends as fast as it can, and prints the number of every hundredth fact. `sys.argv[2]` says where it stops
# to be killed: anywhere, in the middle of a write (half the line is written), or in the middle of a sync.
APPENDS_FLAT_OUT = """
import os, sys, time
from pathlib import Path
from exhibit.streams import recording_writer, syncer
from exhibit.streams.recording_writer import RecordingWriter
from tests.streams.samples import an_opening, some_facts
where = sys.argv[2]
writer = RecordingWriter(Path(sys.argv[1]), an_opening(), reserve_bytes=4096, sync_every_s=0.001)
print(writer.path, flush=True)
really_write, really_sync = os.write, os.fdatasync
def say(what):
    really_write(1, f"{what}\\n".encode())  # whole, whichever thread says it
if where == "write":
    def write(fd, data):
        if writer._seq % 97 == 0:
            really_write(fd, data[: len(data) // 2])
            say("held")
            time.sleep(600)
        return really_write(fd, data)
    os.write = write
if where == "sync":
    def sync(fd):
        late = writer._seq > 200
        if late:
            say("held")
        really_sync(fd)
        if late:
            time.sleep(600)
    os.fdatasync = sync
facts = some_facts(1000)
while True:
    for fact, at_us in facts:
        entry = writer.append(fact, at_us)
        if entry.seq % 100 == 0:
            say(entry.seq)
"""


@pytest.mark.parametrize("where", ["anywhere", "write", "sync"])
def test_it_reads_to_the_last_whole_line(tmp_path, where):
    chance = random.Random(where)
    moments = MOMENTS - 20 if where == "anywhere" else 10
    torn = 0
    for moment in range(moments):
        folder = tmp_path / str(moment)
        process = subprocess.Popen(
            [sys.executable, "-c", APPENDS_FLAT_OUT, folder, where],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        )
        path = Path(process.stdout.readline().strip())
        acknowledged = 0
        if where == "anywhere":
            # It certainly got this far; then a short wait, so that the kill can hit any instruction.
            enough = chance.choice([100, 500])
            while acknowledged < enough:
                acknowledged = int(process.stdout.readline())
            time.sleep(chance.random() / 200)
        else:
            while (said := process.stdout.readline().strip()) != "held":
                acknowledged = int(said)
        os.kill(process.pid, signal.SIGKILL)
        for said in process.communicate()[0].split():
            acknowledged = max(acknowledged, int(said) if said.isdigit() else 0)

        assert writer_state(path) == "gone"
        read = read_all(path)
        content = path.read_bytes()
        whole_lines = content.count(b"\n")
        assert [entry.seq for entry in read.entries] == list(range(1, whole_lines + 1))
        assert len(read.entries) >= acknowledged
        assert read.end.offset_bytes == content.rindex(b"\n") + 1
        assert len(read.damages) == (read.end.offset_bytes < len(content))
        assert all(damage.torn and damage.offset_bytes == read.end.offset_bytes for damage in read.damages)
        torn += len(read.damages)
    if where == "write":
        assert torn == moments
