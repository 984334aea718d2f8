"""What finding the newest recording costs the pages' event loop, with few recordings and with many.

    python -m tests.benchmarks.bench_folder

Beside it: what it costs to list and read everything at once, as the bridge does when it starts. Milliseconds
of processor time, of one run on one computer. Nothing here passes or fails.
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from exhibit.streams.recording import RecordingFolder
from tests.web.file_work import many

COUNTS = (15, 150, 1500)
LOOKS = 200
LONG_AGO_S = 1_000_000_000


def took_ms(work: Callable[[], object]) -> float:
    began_s = time.thread_time()
    work()
    return (time.thread_time() - began_s) * 1000


def looks_ms(folder: RecordingFolder) -> list[float]:
    return sorted(took_ms(lambda: (folder.read_on(), folder.newest_so_far("whimbrel"))) for _ in range(LOOKS))


def measure(count: int) -> dict[str, list[float]]:
    """By what is done: how long it took each time, shortest first."""
    with tempfile.TemporaryDirectory() as name:
        path = Path(name)
        many(path, count)
        folder = RecordingFolder(path)
        more, turns = [True], []
        while more[-1]:
            turns.append(took_ms(lambda: more.append(folder.read_on())))
        in_order = took_ms(folder.newest_so_far)
        changed = looks_ms(folder)
        os.utime(path, (LONG_AGO_S, LONG_AGO_S))
        folder.read_on()
        unchanged = looks_ms(folder)
        return {
            "a look, nothing has changed": unchanged,
            "a look just after a change": changed,
            "putting them in order, after one": [in_order],
            "a turn of first lines, at the start": sorted(turns),
            "all at once": [took_ms(lambda: RecordingFolder(path).newest("whimbrel"))],
        }


def main() -> None:
    measured = {count: measure(count) for count in COUNTS}
    heads = "".join(f"{f'{count} recordings':>22}" for count in COUNTS)
    print(f"  {'median and worst, in ms':36}{heads}")
    for what in measured[COUNTS[0]]:
        row = "".join(
            f"{times[len(times) // 2]:13.3f} {times[-1]:8.3f}"
            for times in (measured[count][what] for count in COUNTS)
        )
        print(f"  {what:36}{row}")


if __name__ == "__main__":
    main()
