"""Compresses the recordings of closed days, and removes a plain one only after reading back its copy."""

from __future__ import annotations

import hashlib
import os
import shutil
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path

import msgspec

from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.records.keeping.jsonl import sync_folder
from exhibit.streams.compressed.compressing import compress
from exhibit.streams.compressed.frames import MOST_BYTES
from exhibit.streams.compressed.names import COMPRESSED, SUFFIX
from exhibit.streams.recording import RecordingFolder, read_opened, writer_state
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_reader import open_recording

_PIECE_BYTES = 1024 * 1024


class Closed(msgspec.Struct, frozen=True):
    """A recording that can be compressed, or why it isn't."""

    path: Path
    size_bytes: int
    why_not: str = ""


def closed_days(folders: Sequence[Path], today: date) -> list[Closed]:
    """The plain recordings in these folders, oldest first. Raises SetUpFault, RecordingFault."""
    found = []
    for folder in folders:
        if not folder.is_dir():
            raise SetUpFault(
                f"{folder} is not a folder.",
                "Recordings are compressed a folder at a time, all but the newest of each machine.",
                "Name the folder of the recordings.",
            )
        files = RecordingFolder(folder).recordings()
        newest = {file.machine: file.path for file in files}
        for file in files:
            if file.path.suffix == SUFFIX:
                why_not = _why_not(file.path, newest[file.machine], today)
                found.append(Closed(file.path, file.path.stat().st_size, why_not))
    return found


def _why_not(path: Path, newest: Path, today: date) -> str:
    if writer_state(path) == "writing":
        return "it is still being written"
    if path == newest:
        return "it is the newest of its machine, which the next run reads"
    if read_wall(read_opened(path).wall).date() >= today:
        return "it is of today"
    return ""


def compress_recording(path: Path) -> Path:
    """Put a compressed recording in the place of a plain one. Returns where it is.

    The plain one is removed after the compressed one was written, synced, read back and found the same.
    Raises RecordingFault if that fails; the plain one is then still there.
    """
    if path.stat().st_size > MOST_BYTES:
        raise RecordingFault(
            f"{path} has more than {MOST_BYTES // 1024**3} GiB.",
            "No day of a machine has so much, so it couldn't be read again if it were compressed.",
            "Look at it with `exhibit verify`.",
        )
    to = path.with_name(path.name + COMPRESSED)
    arriving = path.with_name(f".{to.name}.arriving-{os.getpid()}")
    with as_recording_fault(to, "be written"):
        if to.exists():
            _check_same(path, to, _digest(path))
        else:
            try:
                with open_recording(path) as plain:
                    before = os.fstat(plain.fileno())
                    digest = compress(plain, arriving)
                    _check_same(path, arriving, digest)
                    shutil.copystat(path, arriving)
                    if _state(os.stat(path)) != _state(before):
                        raise _differs(path)
                arriving.rename(to)
            finally:
                arriving.unlink(missing_ok=True)
        sync_folder(path.parent)
        path.unlink()
        sync_folder(path.parent)
    return to


def _check_same(path: Path, compressed: Path, digest: str) -> None:
    if _digest(compressed) != digest:
        raise _differs(path)


def _digest(path: Path) -> str:
    digest = hashlib.sha256()
    with open_recording(path) as file:
        for piece in _pieces(file.read):
            digest.update(piece)
    return digest.hexdigest()


def _pieces(read: object) -> Iterator[bytes]:
    assert callable(read)
    while piece := read(_PIECE_BYTES):
        yield piece


def _state(status: os.stat_result) -> tuple[int, int, int]:
    return status.st_ino, status.st_size, status.st_mtime_ns


def _differs(path: Path) -> RecordingFault:
    return RecordingFault(
        f"What was read back of the compressed {path.name} is not what the recording has.",
        "So the recording itself was kept, and is as it was.",
        "Check the disc, then try again; if the compressed file was there before, look at it and remove it.",
    )
