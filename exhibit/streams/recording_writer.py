"""Writes a recording: one file, one line for each fact, written to the operating system at once."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

import msgspec

from exhibit.facts import codec
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import AnyFact, Entry, RecordingClosed, RecordingOpened, RecordNearlyFull
from exhibit.streams import recording_lock
from exhibit.streams.recording_fault import fault, is_disc_full
from exhibit.streams.recording_files import RecordingFolder, file_stem, last_crc
from exhibit.streams.recording_reader import SUFFIX
from exhibit.streams.reserve import Reserve, remove_stale_reserves
from exhibit.streams.syncer import Syncer

RESERVE_BYTES = 4 * 1024 * 1024
# Below the promised second, to leave time for the sync itself.
SYNC_EVERY_S = 0.8


class NextFile(msgspec.Struct):
    """The file of the next recording, begun while there is still one that can say if that fails."""

    path: Path
    fd: int
    reserve: Reserve | None = None


class RecordingWriter:
    """A recording that is being written. Create it after the last fork; use it from one thread.

    It fills in the fields of `opened` that only it knows: format, how_to_read, previous_file, previous_crc.
    It never appends to an existing file: each writer begins a new one.
    """

    path: Path
    opened: Entry
    """The first entry, as it was written."""

    def __init__(
        self,
        folder: Path,
        opened: RecordingOpened,
        reserve_bytes: int = RESERVE_BYTES,
        sync_every_s: float = SYNC_EVERY_S,
        begun: NextFile | None = None,
    ) -> None:
        """Begin a new file in `folder`, or use the one `begun`. Raises RecordingFault if that fails."""
        self._seq = 0
        self._at_us = 0
        self._crc = codec.FIRST_CRC
        self._size_bytes = 0
        self._failed: RecordingFault | None = None
        self._reserve = begun.reserve if begun else None
        self._reserve_bytes = reserve_bytes
        self._nearly_full: RecordNearlyFull | None = None
        self.next_file: NextFile | None = None
        """The file of the next recording, after `begin_next`."""
        opened = _complete(folder, opened)
        if begun is not None:
            self.path, self._fd = begun.path, begun.fd
        else:
            name = f"{opened.machine} work" if opened.work else opened.machine
            self.path, self._fd = _new_file(folder, file_stem(name, read_wall(opened.wall)))
        self._syncer = Syncer(self._fd, sync_every_s)
        try:
            self._reserve = self._reserve or Reserve(self.path, reserve_bytes)
            self.opened = self.append(opened, 0)
            _sync_folder(folder)
        except (OSError, RecordingFault) as error:
            self.abandon()
            self.path.unlink(missing_ok=True)
            if isinstance(error, OSError):
                raise fault(self.path, "be created", error) from error
            raise

    def append(self, fact: AnyFact, at_us: int) -> Entry:
        """Write a fact. Returns it as an entry, with its number and time.

        Times never go back: an `at_us` before that of the last entry is raised to it. If the disc is full,
        the reserve is released and the fact is written there (see `take_nearly_full`). Raises RecordingFault
        if a fact can't be written; the file then ends with its last complete line, and every later append
        raises the same fault: begin a new recording when the cause is gone.
        """
        entry = self._try(fact, at_us)
        if entry is None:
            entry = self._try(fact, at_us)
        assert entry is not None, "there is only one reserve"
        return entry

    def begin_next(self, wall: str) -> bool:
        """Create the file of the next recording, with room for its reserve. Returns whether that succeeded.

        It inherits this one's reserve, so that another program can't take the room in between. If it can't be
        created because the disc is full, this one's reserve is released (see `take_nearly_full`).
        """
        opened = self.opened.fact
        assert isinstance(opened, RecordingOpened)
        if self._reserve is None and _room_bytes(self._fd) < self._reserve_bytes:
            return False
        try:
            path, fd = _new_file(self.path.parent, file_stem(opened.machine, read_wall(wall)))
        except RecordingFault as error:
            if is_disc_full(error.__cause__) and self._reserve is not None:
                self._nearly_full = self._release_reserve()
            return False
        self.next_file = NextFile(path, fd)
        try:
            reserve = self._reserve or Reserve(path, self._reserve_bytes)
            reserve.belongs_to(path)
        except OSError:
            self.forget_next()
            return False
        self.next_file.reserve, self._reserve = reserve, reserve
        return True

    def forget_next(self) -> None:
        """Remove the file of the next recording again: this one continues."""
        if self.next_file is not None:
            os.close(self.next_file.fd)
            self.next_file.path.unlink(missing_ok=True)
            self.next_file = None

    def take_nearly_full(self) -> RecordNearlyFull | None:
        """The fact that the reserve was released, once; None otherwise. The caller has to append it."""
        nearly_full, self._nearly_full = self._nearly_full, None
        return nearly_full

    def close(self, why: str, at_us: int) -> Entry | None:
        """Write RecordingClosed, sync, and release the lock and the reserve. Raises as append does.

        Returns None, and closes nothing, if this line finds the disc full: the fact about that comes first
        (see `take_nearly_full`). Then close it again, or go on.
        """
        try:
            entry = self._try(RecordingClosed(why=why), at_us)
        except RecordingFault:
            self.forget_next()
            self.abandon()
            raise
        if entry is None:
            self.forget_next()
        else:
            self.abandon()
        return entry

    def abandon(self) -> None:
        """Release the file, the lock and the reserve without a RecordingClosed, as after a fault."""
        if self._fd < 0:
            return
        self._failed = self._failed or _closed_fault(self.path)
        self._syncer.stop()
        if self._reserve is not None and self.next_file is None:
            self._reserve.release()
        with contextlib.suppress(OSError):
            recording_lock.release(self._fd)
        os.close(self._fd)
        self._fd = -1

    def _try(self, fact: AnyFact, at_us: int) -> Entry | None:
        """Write a fact. Returns None if the disc was full, and the reserve has just been released."""
        if self._failed is not None:
            raise self._failed
        try:
            if self._syncer.failure is not None:
                raise self._syncer.failure
            try:
                return self._write(fact, at_us)
            except OSError as error:
                if not is_disc_full(error) or self._reserve is None:
                    raise
                self._nearly_full = self._release_reserve()
                return None
        except OSError as error:
            self._failed = fault(self.path, "be written", error)
            raise self._failed from error
        except RecordingFault as error:
            self._failed = error
            raise

    def _write(self, fact: AnyFact, at_us: int) -> Entry:
        entry = Entry(self._seq + 1, max(at_us, self._at_us), fact)
        line, crc = codec.encode_line(entry, self._crc)
        try:
            written_bytes = os.write(self._fd, line)
            while written_bytes < len(line):
                written_bytes += os.write(self._fd, line[written_bytes:])
        except BaseException:
            # The next line must not follow half a line, or a line that was not counted.
            with contextlib.suppress(OSError):
                os.ftruncate(self._fd, self._size_bytes)
            raise
        self._seq, self._at_us, self._crc = entry.seq, entry.at_us, crc
        self._size_bytes += len(line)
        self._syncer.something_written = True
        return entry

    def _release_reserve(self) -> RecordNearlyFull:
        assert self._reserve is not None
        self._reserve.release()
        left_bytes = self._reserve.size_bytes
        self._reserve = None
        with contextlib.suppress(OSError):
            left_bytes = min(left_bytes, _room_bytes(self._fd))
        return RecordNearlyFull(left_bytes=left_bytes)


def _room_bytes(fd: int) -> int:
    """How much room this user has on the disc of an open file."""
    disc = os.fstatvfs(fd)
    return disc.f_bavail * disc.f_frsize


def _complete(folder: Path, opened: RecordingOpened) -> RecordingOpened:
    files = RecordingFolder(folder)
    previous = files.newest(opened.machine)
    if opened.work:
        previous = next(iter(files.work(opened.machine)[::-1]), None)
    return msgspec.structs.replace(
        opened,
        format=codec.FORMAT,
        how_to_read=codec.HOW_TO_READ,
        previous_file=previous.name if previous else "",
        previous_crc=last_crc(previous.path) if previous else "",
    )


def _new_file(folder: Path, stem: str) -> tuple[Path, int]:
    """Create a new file and take the lock on it. Raises RecordingFault if that fails."""
    path = folder / (stem + SUFFIX)
    try:
        new_folders = [each for each in (folder, *folder.parents) if not each.exists()]
        folder.mkdir(parents=True, exist_ok=True)
        for each in new_folders:
            _sync_folder(each.parent)
        remove_stale_reserves(folder, SUFFIX)
        count = 1
        while True:
            try:
                fd = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_APPEND | os.O_CLOEXEC, 0o644)
                break
            except FileExistsError:
                count += 1
                path = folder / f"{stem}-{count}{SUFFIX}"
        try:
            recording_lock.take(fd)
        except OSError:
            os.close(fd)
            path.unlink()
            raise
    except OSError as error:
        raise fault(path, "be created", error) from error
    return path, fd


def _sync_folder(folder: Path) -> None:
    """Sync a folder, so that the names of new files in it survive a power cut."""
    fd = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)


def _closed_fault(path: Path) -> RecordingFault:
    return RecordingFault(
        f"The recording {path} was closed.",
        "Nothing can be added to a closed recording.",
        "Begin a new one.",
    )
