"""Where the frames of a compressed recording are: from its seek table, or by looking through the file.

The file is a row of Zstandard frames (RFC 8878), each with its content's size and checksum. At its end a
skippable frame holds a table of their sizes: the seekable format that the Zstandard project has published.
Tools that don't know the table skip it. The file can come from a stranger: nothing unbounded is believed.
"""

from __future__ import annotations

import mmap
import os
import struct
from typing import Final

import msgspec

from exhibit.facts.errors import RecordingFault
from exhibit.streams.compressed.zstandard_library import zstd

MAGIC: Final = b"\x28\xb5\x2f\xfd"
"""How a frame begins (RFC 8878, 3.1.1)."""
MOST_FRAME_BYTES: Final = 8 * 1024 * 1024
"""Of one frame, compressed or not. The longest line is half of that."""
MOST_FRAMES: Final = 100_000
MOST_BYTES: Final = 2 * 1024**3
"""Of a whole recording. A day flat out at 9600 baud has 150 MB."""
MOST_ATTEMPTS: Final = 10_000
"""So many places that only look like a frame are tried; after that the rest of the file is one damage."""

_TABLE_MAGIC: Final = 0x184D2A5E
_FOOT_MAGIC: Final = 0x8F92EAB1
_HEAD: Final = struct.Struct("<II")
_ENTRY: Final = struct.Struct("<II")
_FOOT: Final = struct.Struct("<IBI")
_WITH_CHECKSUMS: Final = 0x80
_RESERVED: Final = 0x7C
_LARGEST_HEADER_BYTES: Final = 18


class Frame(msgspec.Struct, frozen=True):
    """A frame, or bytes in which there is none."""

    offset_bytes: int
    """Where it is in the file."""
    length_bytes: int
    start_bytes: int
    """Where its content is in the recording."""
    size_bytes: int
    """How much content it has. Bytes that are no frame count as so many as they are, up to a bound."""


def frames_of(fd: int) -> list[Frame]:
    """The frames of an open file, in order. Raises RecordingFault if it isn't bounded, and OSError."""
    file_bytes = os.fstat(fd).st_size
    if file_bytes > MOST_BYTES:
        raise _too_large()
    return _from_table(fd, file_bytes) or _looked_for(fd, file_bytes)


def table_of(frames: list[Frame]) -> bytes:
    """The skippable frame with the sizes of all frames."""
    entries = b"".join(_ENTRY.pack(frame.length_bytes, frame.size_bytes) for frame in frames)
    return (
        _HEAD.pack(_TABLE_MAGIC, len(entries) + _FOOT.size)
        + entries
        + _FOOT.pack(len(frames), 0, _FOOT_MAGIC)
    )


def _from_table(fd: int, file_bytes: int) -> list[Frame]:
    """What the table at the end says; an empty list if there is none, or if it doesn't fit the file."""
    foot = os.pread(fd, _FOOT.size, max(0, file_bytes - _FOOT.size))
    if len(foot) < _FOOT.size:
        return []
    count, described, magic = _FOOT.unpack(foot)
    if magic != _FOOT_MAGIC or described & _RESERVED or not 0 < count <= MOST_FRAMES:
        return []
    entry_bytes = _ENTRY.size + (4 if described & _WITH_CHECKSUMS else 0)
    body_bytes = count * entry_bytes + _FOOT.size
    table_at = file_bytes - body_bytes - _HEAD.size
    if table_at < 0:
        return []
    table = os.pread(fd, _HEAD.size + count * entry_bytes, table_at)
    if (
        table[: _HEAD.size] != _HEAD.pack(_TABLE_MAGIC, body_bytes)
        or len(table) < _HEAD.size + count * entry_bytes
    ):
        return []
    frames, offset_bytes, start_bytes = [], 0, 0
    for at in range(_HEAD.size, len(table), entry_bytes):
        length_bytes, size_bytes = _ENTRY.unpack_from(table, at)
        if max(length_bytes, size_bytes) > MOST_FRAME_BYTES:
            return []
        frames.append(Frame(offset_bytes, length_bytes, start_bytes, size_bytes))
        offset_bytes += length_bytes
        start_bytes += size_bytes
    if start_bytes > MOST_BYTES:
        raise _too_large()
    return frames if offset_bytes == table_at else []


def _looked_for(fd: int, file_bytes: int) -> list[Frame]:
    """Frames as they are found one after another, and what stands between them; empty if there is none."""
    frames: list[Frame] = []
    with mmap.mmap(fd, file_bytes, prot=mmap.PROT_READ) as content, memoryview(content) as view:
        at = end = start_bytes = attempts = 0
        while at >= 0 and len(frames) < MOST_FRAMES and attempts < MOST_ATTEMPTS:
            length_bytes, size_bytes = _frame_at(view, at)
            if not length_bytes:
                attempts += 1
                at = content.find(MAGIC, at + 1)
                continue
            if at > end:
                start_bytes = _add_gap(frames, end, at, start_bytes)
            frames.append(Frame(at, length_bytes, start_bytes, size_bytes))
            start_bytes += size_bytes
            if start_bytes > MOST_BYTES:
                raise _too_large()
            at = end = at + length_bytes
            at = content.find(MAGIC, at) if content[at : at + 4] != MAGIC else at
        if frames and not _is_table(view[end:]):
            _add_gap(frames, end, file_bytes, start_bytes)
    return frames


def _frame_at(view: memoryview, at: int) -> tuple[int, int]:
    """How long the frame here is, and its content; 0 and 0 if there is none."""
    try:
        head = zstd.get_frame_info(bytes(view[at : at + _LARGEST_HEADER_BYTES]))
        if head.decompressed_size is None or head.decompressed_size > MOST_FRAME_BYTES:
            return 0, 0
        length_bytes = zstd.get_frame_size(view[at : at + MOST_FRAME_BYTES])
    except zstd.ZstdError:
        return 0, 0
    return length_bytes, head.decompressed_size


def _add_gap(frames: list[Frame], begin: int, end: int, start_bytes: int) -> int:
    """Add the bytes between two frames. Returns where the next frame's content starts."""
    if end <= begin:
        return start_bytes
    size_bytes = min(end - begin, MOST_FRAME_BYTES)
    frames.append(Frame(begin, end - begin, start_bytes, size_bytes))
    return start_bytes + size_bytes


def _is_table(rest: memoryview) -> bool:
    """Whether these last bytes are a table, or what is left of one: they hold nothing of the content."""
    return struct.pack("<I", _TABLE_MAGIC).startswith(bytes(rest[:4]))


def _too_large() -> RecordingFault:
    return RecordingFault(
        f"This compressed recording has more than {MOST_BYTES // 1024**3} GiB.",
        "No day of a machine has so much, and reading it would fill this computer.",
        "Ask whoever gave you the recording for another copy.",
    )
