"""Fuzzes targets one after the other, and prints what was tried and found.

    python -m tests.fuzz display codec --for 60      each for a minute
    python -m tests.fuzz                             all of them
    python -m tests.fuzz display --input FILE        tries one input, and shows its traceback

Exit status 1 if anything was found. The inputs that found something are named, and stay.
"""

from __future__ import annotations

import argparse
import importlib
import random
import subprocess
import sys
import tempfile
from pathlib import Path

import msgspec

from tests.fuzz.corpus_files import TARGETS
from tests.fuzz.counted import Tally

HEADS = ("target", "inputs", "s", "us an input", "longest s", "tracebacks", "hangs over 1 s", "findings")


def fuzz(target: str, seconds: int, seed: int, folder: Path) -> Tally:
    """Fuzzes a target in a process of its own. `folder` gets the inputs, and what the process printed."""
    folder.mkdir(parents=True, exist_ok=True)
    command = [sys.executable, "-m", "tests.fuzz.guided", target, f"{seconds}", f"{seed}", str(folder)]
    with (folder / "printed").open("wb") as printed:
        ended = subprocess.run(command, stdin=subprocess.DEVNULL, stdout=printed, stderr=printed, check=False)
    if ended.returncode or not (folder / "tally.json").exists():
        raise RuntimeError(f"{target}: exit status {ended.returncode}; see {folder / 'printed'}")
    return msgspec.json.decode((folder / "tally.json").read_bytes(), type=Tally)


def table(tallies: list[Tally]) -> str:
    """What was tried, a line for each target, and below it what was found."""
    rows = [HEADS, *map(_row, tallies)]
    widths = [max(len(row[column]) for row in rows) for column in range(len(HEADS))]
    lines = ["  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)) for row in rows]
    for tally in tallies:
        for found in tally.findings:
            lines += ["", f"{tally.target}: {found.where}, {found.times} times: {found.file}", found.text]
    return "\n".join(lines)


def _row(tally: Tally) -> tuple[str, ...]:
    each_us = 1e6 * tally.processor_s / max(1, tally.inputs)
    return (
        tally.target,
        f"{tally.inputs}",
        f"{tally.processor_s:.0f}",
        f"{each_us:.0f}",
        f"{tally.longest_s:.2f}",
        f"{tally.tracebacks}",
        f"{tally.hangs}",
        f"{len(tally.findings)}",
    )


def main(arguments: list[str]) -> int:
    """Runs the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("targets", nargs="*", metavar="TARGET", help=", ".join(TARGETS))
    parser.add_argument("--for", dest="seconds", type=int, default=60, help="seconds for each target")
    parser.add_argument("--seed", type=int, default=random.SystemRandom().randrange(1, 10**6))
    parser.add_argument("--input", type=Path, help="a file to try instead")
    given = parser.parse_args(arguments)
    targets = given.targets or list(TARGETS)
    if unknown := set(targets) - set(TARGETS):
        parser.error(f"there is no target {', '.join(sorted(unknown))}: {', '.join(TARGETS)}")
    if given.input is not None:
        importlib.import_module(f"tests.fuzz.{targets[0]}").one(given.input.read_bytes())
        return 0
    folder = Path(tempfile.mkdtemp(prefix="fuzz-"))
    print(f"seed {given.seed}; the inputs are in {folder}", flush=True)
    tallies = [fuzz(target, given.seconds, given.seed, folder / target) for target in targets]
    print(table(tallies))
    return 1 if any(tally.findings for tally in tallies) else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
