"""Copies recordings to a second place, and proves that they have arrived by reading them there."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import msgspec

from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.records.keeping.jsonl import add_line, lines_in, sync_folder
from exhibit.records.keeping.verifying import recordings_in
from exhibit.streams.recording import writer_state
from exhibit.streams.recording_fault import as_recording_fault

LIST: Final = "copied.jsonl"
"""In the second place: a line for each file that has arrived."""
_PIECE_BYTES: Final = 1024 * 1024


class Copied(msgspec.Struct, frozen=True, kw_only=True):
    """A file that has arrived: it was read back there, and was the same."""

    file: str
    bytes: int
    sha256: str
    read_back: str
    """When that was (RFC 3339)."""
    changed_ns: int
    """When the file it was copied from was last changed, in nanoseconds since 1970."""


class Said(msgspec.Struct, frozen=True):
    """What became of one file."""

    file: str
    what: str
    is_wrong: bool = False


def copy(paths: Sequence[Path], place: Path, now: str) -> list[Said]:
    """Copy what isn't there yet of these recordings, and of these folders. Raises SetUpFault, RecordingFault.

    A file that is there and differs is never overwritten; that is said. `now` is the time (RFC 3339).
    """
    if not place.is_dir():
        raise SetUpFault(
            f"There is no folder {place}.",
            "If the second disc isn't there, a copy would end up on this one.",
            "Connect the disc, or make the folder first.",
        )
    listed = {line.file: line for line in lines_in(place / LIST, Copied)}
    return [_copy_one(path, place, listed, now) for path in recordings_in(paths)]


def _copy_one(path: Path, place: Path, listed: dict[str, Copied], now: str) -> Said:
    if writer_state(path) == "writing":
        return Said(path.name, "still being written, and not copied")
    known, to = listed.get(path.name), place / path.name
    with as_recording_fault(path, "be copied"):
        status = path.stat()
        is_known = known is not None and (known.bytes, known.changed_ns) == (
            status.st_size,
            status.st_mtime_ns,
        )
        if known is not None and is_known and to.exists() and to.stat().st_size == known.bytes:
            return Said(path.name, f"there since {known.read_back[:10]}")
        if to.exists():
            digest = _digest(path)
            if _read_back(to) != digest:
                what = "another file of this name is there, and was left as it is: look at both"
                return Said(path.name, what, is_wrong=True)
        else:
            digest = _written(path, to)
            if _read_back(to) != digest:
                to.unlink()
                return Said(path.name, "what was read back differs, so the copy was removed", is_wrong=True)
        line = Copied(
            file=path.name,
            bytes=status.st_size,
            sha256=digest,
            read_back=now,
            changed_ns=status.st_mtime_ns,
        )
    add_line(place / LIST, line)
    return Said(path.name, f"copied, and read back: {status.st_size:,} bytes, SHA-256 {digest[:16]}...")


def check(place: Path) -> list[Said]:
    """Read every file that has arrived in this place again. Raises SetUpFault, RecordingFault."""
    listed = {line.file: line for line in lines_in(place / LIST, Copied)}
    if not listed:
        raise SetUpFault(
            f"{place} has no list of copied recordings.",
            f"`exhibit copy` keeps it there, as {LIST}.",
            "Name the folder to which recordings were copied.",
        )
    found = []
    for name, line in listed.items():
        if Path(name).name != name:
            continue
        try:
            with as_recording_fault(place / name, "be read"):
                same = _read_back(place / name) == line.sha256
            found.append(Said(name, "as it arrived" if same else "not as it arrived", is_wrong=not same))
        except RecordingFault as fault:
            found.append(Said(name, fault.what, is_wrong=True))
    return found


def is_copied(path: Path, place: Path) -> bool:
    """Whether this file, as it is now, has arrived in that place and is still there, by its size."""
    status, to = path.stat(), place / path.name
    return any(
        (line.file, line.bytes, line.changed_ns) == (path.name, status.st_size, status.st_mtime_ns)
        and to.is_file()
        and to.stat().st_size == line.bytes
        for line in lines_in(place / LIST, Copied)
    )


def refuse(said: Sequence[Said]) -> None:
    """Raises RecordingFault if something is wrong with one of these."""
    wrong = [one.file for one in said if one.is_wrong]
    if wrong:
        raise RecordingFault(
            f"{len(wrong)} of {len(said)} files aren't there as they should be, such as {wrong[0]}.",
            "Don't remove the recordings they were copied from.",
            "Check the second disc, then copy again.",
        )


def _written(path: Path, to: Path) -> str:
    """Copy the file, and wait until it is on the disc there. Returns SHA-256 of what was read."""
    digest = hashlib.sha256()
    arriving = to.with_name(f".{to.name}.arriving")
    try:
        with path.open("rb") as file, arriving.open("wb") as out:
            while piece := file.read(_PIECE_BYTES):
                digest.update(piece)
                out.write(piece)
            out.flush()
            os.fsync(out.fileno())
        arriving.rename(to)
    finally:
        arriving.unlink(missing_ok=True)
    sync_folder(to.parent)
    return digest.hexdigest()


def _read_back(path: Path) -> str:
    """SHA-256 of a file, read from the disc as far as the operating system lets go of what it remembers."""
    with path.open("rb") as file:
        os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
        return hashlib.file_digest(file, "sha256").hexdigest()


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
