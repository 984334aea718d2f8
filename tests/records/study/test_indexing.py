"""The indexes are brought up to date in a process of its own, and whoever asks too early is told so."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from exhibit.facts.errors import RecordingFault
from exhibit.records.study import indexing as indexing_module
from exhibit.records.study.indexing import Indexing
from tests.streams.samples import a_recording


def test_what_is_asked_is_up_to_date(tmp_path: Path) -> None:
    a_recording(tmp_path, 20)
    indexing = Indexing()
    indexing.start([(tmp_path, ())])
    with indexing.asked(tmp_path, ()) as index:
        assert len(index.recordings()) == 1
    indexing.end()


def test_the_process_has_read_it_before_anybody_asks(tmp_path: Path) -> None:
    a_recording(tmp_path, 20)
    indexing = Indexing()
    indexing.start([(tmp_path, ())])
    until_s = time.monotonic() + 60
    while not (tmp_path / "exhibit-index.sqlite").exists() or not indexing._done.is_set():
        assert time.monotonic() < until_s
        time.sleep(0.05)
    assert indexing._child is not None
    assert indexing._child.returncode == 0


def test_whoever_asks_too_early_is_told_in_sentences(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(indexing_module, "LONGEST_WAIT_S", 0.01)
    indexing = Indexing()
    indexing._done.clear()
    with (
        pytest.raises(RecordingFault, match="still being read for the first time"),
        indexing.asked(tmp_path, ()),
    ):
        pass


def test_it_ends_with_the_page_and_so_does_whatever_it_has_started(tmp_path: Path) -> None:
    for number in range(60):
        (tmp_path / "one").mkdir(exist_ok=True)
        a_recording(tmp_path / "one", 2_000).rename(tmp_path / f"{number}.exhibit")
    indexing = Indexing()
    indexing.start([(tmp_path, ())])
    until_s = time.monotonic() + 60
    while indexing._child is None or not started_by(indexing._child.pid):
        assert time.monotonic() < until_s
        time.sleep(0.02)
    started = started_by(indexing._child.pid)
    indexing.end()
    until_s = time.monotonic() + 10
    while any(is_there(pid) for pid in started):
        assert time.monotonic() < until_s
        time.sleep(0.02)
    assert indexing._done.wait(30)


def started_by(pid: int) -> list[int]:
    """The processes of its session besides itself, as /proc has them."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if int(fields[3]) == pid and int(stat.parent.name) != pid:
            found.append(int(stat.parent.name))
    return found


def is_there(pid: int) -> bool:
    """Whether it still runs; one that has ended and waits to be asked about doesn't."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False
