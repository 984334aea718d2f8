"""Fuzzes one target, guided by which code its inputs reach. It runs in a process of its own.

    python -m tests.fuzz.guided TARGET SECONDS SEED FOLDER

atheris changes the code of the packages that guide it when they are imported. The process ends when the
time is over.
"""

from __future__ import annotations

import importlib
import os
import sys
import time
from pathlib import Path

import atheris

from tests.fuzz.corpus_files import TARGETS, kept
from tests.fuzz.counted import Counted

LONGEST_INPUT_BYTES = 4096
MOST_MEMORY_MB = 1000
"""Of the whole process, with the inputs that atheris collects."""
WRITTEN_EVERY = 50
"""inputs"""


def main(name: str, seconds: int, seed: int, folder: Path) -> None:
    """Fuzzes `name`, and keeps the tally in `folder`."""
    with atheris.instrument_imports(include=[*TARGETS[name]], enable_loader_override=False):
        target = importlib.import_module(f"tests.fuzz.{name}")
    counted = Counted(name, target.one, folder / "found")
    inputs = folder / "inputs"
    inputs.mkdir(parents=True, exist_ok=True)
    for number, data in enumerate([*target.seeds(), *kept(name).values()]):
        (inputs / f"{number:04d}").write_bytes(data)

    until_s = time.monotonic() + seconds

    def one(data: bytes) -> None:
        counted(data)
        is_over = time.monotonic() >= until_s
        if is_over or counted.tally.inputs % WRITTEN_EVERY == 0:
            counted.write(folder / "tally.json")
        if is_over:
            os._exit(0)  # atheris itself looks at the time only now and then

    options = [
        f"-max_len={LONGEST_INPUT_BYTES}",
        f"-rss_limit_mb={MOST_MEMORY_MB}",
        f"-seed={seed}",
        "-len_control=20",
        "-verbosity=0",
    ]
    atheris.Setup([name, *options, str(inputs)], one)
    atheris.Fuzz()


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), Path(sys.argv[4]))
