"""What files of recordings are called, compressed or not."""

from __future__ import annotations

from typing import Final

SUFFIX: Final = ".exhibit"
"""What the name of every recording ends in, while it is written and afterwards."""
COMPRESSED: Final = ".zst"
"""What is added to the name of a compressed one."""


def is_recordings_name(name: str) -> bool:
    """Whether a file of this name should be a recording."""
    return plain_name(name).endswith(SUFFIX)


def plain_name(name: str) -> str:
    """The name that the recording was written under, by which the next one knows it."""
    return name.removesuffix(COMPRESSED) if name.endswith(SUFFIX + COMPRESSED) else name


def stem_of(name: str) -> str:
    """The same without its suffix: whimbrel-2026-11-25T09-30-00."""
    return plain_name(name).removesuffix(SUFFIX)
