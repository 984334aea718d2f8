"""What the two processes weigh, and what they cost when nothing happens.

    python -m tests.benchmarks.bench_weight

PSS is the memory that a process has to itself plus its share of what it shares (proc(5)).
"""

from __future__ import annotations

import os
import tempfile
import time
from pathlib import Path

from tests.bridge.stage import end, first_line, stage, start

IDLE_S = 20.0


def pss_mb(pid: int) -> float:
    text = Path(f"/proc/{pid}/smaps_rollup").read_text()
    return next(int(line.split()[1]) for line in text.splitlines() if line.startswith("Pss:")) / 1000


def used_s(pid: int) -> float:
    """Processor time, own and in the kernel: fields 14 and 15 of proc(5)'s stat."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def main() -> None:
    with tempfile.TemporaryDirectory() as name, stage(Path(name), 1.0) as staged:
        bridge = staged.bridge("--watch")
        web = start("page", "--recordings", f"{staged.recordings}", "--machine", "whimbrel", "--port", "0")
        first_line(web)
        time.sleep(3)
        pids = {"bridge": bridge.process.pid, "web": web.pid}
        before_s = {name: used_s(pid) for name, pid in pids.items()}
        time.sleep(IDLE_S)
        for name, pid in pids.items():
            idle = (used_s(pid) - before_s[name]) / IDLE_S * 100
            print(f"{name:7} {pss_mb(pid):6.1f} MB PSS, {idle:.2f} % of one core with a quiet machine")
        end(web)


if __name__ == "__main__":
    main()
