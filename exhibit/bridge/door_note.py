"""Where the bridge of a machine takes requests: a note in the folder of its recordings.

The bridge holds a lock on its note for as long as it lives, so one that a killed bridge left deceives nobody.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import msgspec

from exhibit.facts.errors import SetUpFault
from exhibit.streams import recording_lock


class DoorNote(msgspec.Struct, frozen=True, kw_only=True):
    """What a bridge says of its door."""

    door: str
    pid: int


@contextmanager
def door_noted(recordings: Path, machine: str, door: Path) -> Iterator[None]:
    """Leaves a note of this door, locked, and takes it away at the end. Raises SetUpFault if it can't."""
    path, pid = _note_at(recordings, machine), os.getpid()
    written = path.with_name(f".{path.name}-{pid}")
    try:
        recordings.mkdir(parents=True, exist_ok=True)
        file = written.open("wb", buffering=0)
    except OSError as error:
        raise _unwritable(recordings, error) from error
    with file:
        try:
            file.write(msgspec.json.encode(DoorNote(door=f"{door.resolve()}", pid=pid)) + b"\n")
            recording_lock.take(file.fileno())
            # Whoever reads it sees all of it, and locked, or else the one that was there before.
            written.rename(path)
        except OSError as error:
            written.unlink(missing_ok=True)
            raise _unwritable(recordings, error) from error
        yield
        if (note := _living(path)) is not None and note.pid == pid:
            path.unlink(missing_ok=True)


def door_of(recordings: Path, machine: str) -> Path | None:
    """The socket at which the bridge of this machine takes requests; None if no bridge lives there."""
    note = _living(_note_at(recordings, machine))
    return None if note is None else Path(note.door)


def living_doors(recordings: Path) -> dict[str, Path]:
    """The socket of each bridge that records in this folder and lives, by machine."""
    found = {}
    for path in sorted(recordings.glob("door-*.json")):
        if (note := _living(path)) is not None:
            found[path.stem.removeprefix("door-")] = Path(note.door)
    return found


def _note_at(recordings: Path, machine: str) -> Path:
    return recordings / f"door-{machine}.json"


def _living(path: Path) -> DoorNote | None:
    try:
        with path.open("rb") as file:
            if recording_lock.state_of(file.fileno()) == "gone":
                return None
            return msgspec.json.decode(file.read(), type=DoorNote)
    except (OSError, msgspec.MsgspecError):
        return None


def _unwritable(recordings: Path, error: OSError) -> SetUpFault:
    return SetUpFault(
        f"Nothing can be written in the folder {recordings}: {error.strerror or error}.",
        "Without a note there nobody would find where to say stop.",
        "Free some space on that disc, or give this user the right to write there, then start again.",
    )
