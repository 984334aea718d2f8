"""Reads a compressed recording as if it were the plain one: from any place, and past damage."""

from __future__ import annotations

import io
import os
from bisect import bisect_right
from typing import Any, Final

from exhibit.facts.errors import RecordingFault
from exhibit.streams.compressed.frames import MAGIC, Frame, frames_of
from exhibit.streams.compressed.zstandard_library import zstd

_LARGEST_WINDOW_LOG: Final = 23
"""Of 2: no frame needs more memory than its content may have."""


def is_compressed(fd: int) -> bool:
    """Whether an open file begins as a compressed recording does. Raises OSError."""
    return os.pread(fd, len(MAGIC), 0) == MAGIC


class CompressedFile(io.RawIOBase):
    """The recording in a compressed file.

    A frame that can't be decompressed reads as so many zero bytes, the last of them a line's end: whoever
    checks the lines finds the damage there, and that the lines after it are whole.
    """

    def __init__(self, fd: int) -> None:
        """Reads from `fd`, and closes it in the end. Raises RecordingFault, and OSError."""
        super().__init__()
        self._fd = fd
        self._position = 0
        self._frames = frames_of(fd)
        if not self._frames:
            raise _not_in_frames()
        self._starts = [frame.start_bytes for frame in self._frames]
        self._content: tuple[int, bytes] = (-1, b"")
        """The frame that was decompressed last, by its number, and its content."""

    @property
    def size_bytes(self) -> int:
        """Of the recording, as it was before."""
        return self._frames[-1].start_bytes + self._frames[-1].size_bytes

    def file_offset_bytes(self, content_bytes: int) -> int:
        """Where in the file the frame begins that holds this byte of the recording."""
        return self._frames[max(0, bisect_right(self._starts, content_bytes) - 1)].offset_bytes

    def readable(self) -> bool:
        """It is."""
        return True

    def seekable(self) -> bool:
        """It is."""
        return True

    def fileno(self) -> int:
        """The compressed file's."""
        return self._fd

    def tell(self) -> int:
        """The place in the recording."""
        return self._position

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        """Go to a place in the recording, which can be behind its end."""
        base = {os.SEEK_SET: 0, os.SEEK_CUR: self._position, os.SEEK_END: self.size_bytes}[whence]
        self._position = max(0, base + offset)
        return self._position

    def readinto(self, buffer: Any) -> int:
        """Reads from one frame. Returns how many bytes, 0 at the end. Raises OSError."""
        number = bisect_right(self._starts, self._position) - 1
        frame = self._frames[number]
        within = self._position - frame.start_bytes
        if within >= frame.size_bytes:  # it is the last one
            return 0
        with memoryview(buffer) as view:
            piece = self._content_of(number, frame)[within : within + len(view)]
            view[: len(piece)] = piece
        self._position += len(piece)
        return len(piece)

    def close(self) -> None:
        """Close the file too."""
        if not self.closed:
            os.close(self._fd)
        super().close()

    def _content_of(self, number: int, frame: Frame) -> bytes:
        if self._content[0] != number:
            self._content = number, self._decompressed(frame)
        return self._content[1]

    def _decompressed(self, frame: Frame) -> bytes:
        compressed = b""
        if frame.length_bytes <= 2 * frame.size_bytes + 1024:  # else there is none
            compressed = os.pread(self._fd, frame.length_bytes, frame.offset_bytes)
        options: dict[int, int] = {zstd.DecompressionParameter.window_log_max: _LARGEST_WINDOW_LOG}
        decompressor = zstd.ZstdDecompressor(options=options)
        try:
            content = decompressor.decompress(compressed, max_length=frame.size_bytes + 1)
        except (zstd.ZstdError, EOFError):
            content = b""
        if decompressor.eof and len(content) == frame.size_bytes:
            return content
        return bytes(frame.size_bytes - 1) + b"\n"


def opened(fd: int, buffer_bytes: int) -> io.BufferedReader:
    """A compressed recording, to be read like any file. Takes over `fd`. Raises as CompressedFile does."""
    return io.BufferedReader(CompressedFile(fd), buffer_bytes)


def compressed_of(file: object) -> CompressedFile | None:
    """The compressed file beneath an open recording; None if it is a plain one."""
    raw = getattr(file, "raw", None)
    return raw if isinstance(raw, CompressedFile) else None


def _not_in_frames() -> RecordingFault:
    return RecordingFault(
        "This file was compressed as a whole, or its beginning is damaged.",
        "A recording is compressed in small pieces, so that any place in it can be read at once.",
        "Unpack it with `zstd -d`, and compress it with `exhibit compress`; or get another copy.",
    )
