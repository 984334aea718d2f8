"""The indexes are brought up to date in a process of its own, and whoever asks too early is told so."""

from __future__ import annotations

import threading
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


def test_it_ends_at_once_when_the_page_ends(tmp_path: Path) -> None:
    for number in range(3):
        (tmp_path / f"{number}").mkdir()
        a_recording(tmp_path / f"{number}", 20)
    indexing = Indexing()
    indexing.start([(tmp_path / f"{number}", ()) for number in range(3)])
    indexing.end()
    for thread in threading.enumerate():
        if thread.name == "indexing":
            thread.join(30)
    assert indexing._done.is_set()
