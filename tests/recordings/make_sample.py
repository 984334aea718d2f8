"""Makes the sample recording that travels with the package: a day of the Whimbrel with one round.

python -m tests.recordings.make_sample     writes recordings/whimbrel-one-round.exhibit

The scripts are run against the simulated machine in one thread and in virtual time, at the machine's own
speed, with the docent that the folder describes. It takes seconds, so that the sample can follow the format
until that has been published.
"""

from __future__ import annotations

import datetime
import shutil
import tempfile
from pathlib import Path

from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from exhibit.records.simulated_rehearsal import SimulatedRun
from exhibit.streams.recording import RecordingWriter
from exhibit.web.places import recordings_folder, scripts_folder

SAMPLE = recordings_folder() / "whimbrel-one-round.exhibit"
WALL = datetime.datetime(2026, 11, 25, 10, 0, tzinfo=datetime.UTC)


def a_day() -> list[kinds.Entry]:
    """Opening, a round, closing."""
    entries: list[kinds.Entry] = []
    folder = read_folder(scripts_folder() / "whimbrel")
    wanted = Wanted(before=("opening",), rounds=1, after=("closing",))
    SimulatedRun(folder, wanted, WALL, entries.append).run()
    return entries


def write(entries: list[kinds.Entry], folder: Path, outcome: kinds.Outcome | None = "done") -> Path:
    """The recording of these facts, ended in good order; `outcome` is that of the scripts."""
    opened = entries[0].fact
    assert isinstance(opened, kinds.RecordingOpened)
    writer = RecordingWriter(folder, opened, reserve_bytes=4096)
    for entry in entries[1:]:
        assert not isinstance(entry.fact, kinds.UnknownFact)
        written = writer.append(entry.fact, entry.at_us)
        assert written.seq == entry.seq  # captions name the facts that they rest on by their numbers
    writer.close(f"the scripts are over: {outcome}", entries[-1].at_us)
    return writer.path


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        shutil.copyfile(write(a_day(), Path(name)), SAMPLE)
    print(SAMPLE)
