"""Searches the words of notes, which are in files of their own and never in the index."""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

from exhibit.records.index.asking import Index
from exhibit.records.index.rows import NoteRow, SaidRow

KEPT_IN: Final = "saved/notes"
"""Where the docent's page keeps notes, within the folder of the recordings, unless it was told otherwise."""
LONGEST_BYTES: Final = 64 * 1024
_DIGEST: Final = re.compile(r"[0-9a-f]{64}")


def notes_with(index: Index, folder: Path, wanted: Callable[[str], bool]) -> Iterator[SaidRow]:
    """The notes of the recordings whose words are there in `folder` and are wanted."""
    for note in index.rows(NoteRow, kind="note"):
        text = words_of(folder, note.digest)
        if text and wanted(text):
            yield SaidRow(
                recording=note.recording,
                seq=note.seq,
                at=note.at,
                at_us=note.at_us,
                kind="note_made",
                step="",
                by=note.by,
                text=" ".join(text.split()),
            )


def words_of(folder: Path, digest: str) -> str:
    """The words of a note; empty if they were erased, or its file can't be read."""
    if not _DIGEST.fullmatch(digest):
        return ""
    try:
        fd = os.open(folder / f"{digest}.txt", os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC)
        with os.fdopen(fd, "rb") as file:
            if not stat.S_ISREG(os.fstat(fd).st_mode):
                return ""
            return file.read(LONGEST_BYTES).decode("utf-8", "replace")
    except OSError:
        return ""
