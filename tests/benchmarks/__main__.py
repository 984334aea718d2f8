"""All benchmarks, one after the other: `python -m tests.benchmarks`, or some: `... waiting paint`."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent


def main() -> None:
    wanted = sys.argv[1:]
    for path in sorted(HERE.glob("bench_*.py")):
        name = path.stem.removeprefix("bench_")
        if not wanted or name in wanted:
            print(f"\n=== {name}", flush=True)
            subprocess.run(
                [sys.executable, "-m", f"tests.benchmarks.{path.stem}"], check=True, cwd=HERE.parents[1]
            )


if __name__ == "__main__":
    main()
