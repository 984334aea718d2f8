"""Recordings in their folder: their names, which is the newest, and the digests of a machine's folder."""

from __future__ import annotations

import hashlib
import heapq
import os
import re
from collections.abc import Collection, Iterator
from datetime import datetime
from pathlib import Path

import msgspec

from exhibit.facts import codec
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import RecordingOpened
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_reader import SUFFIX, open_recording, read_opened


class RecordingFile(msgspec.Struct, frozen=True):
    """A recording on disc and its first fact."""

    path: Path
    opened: RecordingOpened


class RecordingFolder:
    """A folder of recordings; remembers first lines, so that it may be asked often."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._known: dict[tuple[str, int], RecordingFile] = {}

    def recordings(self, machine: str | None = None) -> list[RecordingFile]:
        """All readable recordings, oldest first; of one machine if it is named (RecordingOpened.machine).

        A recording comes after the one that it names as previous, and otherwise after those that were opened
        at an earlier date and time: a computer without a battery clock may start each day in the same year.
        Raises RecordingFault if the folder can't be read; one that isn't there holds none.
        """
        found = []
        known: dict[tuple[str, int], RecordingFile] = {}
        for name, inode in self._names():
            file = self._known.get((name, inode)) or _opened(self.path / name)
            if file is not None:
                known[name, inode] = file
                if machine is None or file.opened.machine == machine:
                    found.append(file)
        self._known = known
        return _in_order(found)

    def newest(self, machine: str | None = None) -> RecordingFile | None:
        """The recording that no other one comes after; None if there is none. Raises as recordings() does."""
        found = self.recordings(machine)
        return found[-1] if found else None

    def _names(self) -> list[tuple[str, int]]:
        try:
            with os.scandir(self.path) as entries:
                return [(e.name, e.inode()) for e in entries if e.name.endswith(SUFFIX) and e.is_file()]
        except FileNotFoundError:
            return []
        except OSError as error:
            raise RecordingFault(
                f"The folder {self.path} can't be read: {error.strerror}.",
                "So the recordings in it can't be found.",
                "Give this user the right to it, or name another folder.",
            ) from error


def file_stem(machine: str, wall: datetime) -> str:
    """The name of a new recording without its suffix: whimbrel-2026-11-25T09-30-00."""
    plain = re.sub(r"[^a-z0-9]+", "-", machine.lower()).strip("-") or "machine"
    return f"{plain[:60]}-{wall:%Y-%m-%dT%H-%M-%S}"


def last_crc(path: Path) -> str:
    """The checksum at the end of the last whole line, unchecked; empty if there is none.

    Raises RecordingFault if the file can't be read.
    """
    with open_recording(path) as file, as_recording_fault(path, "be read"):
        size_bytes = file.seek(0, os.SEEK_END)
        file.seek(max(0, size_bytes - codec.MAX_LINE_BYTES))
        for line in reversed(file.read().split(b"\n")):
            crc = codec.stored_crc(line + b"\n")
            if crc is not None:
                return crc.decode()
    return ""


def digests(folder: Path, leave_out: Collection[str]) -> dict[str, str]:
    """SHA-256 of each file in a folder, by its name within it, for RecordingOpened.digests.

    `leave_out` names the files that hold a secret, within the folder: a digest of a short secret gives it
    away. Files and folders whose name begins with a dot are left out too. Raises RecordingFault for a file
    that can't be read.
    """
    found = {}
    for path in sorted(_files_in(folder)):
        name = path.relative_to(folder).as_posix()
        if name not in leave_out:
            with as_recording_fault(path, "be read"), path.open("rb") as file:
                found[name] = hashlib.file_digest(file, "sha256").hexdigest()
    return found


def _files_in(folder: Path) -> Iterator[Path]:
    with as_recording_fault(folder, "be read"):
        for entry in sorted(folder.iterdir()):
            if entry.name.startswith("."):
                continue
            if entry.is_dir() and not entry.is_symlink():
                yield from _files_in(entry)
            elif entry.is_file():
                yield entry


def _opened(path: Path) -> RecordingFile | None:
    """None for what isn't a recording, or can't be read: one bad file must not hide the others."""
    try:
        return RecordingFile(path, read_opened(path))
    except RecordingFault:
        return None


def _in_order(files: list[RecordingFile]) -> list[RecordingFile]:
    """By date and time, but each behind the one that it names as previous."""
    by_name = {file.path.name: file for file in files}
    after: dict[str, list[str]] = {}
    for name, file in by_name.items():
        previous = file.opened.previous_file
        after.setdefault(previous if previous in by_name else "", []).append(name)
    ready = [(_opened_at(by_name[name]), name) for name in after.pop("", [])]
    heapq.heapify(ready)
    ordered = []
    while ready:
        name = heapq.heappop(ready)[1]
        ordered.append(by_name[name])
        for follower in after.pop(name, []):
            heapq.heappush(ready, (_opened_at(by_name[follower]), follower))
    # What is left names itself in a circle, which only a forger makes.
    return [by_name[name] for rest in after.values() for name in rest] + ordered


def _opened_at(file: RecordingFile) -> float:
    try:
        return read_wall(file.opened.wall).timestamp()
    except (RecordingFault, OverflowError):
        return 0.0
