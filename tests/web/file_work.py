"""Folders with many recordings, and counts of the file operations when they are read."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from exhibit.facts import codec, kinds
from exhibit.streams import recording_files
from exhibit.streams.recording import SUFFIX
from tests.pages import made_facts


def many(folder: Path, count: int) -> None:
    """Make this many short recordings of days long past."""
    previous = ""
    for number in range(count):
        date = f"{2001 + number // 336}-{number // 28 % 12 + 1:02}-{number % 28 + 1:02}"
        opening = made_facts.opened(wall=f"{date}T09:00:00.000+00:00", previous_file=previous)
        previous = f"whimbrel-{date}T09-00-00{SUFFIX}"
        line, _ = codec.encode_line(kinds.Entry(1, 0, opening), codec.FIRST_CRC)
        (folder / previous).write_bytes(line)


class FileWork:
    """Counts file operations: folders listed, first lines of recordings read."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.listings = self.first_lines = 0
        monkeypatch.setattr(os, "scandir", self._listing(os.scandir))
        monkeypatch.setattr(os, "listdir", self._listing(os.listdir))
        self._really_read = recording_files.read_opened
        monkeypatch.setattr(recording_files, "read_opened", self._read_opened)

    def _listing(self, really: Callable[[Path], object]) -> Callable[[Path], object]:
        def listing(path: Path) -> object:
            self.listings += 1
            return really(path)

        return listing

    def _read_opened(self, path: Path) -> kinds.RecordingOpened:
        self.first_lines += 1
        return self._really_read(path)

    def of(self, step: Callable[[], object]) -> tuple[int, int]:
        """The listings and first lines during one step."""
        self.listings = self.first_lines = 0
        step()
        return self.listings, self.first_lines
