"""How long it takes to sum up what a recorded day used, as each start of the bridge does.

    python tests/benchmarks/bench_use.py [HOURS]

The day is console output flat out at 9600 baud (8 hours unless told otherwise). A start reads the newest
recording alone, however many there are: each begins with what was used before it. Nothing here passes or
fails.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

from exhibit.streams.recording import use_of_recordings
from tests.benchmarks.bench_recording import make_day, opening


def main(hours: float) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path, facts, _ = make_day(folder, hours)
        began_s = time.perf_counter()
        use_of_recordings(folder, opening())
        took_s = time.perf_counter() - began_s
        print(f"a day of {hours:g} hours, {path.stat().st_size / 1e6:.0f} MB, {facts} facts")
        print(f"  summed up in                  {took_s:6.2f} s   {facts / took_s:9,.0f} facts/s")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 8.0)
