"""How soon the demonstration shows its first caption, in virtual time.

Starting the processes and the browser comes on top: python -m tests.benchmarks.bench_first_caption.
"""

from __future__ import annotations

import datetime

from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from exhibit.records.simulated_rehearsal import SimulatedRun
from exhibit.web.places import scripts_folder

WALL = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
SOON_US = 10_000_000
"""Its share of the 15 s from `exhibit demo` to the first caption; the rest is for starting."""


def test_the_first_seen_caption_comes_soon_and_rests_on_received_bytes():
    entries: list[kinds.Entry] = []
    SimulatedRun(read_folder(scripts_folder() / "whimbrel"), Wanted(rounds=1), WALL, entries.append).run()
    first = next(e for e in entries if isinstance(e.fact, kinds.CaptionShown) and e.fact.kind == "seen")
    assert isinstance(first.fact, kinds.CaptionShown)
    by_number = {entry.seq: entry.fact for entry in entries}
    assert any(isinstance(by_number[seq], kinds.BytesReceived) for seq in first.fact.because)
    assert first.at_us <= SOON_US
