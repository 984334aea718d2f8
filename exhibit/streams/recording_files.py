"""Folders of recordings: file names, the order of recordings, and the digests of a machine's folder."""

from __future__ import annotations

import hashlib
import heapq
import os
import re
import time
from collections.abc import Collection, Iterable, Iterator
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Literal

import msgspec

from exhibit.facts import codec
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.streams.compressed import names
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_reader import open_recording, read_opened

_Key = tuple[str, int]
"""A file's name and inode. A file that replaces another one has a different inode."""

FIRST_LINES_AT_ONCE = 10
"""Reading so many takes a few milliseconds. The page server must not be kept busy for longer."""
_NAMED = 3
_SETTLED_NS = 2_000_000_000
"""The coarsest resolution of a folder's time of change, on any file system."""


def no_recording(given: Iterable[Path], why: str, machine: str = "") -> SetUpFault:
    """What to say where there is no recording, of this machine if one is named; `why` it matters.

    Folders in the given ones that hold some are named: recordings are looked for in a folder itself only.
    """
    paths = list(given)
    of = f" of {machine}" if machine else ""
    there = f" in {', '.join(map(str, paths))}" if paths else ""
    inside = [folder for path in paths for folder in _folders_with_some(path)]
    do = "Name a recording, or a folder that holds some. A run says at its start where it puts them."
    if inside:
        more = " and others" if len(inside) > _NAMED else ""
        named = ", ".join(map(str, inside[:_NAMED]))
        do = f"These folders in it hold some: {named}{more}. Name one or more of them."
    return SetUpFault(f"There is no recording{of}{there}.", why, do)


def not_there(path: Path) -> SetUpFault:
    """What to say where neither a file nor a folder has the name that was given."""
    return SetUpFault(
        f"There is no recording and no folder {path}.",
        "So there is nothing to look at.",
        "Check its name; each run says at its start where it puts its recordings.",
    )


def _folders_with_some(folder: Path) -> list[Path]:
    found = []
    with suppress(OSError):
        for inner in sorted(folder.iterdir()):
            if inner.is_dir() and any(names.is_recordings_name(one.name) for one in inner.iterdir()):
                found.append(inner)
    return found


class RecordingFile(msgspec.Struct, frozen=True):
    """A recording on disc, with some of what its first fact says (see RecordingOpened)."""

    path: Path
    machine: str
    machine_is: Literal["real", "simulated"]
    typing: Literal["scripts", "nothing"]
    rate: float
    boot: str
    previous_file: str
    opened_s: float
    """When it was opened, in seconds since 1970 by its computer's clock; 0 if unknown."""
    work: bool = False
    """Whether it holds only what an engineer wrote down (RecordingOpened.work)."""

    @property
    def name(self) -> str:
        """The name that it was written under, by which others know it, even if it is compressed now."""
        return names.plain_name(self.path.name)

    @property
    def stem(self) -> str:
        """The same without its suffix."""
        return names.stem_of(self.path.name)


