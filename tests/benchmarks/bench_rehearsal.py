"""How long it takes to rehearse a recorded day: one of rounds, and one that is only watched, flat out.

    python -m tests.benchmarks.bench_rehearsal [HOURS]

The first is made on the simulated machine in virtual time; of the second, 960 characters come each second
of the recording's clock, a piece every 40 ms. The aim is 60 s for 8 hours. Nothing here passes or fails.
"""

from __future__ import annotations

import datetime
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from exhibit.records.rehearsing import rehearse
from exhibit.records.simulated_rehearsal import SimulatedRun
from exhibit.streams.recording import RecordingWriter
from exhibit.web.places import scripts_folder
from tests.benchmarks.bench_day import console
from tests.streams.samples import SMALL_RESERVE_BYTES, an_opening

FOLDER = scripts_folder() / "whimbrel"
WALL = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
ROUND_S = 190
"""About so long takes a round with its rest."""
PIECE_US = 40_000
PIECE_BYTES = 38


def rounds(hours: float) -> list[kinds.Entry]:
    """A day of rounds."""
    entries: list[kinds.Entry] = []
    wanted = Wanted(rounds=max(1, round(hours * 3600 / ROUND_S)))
    SimulatedRun(read_folder(FOLDER), wanted, WALL, entries.append).run()
    return entries


def flat_out(hours: float) -> Iterator[kinds.Entry]:
    """A machine that never pauses, and is only watched."""
    yield kinds.Entry(1, 0, an_opening())
    yield kinds.Entry(2, 0, kinds.LineOpened(line="a line"))
    data, number = b"", 0
    for piece in range(1, round(hours * 3600e6 / PIECE_US)):
        while len(data) < PIECE_BYTES:
            data += console(number)
            number += 1
        text = kinds.to_text(data[:PIECE_BYTES])
        data = data[PIECE_BYTES:]
        at_us = piece * PIECE_US
        yield kinds.Entry(piece + 2, at_us, kinds.BytesReceived(bytes=text, first_us=at_us - PIECE_US + 1))


def written(entries: Iterator[kinds.Entry], place: Path) -> Path:
    """These entries as a recording."""
    first = next(entries).fact
    assert isinstance(first, kinds.RecordingOpened)
    writer = RecordingWriter(place, first, reserve_bytes=SMALL_RESERVE_BYTES)
    at_us = 0
    for entry in entries:
        at_us = entry.at_us
        writer.append(entry.fact, at_us)  # type: ignore[arg-type]
    writer.close("the day is over", at_us)
    return writer.path


def main() -> None:
    hours = float(sys.argv[1]) if len(sys.argv) > 1 else 1.0
    for name, entries in (("rounds", iter(rounds(hours))), ("flat out", flat_out(hours))):
        with tempfile.TemporaryDirectory() as place:
            path = written(entries, Path(place))
            began_s = time.monotonic()
            rehearse(FOLDER, [path])
            took_s = time.monotonic() - began_s
            size_mb = path.stat().st_size / 1e6
        print(
            f"{name}: {hours:g} h, {size_mb:.0f} MB, rehearsed in {took_s:.1f} s; "
            f"8 h in {took_s * 8 / hours:.0f} s (aim <= 60)"
        )


if __name__ == "__main__":
    main()
