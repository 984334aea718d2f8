"""Keeps what people write and photograph, and the last minutes of a recording, in files of their own.

A note's file has its digest for a name, which is all that the recording has of it: its words can be erased.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, Final

from exhibit.facts import codec
from exhibit.streams.recording import SUFFIX, RecordingFolder, find_time, read_opened
from exhibit.streams.recording_reader import open_recording, size_of

LEFT_FREE_BYTES: Final = 300 * 1024 * 1024
"""Nothing is kept that would leave less on the disc: the recording itself needs that, for two days or so."""
_KINDS: Final = {b"\xff\xd8\xff": ".jpg", b"\x89PNG\r\n\x1a\n": ".png"}
"""How a JPEG begins (ITU-T T.81, B.1.1), and a PNG (ISO/IEC 15948, 5.2)."""
_PIECE_BYTES: Final = 64 * 1024
_US_IN_A_MINUTE: Final = 60_000_000


class NotKept(Exception):
    """Why it can't be kept: "disc full", "no picture", "too long" or "no recording"."""


def keep_note(folder: Path, text: str) -> str:
    """Keep these words. Returns their digest. Raises NotKept or OSError."""
    return _kept(folder, iter([text.encode()]), ".txt")


def keep_photograph(folder: Path, stream: BinaryIO, most_bytes: int) -> str:
    """Keep a photograph. Returns its digest. Raises NotKept if it isn't one, and OSError."""
    first = stream.read(_PIECE_BYTES)
    suffix = next((kind for begins, kind in _KINDS.items() if first.startswith(begins)), None)
    if suffix is None:
        raise NotKept("no picture")

    def pieces() -> Iterator[bytes]:
        piece, so_far_bytes = first, 0
        while piece:
            so_far_bytes += len(piece)
            if so_far_bytes > most_bytes:
                raise NotKept("too long")
            yield piece
            piece = stream.read(_PIECE_BYTES)

    return _kept(folder, pieces(), suffix)


def keep_minutes(recordings: Path, machine: str, minutes: int, into: Path) -> tuple[str, Path]:
    """Copy the lines of the last minutes of this machine's newest recording, with its first line.

    Returns the copy's digest, and where it is. Its lines are those of the recording, byte by byte, so their
    checksums show that they are whole, and where some are left out. Raises NotKept, RecordingFault, OSError.
    """
    newest = RecordingFolder(recordings).newest(machine)
    if newest is None:
        raise NotKept("no recording")
    path = newest.path
    end_us = _last_us(path)
    span_us = round(minutes * _US_IN_A_MINUTE * read_opened(path).rate)
    start = find_time(path, max(0, end_us - span_us))
    now = time.strftime("%H-%M-%S")
    kept_at = into / f"{newest.stem}-last-{minutes}-min-{now}{SUFFIX}"
    with open_recording(path) as file:
        first = file.readline(codec.MAX_LINE_BYTES)
        from_bytes = max(len(first), start.offset_bytes)

        def pieces() -> Iterator[bytes]:
            yield first
            file.seek(from_bytes)
            while (line := file.readline(codec.MAX_LINE_BYTES)).endswith(b"\n"):
                yield line

        _need_room(into, size_of(file) - from_bytes)
        with _written(kept_at) as (out, digest):
            for piece in pieces():
                digest.update(piece)
                out.write(piece)
    return digest.hexdigest(), kept_at


def _last_us(path: Path) -> int:
    """The time of the last line that is whole."""
    with open_recording(path) as file:
        size_bytes = file.seek(0, os.SEEK_END)
        file.seek(max(0, size_bytes - codec.MAX_LINE_BYTES))
        for line in reversed(file.read().split(b"\n")):
            if (place := codec.seq_and_time(line)) is not None and codec.stored_crc(line + b"\n"):
                return place[1]
    return 0


def _kept(folder: Path, pieces: Iterator[bytes], suffix: str) -> str:
    _need_room(folder, 0)
    arriving = folder / f".arriving-{os.getpid()}"
    with _written(arriving) as (out, digest):
        for piece in pieces:
            digest.update(piece)
            out.write(piece)
    arriving.rename(folder / f"{digest.hexdigest()}{suffix}")
    return digest.hexdigest()


@contextmanager
def _written(path: Path) -> Iterator[tuple[BinaryIO, hashlib._Hash]]:
    """A new file that only its owner can read; on the disc at the end, or taken away again."""
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
    try:
        with open(descriptor, "wb") as out:
            yield out, hashlib.sha256()
            out.flush()
            os.fsync(out.fileno())
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def _need_room(folder: Path, bytes_more: int) -> None:
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    if shutil.disk_usage(folder).free - bytes_more < LEFT_FREE_BYTES:
        raise NotKept("disc full")