class RecordingFolder:
    """A folder of recordings. Asking often is cheap, however many there are.

    The folder is listed again only after something in it was created, renamed or removed, and the first line
    of each recording is read once.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self._listed_ns = 0
        """The folder's time of change when it was listed; 0 if it has to be listed again."""
        self._files: dict[_Key, RecordingFile] = {}
        self._unread: list[_Key] = []
        self._unreadable: dict[_Key, tuple[int, int]] = {}
        """Files that aren't recordings, or not yet: their size and time of change when that was found out."""
        self._in_order: list[RecordingFile] | None = None

    def recordings(self, machine: str | None = None) -> list[RecordingFile]:
        """All readable recordings, oldest first, or only those of `machine` (RecordingOpened.machine).

        A recording comes after the one that it names as previous. Dates and times decide only where that
        doesn't, since a computer without a battery-backed clock may start with the same date every day.
        Raises RecordingFault if the folder can't be read. A missing folder counts as empty. What an engineer
        wrote down is no recording of the machine: see `work`.
        """
        self._read_all()
        return [file for file in self._ordered() if machine in (None, file.machine) and not file.work]

    def work(self, machine: str | None = None) -> list[RecordingFile]:
        """The files in this folder that hold what an engineer wrote down. Order and errors are the same."""
        self._read_all()
        return [file for file in self._ordered() if machine in (None, file.machine) and file.work]

    def newest(self, machine: str | None = None) -> RecordingFile | None:
        """The last of recordings(); None if there is none. Raises as recordings() does."""
        self._read_all()
        return self.newest_so_far(machine)

    def next_after(self, name: str) -> RecordingFile | None:
        """The recording that names this file as the previous one; None if there is none. Raises likewise."""
        self._read_all()
        plain = names.plain_name(name)
        return next((file for file in self._ordered() if file.previous_file == plain and not file.work), None)

    def read_on(self, most: int = FIRST_LINES_AT_ONCE) -> bool:
        """Read up to `most` new first lines. Returns whether there are more to read.

        For callers that must not be kept busy by a folder of many recordings. Raises as recordings() does.
        """
        if not self._unread:
            self._list_if_changed()
            self._unread += [
                key for key, old_state in self._unreadable.items() if self._state(key) != old_state
            ]
        now, self._unread = self._unread[:most], self._unread[most:]
        for key in now:
            self._read_first_line(key)
        return bool(self._unread)

    def newest_so_far(self, machine: str | None = None) -> RecordingFile | None:
        """Like newest(), among the recordings whose first line has been read."""
        newest_first = (file for file in reversed(self._ordered()) if not file.work)
        return next((file for file in newest_first if machine in (None, file.machine)), None)

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
                present = _without_copies((e.name, e.inode()) for e in entries if _may_be_one(e))
        except FileNotFoundError:
            changed_ns, present = 0, set()
        except OSError as error:
            raise RecordingFault(
                f"The folder {self.path} can't be read: {error.strerror}.",
                "So the recordings in it can't be found.",
                "Give this user access to it, or choose another folder.",
            ) from error
        # A change just after the listing may leave the folder with the same time, and would be missed.
        self._listed_ns = changed_ns if time.time_ns() - changed_ns > _SETTLED_NS else 0
        self._unreadable = {key: old_state for key, old_state in self._unreadable.items() if key in present}
        if not self._files.keys() <= present:
            self._files = {key: file for key, file in self._files.items() if key in present}
            self._in_order = None
        self._unread = sorted(present - self._files.keys() - self._unreadable.keys())

    def _read_first_line(self, key: _Key) -> None:
        # Taken before reading, so that anything written during it is noticed later.
        state = self._state(key)
        file = _opened(self.path / key[0])
        if file is None:
            self._unreadable[key] = state
            return
        self._unreadable.pop(key, None)
        self._files[key] = file
        self._in_order = None

    def _state(self, key: _Key) -> tuple[int, int]:
        try:
            status = os.stat(self.path / key[0])
        except OSError:
            return 0, 0
        return status.st_size, status.st_ctime_ns


def _may_be_one(entry: os.DirEntry[str]) -> bool:
    """Whether this may be a recording. A link isn't: it could lead to anything on this computer."""
    return names.is_recordings_name(entry.name) and entry.is_file(follow_symlinks=False)


def _without_copies(keys: Iterable[_Key]) -> set[_Key]:
    """A recording that is there both plain and compressed counts once: compressing it was interrupted."""
    there = dict(keys)
    return {
        (name, inode)
        for name, inode in there.items()
        if names.plain_name(name) == name or names.plain_name(name) not in there
    }


def file_stem(machine: str, wall: datetime) -> str:
    """The name of a new recording without its suffix: whimbrel-2026-11-25T09-30-00."""
    plain = re.sub(r"[^a-z0-9]+", "-", machine.lower()).strip("-") or "machine"
    return f"{plain[:60]}-{wall:%Y-%m-%dT%H-%M-%S}"


def last_crc(path: Path) -> str:
    """The checksum stored in the last complete line, without checking it; empty if there is none.

    Raises RecordingFault if the file can't be read.
    """
    with open_recording(path) as file, as_recording_fault(path, "be read"):
        size_bytes = file.seek(0, os.SEEK_END)
        file.seek(max(0, size_bytes - codec.MAX_LINE_BYTES))
        for line in reversed(file.read().split(b"\n")):
            if len(line) < codec.TAIL_BYTES - 1:
                continue
            crc = codec.stored_crc(line + b"\n")
            if crc is not None:
                return crc.decode()
    return ""


def digests(folder: Path, leave_out: Collection[str]) -> dict[str, str]:
    """SHA-256 of each file in a folder, by its name within it, for RecordingOpened.digests.

    `leave_out` are the names of files with secrets, since a short secret can be found from its digest.
    Names that begin with a dot are also left out. Raises RecordingFault for a file that can't be read.
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
    """None for a file that isn't a readable recording, so that one bad file doesn't hide the others."""
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
        work=opened.work,
    )


def _in_order(files: list[RecordingFile]) -> list[RecordingFile]:
    """Sorted by date and time, but each after the one that it names as previous."""
    by_name = {file.name: file for file in files}
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
    # The rest name each other in a circle, which only tampering can produce.
    return [by_name[name] for rest in after.values() for name in rest] + ordered


def _seconds(wall: str) -> float:
    try:
        return read_wall(wall).timestamp()
    except (RecordingFault, OverflowError):
        return 0.0
