"""Recordings and folders changed by chance: no traceback, no hang, and memory within bounds.

Each recording is read as each command and each page reads one, and each folder is checked. What once found
something is in `corpus/`, and is tried in every run.
"""

from __future__ import annotations

import collections
import multiprocessing
from collections.abc import Iterable
from pathlib import Path

import pytest

from tests.sampling import SEED, WHOLE, number_of
from tests.strangers.limits_of_trials import limit_memory, what_goes_wrong
from tests.strangers.mutated_folders import FOLDER_WAYS, mutated_folder
from tests.strangers.mutated_recordings import WAYS, mutated, written
from tests.strangers.read_everywhere import prepare, ways
from tests.strangers.trying import Found, try_folders, try_recordings

RECORDINGS = number_of(10_000, 3)
FOLDERS = number_of(2_000, 2)
CORPUS = Path(__file__).parent / "corpus"
KEPT = {
    14: "the display has -2**63 columns: the screen was painted for ever",
    111: "100,000 line ends in the first line: each was looked at as a line, for seconds",
    124: "the same, before the second line: the page read them all at once",
    134: "the same, after the first fact",
    2539: "damage just before a mark of an earlier mending: what was mended was damaged",
    7199: "a mark that counts more facts than are missing: the same",
}
"""Recordings by number, and what each of them found."""
KEPT_FOLDERS = {
    20: "a number of 90,000 digits: Python's own error, as a traceback",
    48: "a number of 5,000 digits: a traceback from the check of captions, which parsed the file again",
    63: "a bomb: the check of captions parsed it without bounds",
    288: "a number where a table belongs: --explain ended in a traceback",
    66: "a list of a table and a text: --explain ended in a traceback",
}

a_trial = pytest.mark.trial(name="strangers-files")


def _in_a_process(what: str, numbers: Iterable[int]) -> tuple[list[Found], collections.Counter[str]]:
    """Tries them in a process that can take half a gigabyte more than it has."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(_tried, (what, list(numbers)))


def _tried(what: str, numbers: list[int]) -> tuple[list[Found], collections.Counter[str]]:
    limit_memory()
    done = collections.Counter[str]()
    return list((try_recordings if what == "recordings" else try_folders)(numbers, done)), done


def _numbers(many: int) -> range:
    first = 0 if WHOLE else SEED * many
    return range(first, first + many)


@a_trial
def test_no_recording_hangs_or_ends_in_a_traceback():
    found, done = _in_a_process("recordings", _numbers(RECORDINGS))
    assert found == []
    assert not WHOLE or set(done) == set(WAYS)


@a_trial
def test_no_folder_hangs_or_ends_in_a_traceback():
    found, done = _in_a_process("folders", _numbers(FOLDERS))
    assert found == []
    assert not WHOLE or set(done) == set(FOLDER_WAYS)


@pytest.mark.parametrize("number", KEPT, ids=KEPT.get)
def test_a_recording_that_once_found_something_no_longer_does(number: int):
    assert _in_a_process("recordings", [number])[0] == []


@pytest.mark.parametrize("number", KEPT_FOLDERS, ids=KEPT_FOLDERS.get)
def test_a_folder_that_once_found_something_no_longer_does(number: int):
    assert _in_a_process("folders", [number])[0] == []


@pytest.mark.parametrize("path", sorted(CORPUS.glob("*.exhibit")), ids=lambda path: path.stem)
def test_what_is_in_the_corpus_no_longer_finds_anything(path: Path, tmp_path: Path):
    kept = tmp_path / "r" / path.name
    kept.parent.mkdir()
    kept.write_bytes(path.read_bytes())
    with pytest.MonkeyPatch.context() as patched:
        prepare(patched)
        wrong = {name: what_goes_wrong(do) for name, do in ways(kept, tmp_path / "cache", 1).items()}
    assert {name: what for name, what in wrong.items() if what} == {}


def test_the_same_number_makes_the_same_recording_and_folder():
    assert mutated(3)[0] == mutated(3)[0]
    assert mutated_folder(3)[0] == mutated_folder(3)[0]


def test_a_changed_fact_has_a_right_checksum(tmp_path: Path):
    """Otherwise it would count as damage, and nothing of it would be tried."""
    from exhibit.streams.recording import read_all
    from tests.strangers.mutated_recordings import _round

    path = tmp_path / "a.exhibit"
    path.write_bytes(written(_round()[:50]))
    recording = read_all(path)
    assert len(recording.entries) == 50
    assert recording.damages == []
