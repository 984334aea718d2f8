"""A recording that the bridge itself makes from a line paced at 9600 baud: its size, its replay, a seek.

    python -m tests.benchmarks.bench_day [HOURS [RATE]]

The line is a pseudo-terminal that is fed 960 characters a second of the recording's clock, which runs
RATE times as fast as real (20 unless told otherwise): half an hour takes a minute and a half, the
8 hours of a museum's day 24 minutes. Nothing here passes or fails.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
import tty
from pathlib import Path

from exhibit.streams.recording import read_opened
from exhibit.web.places import scripts_folder
from tests.benchmarks.bench_recording import replaying, seeking
from tests.bridge.stage import end, recording_of, start

BYTES_PER_S = 960
FRAME = b"\x1b[H" + b"".join(
    b"\x1b[%d;1HROW %02d  TIDE %%05d HIGH WATER 06:12 4.31 M" % (row, row) for row in range(1, 23)
)
LINES = b"TIDE %05d HIGH WATER 06:12 4.31 M  LOW WATER 12:25 0.87 M\r\n"


def console(number: int) -> bytes:
    """A machine that never pauses: scrolling lines, and every so often a painted screen."""
    if number % 40 == 39:
        return FRAME % ((number,) * 22)
    return LINES % (number % 100_000)


def feed(master: int, hours: float, rate: float) -> None:
    end = int(hours * 3600 * BYTES_PER_S)
    sent = number = 0
    began_s = time.monotonic()
    while sent < end:
        due = (time.monotonic() - began_s) * rate * BYTES_PER_S
        while sent < min(due, end):
            data = console(number)
            number += 1
            sent += len(data)
            while data:
                data = data[os.write(master, data) :]
        time.sleep(0.005)


def until_all_is_written(path: Path) -> None:
    """A bridge that could not keep up has a queue to work off: heartbeats alone are small."""
    before_bytes = -1
    while path.stat().st_size - before_bytes > 2000:
        before_bytes = path.stat().st_size
        time.sleep(3)


def main() -> None:
    hours = float(sys.argv[1]) if len(sys.argv) > 1 else 0.5
    rate = float(sys.argv[2]) if len(sys.argv) > 2 else 20.0
    with tempfile.TemporaryDirectory() as name:
        master, slave = os.openpty()
        tty.setraw(slave)
        device = os.ttyname(slave)
        os.close(slave)
        arguments = ["bridge", f"{scripts_folder() / 'whimbrel'}"]
        arguments += ["--line", device, "--recordings", f"{name}/recordings", "--rate", f"{rate}", "--watch"]
        bridge = start(*arguments)
        path = recording_of(bridge)
        began_s = time.monotonic()
        feed(master, hours, rate)
        made_s = time.monotonic() - began_s
        until_all_is_written(path)
        end(bridge)
        os.close(master)
        size_mb = path.stat().st_size / 1e6
        print(f"{read_opened(path).software} recorded {hours:g} h of a full 9600 baud line in {made_s:.0f} s")
        print(f"  {size_mb:.1f} MB, so {size_mb * 8 / hours:.1f} MB for 8 hours (aim <= 150)")
        replaying(path, hours)
        with path.open("rb") as file:
            seq = sum(1 for _ in file)
        seeking(path, Path(name) / "cache", seq)


if __name__ == "__main__":
    main()
