"""How long a visitor's page waits while a stranger wants the web process for himself.

    python -m tests.benchmarks.bench_crowds [SECONDS] [HOW ...]

By default each of the ways of tests/web/crowd.py for 15 s. Aims: no answer later than 150 ms, and memory back
within 10 MB. "Work" is the web process's own processor time while the page waits, which says more on a
computer that has other things to do.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.web.crowd import HOWS
from tests.web.test_crowds import attack


def main() -> None:
    arguments = sys.argv[1:]
    seconds = float(arguments.pop(0)) if arguments and arguments[0].isdecimal() else 15.0
    for how in arguments or HOWS:
        with tempfile.TemporaryDirectory() as name:
            seen = attack(how, Path(name) / "recordings", seconds)
        print(
            f"{how:14} a page waits half the time {float(seen['median_s']) * 1000:4.0f} ms, at most "
            f"{float(seen['longest_s']) * 1000:5.0f} ms "
            f"({float(seen['work_s']) * 1000:4.0f} ms of work); the page itself comes in "
            f"{float(seen['fetched_s']) * 1000:5.0f} ms; memory {float(seen['most_kB']) / 1000:+6.1f} MB, "
            f"then {float(seen['kept_kB']) / 1000:+5.1f} MB; {seen['became']}",
            flush=True,
        )


if __name__ == "__main__":
    main()
