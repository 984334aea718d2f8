"""Recordings in their folder: their names, which is the newest, and the digests of a machine's folder."""

from __future__ import annotations

import hashlib
import heapq
import os
import re
import time
from collections.abc import Collection, Iterator
from datetime import datetime
from pathlib import Path
from typing import Literal

import msgspec

from exhibit.facts import codec
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_reader import SUFFIX, open_recording, read_opened

_Key = tuple[str, int]
"""A file's name and its inode, which tells it from another one of that name."""

FIRST_LINES_AT_ONCE = 10
"""A few milliseconds: as long as the pages' event loop may be kept waiting."""
_SETTLED_NS = 2_000_000_000
"""The coarsest step in which a file system tells when a folder was changed."""


class RecordingFile(msgspec.Struct, frozen=True):
    """A recording on disc, and what its first fact says of it (see RecordingOpened)."""

    path: Path
    machine: str
    machine_is: Literal["real", "simulated"]
    typing: Literal["scripts", "nothing"]
    rate: float
    boot: str
    previous_file: str
    opened_s: float
    """When it was opened, in seconds since 1970 by its computer's clock; 0 where that can't be told."""


class RecordingFolder:
    """A folder of recordings. It may be asked often, however many there are.

    It is listed again only when something in it was made, renamed or removed; each first line is read once.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._listed_ns = 0
        """When the folder was changed last, as it was listed; 0 if it is to be listed again."""
        self._files: dict[_Key, RecordingFile] = {}
        self._unread: list[_Key] = []
        self._unreadable: dict[_Key, tuple[int, int]] = {}
        """What isn't a recording, or not yet, and how it was when that was found out: its size and time."""
        self._in_order: list[RecordingFile] | None = None

    def recordings(self, machine: str | None = None) -> list[RecordingFile]:
        """All readable recordings, oldest first; of one machine if it is named (RecordingOpened.machine).

        A recording comes after the one that it names as previous, and otherwise after those that were opened
        at an earlier date and time: a computer without a battery clock may start each day in the same year.
        Raises RecordingFault if the folder can't be read; one that isn't there holds none.
        """
        self._read_all()
        return [file for file in self._ordered() if machine in (None, file.machine)]

    def newest(self, machine: str | None = None) -> RecordingFile | None:
        """The recording that no other one comes after; None if there is none. Raises as recordings() does."""
        self._read_all()
        return self.newest_so_far(machine)

    def next_after(self, name: str) -> RecordingFile | None:
        """The recording that goes on from the one of this name; None if there is none. Raises likewise."""
        self._read_all()
        return next((file for file in self._ordered() if file.previous_file == name), None)

    def read_on(self, most: int = FIRST_LINES_AT_ONCE) -> bool:
        """Read up to `most` first lines that are new. True if there are more.

        For whoever may not be kept waiting by many recordings. Raises as recordings() does.
        """
        if not self._unread:
            self._list_if_changed()
            self._unread += [key for key, was in self._unreadable.items() if self._size_and_time(key) != was]
        now, self._unread = self._unread[:most], self._unread[most:]
        for key in now:
            self._read_first_line(key)
        return bool(self._unread)

    def newest_so_far(self, machine: str | None = None) -> RecordingFile | None:
        """The newest of those whose first line has been read."""
        return next((file for file in reversed(self._ordered()) if machine in (None, file.machine)), None)

    def _read_all(self) -> None:
        while self.read_on():
            pass

    def _ordered(self) -> list[RecordingFile]:
        if self._in_order is None:
            self._in_order = _in_order(list(self._files.values()))
        return self._in_order

    def _list_if_changed(self) -> None:
        try:
            changed_ns = os.stat(self.path).st_mtime_ns
            if changed_ns == self._listed_ns:
                return
            with os.scandir(self.path) as entries:
                there = {(e.name, e.inode()) for e in entries if e.name.endswith(SUFFIX) and e.is_file()}
        except FileNotFoundError:
            changed_ns, there = 0, set()
        except OSError as error:
            raise RecordingFault(
                f"The folder {self.path} can't be read: {error.strerror}.",
                "So the recordings in it can't be found.",
                "Give this user the right to it, or name another folder.",
            ) from error
        # What comes just after this may get the same time, and would not be seen.
        self._listed_ns = changed_ns if time.time_ns() - changed_ns > _SETTLED_NS else 0
        self._unreadable = {key: was for key, was in self._unreadable.items() if key in there}
        if not self._files.keys() <= there:
            self._files = {key: file for key, file in self._files.items() if key in there}
            self._in_order = None
        self._unread = sorted(there - self._files.keys() - self._unreadable.keys())

    def _read_first_line(self, key: _Key) -> None:
        # Before it is read: what is written meanwhile changes it.
        as_it_is = self._size_and_time(key)
        file = _opened(self.path / key[0])
        if file is None:
            self._unreadable[key] = as_it_is
            return
        self._unreadable.pop(key, None)
        self._files[key] = file
        self._in_order = None

    def _size_and_time(self, key: _Key) -> tuple[int, int]:
        try:
            status = os.stat(self.path / key[0])
        except OSError:
            return 0, 0
        return status.st_size, status.st_ctime_ns


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
        opened = read_opened(path)
    except RecordingFault:
        return None
    return RecordingFile(
        path=path,
        machine=opened.machine,
        machine_is=opened.machine_is,
        typing=opened.typing,
        rate=opened.rate,
        boot=opened.boot,
        previous_file=opened.previous_file,
        opened_s=_seconds(opened.wall),
    )


def _in_order(files: list[RecordingFile]) -> list[RecordingFile]:
    """By date and time, but each behind the one that it names as previous."""
    by_name = {file.path.name: file for file in files}
    after: dict[str, list[str]] = {}
    for name, file in by_name.items():
        previous = file.previous_file
        after.setdefault(previous if previous in by_name else "", []).append(name)
    ready = [(by_name[name].opened_s, name) for name in after.pop("", [])]
    heapq.heapify(ready)
    ordered = []
    while ready:
        name = heapq.heappop(ready)[1]
        ordered.append(by_name[name])
        for follower in after.pop(name, []):
            heapq.heappush(ready, (by_name[follower].opened_s, follower))
    # What is left names itself in a circle, which only a forger makes.
    return [by_name[name] for rest in after.values() for name in rest] + ordered


def _seconds(wall: str) -> float:
    try:
        return read_wall(wall).timestamp()
    except (RecordingFault, OverflowError):
        return 0.0
