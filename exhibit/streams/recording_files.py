"""Recordings in their folder: their names, which is the newest, and the digests of a machine's folder."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

import msgspec

from exhibit.facts.kinds import RecordingOpened

SUFFIX = ".exhibit"


class RecordingFile(msgspec.Struct, frozen=True):
    """A recording on disc and its first fact."""

    path: Path
    opened: RecordingOpened


class RecordingFolder:
    """A folder of recordings; remembers first lines, so that it may be asked often."""

    def __init__(self, path: Path) -> None:
        raise NotImplementedError

    def recordings(self, machine: str | None = None) -> list[RecordingFile]:
        """All readable recordings, oldest first; of one machine if it is named (RecordingOpened.machine)."""
        raise NotImplementedError

    def newest(self, machine: str | None = None) -> RecordingFile | None:
        """The recording that no other one comes after; None if there is none."""
        raise NotImplementedError


def digests(folder: Path, leave_out: Collection[str]) -> dict[str, str]:
    """SHA-256 of each file in a folder, by its name within it, for RecordingOpened.digests.

    `leave_out` names the files that hold a secret (a digest of a short secret gives it away). Files and
    folders whose name begins with a dot are left out too. Raises RecordingFault for a file that can't be read.
    """
    raise NotImplementedError
