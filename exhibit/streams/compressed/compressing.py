"""Compresses a recording in pieces that end where a line ends, so that it can be read from any place."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO, Final

from exhibit.facts import codec
from exhibit.streams.compressed.frames import Frame, table_of
from exhibit.streams.compressed.zstandard_library import zstd

FRAME_BYTES: Final = 128 * 1024
"""A frame is closed after so much. Larger ones save little, and going to a place takes longer."""
LEVEL: Final = 15
"""It makes a day 7 times smaller, at 5 MB a second; 3 makes it 5 times smaller."""


def compress(plain: BinaryIO, to: Path) -> str:
    """Write a new file with all that `plain` holds from here. Returns SHA-256 of what it was, in hexadecimal.

    The file is on the disc at the end. Raises OSError; if the file exists, FileExistsError.
    """
    digest, frames, offset_bytes, start_bytes = hashlib.sha256(), list[Frame](), 0, 0
    options: dict[int, int] = {
        zstd.CompressionParameter.compression_level: LEVEL,
        zstd.CompressionParameter.checksum_flag: 1,
    }
    with to.open("xb") as out:
        for content in _pieces(plain):
            digest.update(content)
            compressed = zstd.compress(content, options=options)
            out.write(compressed)
            frames.append(Frame(offset_bytes, len(compressed), start_bytes, len(content)))
            offset_bytes += len(compressed)
            start_bytes += len(content)
        out.write(table_of(frames))
        out.flush()
        os.fsync(out.fileno())
    return digest.hexdigest()


def _pieces(plain: BinaryIO) -> Iterator[bytes]:
    lines, size_bytes = list[bytes](), 0
    while line := plain.readline(codec.MAX_LINE_BYTES):
        lines.append(line)
        size_bytes += len(line)
        if size_bytes >= FRAME_BYTES:
            yield b"".join(lines)
            lines, size_bytes = [], 0
    if lines:
        yield b"".join(lines)
