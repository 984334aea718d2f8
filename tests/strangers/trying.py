"""Tries the mutated recordings and folders, each within a second and little memory.

    python -m tests.strangers.trying recordings FIRST COUNT
    python -m tests.strangers.trying folders FIRST COUNT

prints what goes wrong as it is found, and then how often each way of changing was tried.
"""

from __future__ import annotations

import collections
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

import exhibit.folder.report.noise_risks as noise_risks
from exhibit.commands.cli import main as command_line
from tests.strangers.limits_of_trials import LONGEST_S, limit_memory, what_goes_wrong
from tests.strangers.mutated_folders import FOLDERS, mutated_folder, write_folder
from tests.strangers.mutated_recordings import mutated
from tests.strangers.read_everywhere import prepare, ways

Found = tuple[int, str, str]
"""The number of what was tried, how it was read, and what went wrong."""


def try_recordings(numbers: Iterable[int], done: collections.Counter[str]) -> Iterator[Found]:
    """What goes wrong with the recordings of these numbers; counts what was done to them."""
    with pytest.MonkeyPatch.context() as patched, tempfile.TemporaryDirectory() as place:
        prepare(patched)
        path, cache = Path(place, "r", "stranger.exhibit"), Path(place, "cache")
        path.parent.mkdir()
        for number in numbers:
            content, how = mutated(number)
            done.update(how)
            for name, wrong in recording_tried(content, path, cache, number):
                yield number, name, wrong


def recording_tried(content: bytes, path: Path, cache: Path, number: int) -> Iterator[tuple[str, str]]:
    """What goes wrong in each way of reading this recording."""
    path.unlink(missing_ok=True)
    path.write_bytes(content)
    for name, do in ways(path, cache, number).items():
        if wrong := what_goes_wrong(do):
            yield name, wrong
    for kept in cache.glob("*"):
        kept.unlink()


def try_folders(numbers: Iterable[int], done: collections.Counter[str]) -> Iterator[Found]:
    """What goes wrong with the folders of these numbers; counts what was done to them.

    What noise could do takes seconds to work out even for our own folders, and is left out here.
    """
    with pytest.MonkeyPatch.context() as patched, tempfile.TemporaryDirectory() as place:
        patched.setattr(noise_risks, "LONGEST_COMMAND", 3)
        usual_s = max(_usual_s(files, Path(place, f"usual-{n}")) for n, files in enumerate(FOLDERS))
        for number in numbers:
            files, how = mutated_folder(number)
            done.update(how)
            wrong = folder_tried(files, Path(place, f"{number}"), usual_s, explain=number % 3 == 0)
            if wrong:
                yield number, "check", wrong


def folder_tried(files: dict[str, bytes], place: Path, usual_s: float, *, explain: bool) -> str:
    """What goes wrong when this folder is checked; it may take a second more than one of ours."""
    place.mkdir()
    write_folder(place, files)
    return what_goes_wrong(_check(place, *(["--explain"] if explain else [])), usual_s + LONGEST_S)


def _usual_s(files: dict[str, bytes], place: Path) -> float:
    """How long it takes to check a folder of ours, in processor time."""
    place.mkdir()
    write_folder(place, files)
    began_s = time.process_time()
    _check(place)()
    return time.process_time() - began_s


def _check(place: Path, *more: str) -> Callable[[], None]:
    def check() -> None:
        done = CliRunner().invoke(command_line, ["check", f"{place}", *more])
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        if done.exit_code not in (0, 1, 2):
            raise AssertionError(f"the exit status is {done.exit_code}")

    return check


def main(what: str, first: str, count: str) -> None:
    """Tries them, and prints."""
    began_s, done, bad = time.monotonic(), collections.Counter[str](), 0
    limit_memory()
    numbers = range(int(first), int(first) + int(count))
    for number, name, wrong in (try_recordings if what == "recordings" else try_folders)(numbers, done):
        bad += 1
        print(f"{what} {number}: {name}: {wrong}", flush=True)
    took_s, memory = time.monotonic() - began_s, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"{count} {what} in {took_s:.0f} s, at most {memory} MB: {bad} went wrong")
    for how, times in sorted(done.items()):
        print(f"{times:7} {how}")


if __name__ == "__main__":
    main(*sys.argv[1:])
