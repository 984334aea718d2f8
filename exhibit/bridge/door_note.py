"""Where the bridge of a machine takes requests: a note in the folder of its recordings.

The bridge holds a lock on its note for as long as it lives, so one that a killed bridge left deceives nobody.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
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
    """Leaves a note of this door, and takes it away at the end. Raises SetUpFault if it can't."""
    note = DoorNote(door=f"{door.resolve()}", pid=os.getpid())
    with ExitStack() as stack:
        try:
            stack.enter_context(recording_lock.note_left(_note_at(recordings, machine), note))
        except OSError as error:
            raise SetUpFault(
                f"Nothing can be written in the folder {recordings}: {error.strerror or error}.",
                "Without a note there nobody would find where to say stop.",
                "Free some space on that disc, or give this user the right to write there, then start again.",
            ) from error
        yield


def door_of(recordings: Path, machine: str) -> Path | None:
    """The socket at which the bridge of this machine takes requests; None if no bridge lives there."""
    note = recording_lock.living_note(_note_at(recordings, machine), DoorNote)
    return None if note is None else Path(note.door)


def is_closed_to_us(recordings: Path, machine: str) -> bool:
    """Whether there is a note that this user can't read: perhaps of a bridge that lives."""
    path = _note_at(recordings, machine)
    return path.exists() and not os.access(path, os.R_OK)


def living_doors(recordings: Path) -> dict[str, Path]:
    """The socket of each bridge that records in this folder and lives, by machine."""
    found = {}
    for path in sorted(recordings.glob("door-*.json")):
        if (note := recording_lock.living_note(path, DoorNote)) is not None:
            found[path.stem.removeprefix("door-")] = Path(note.door)
    return found


def _note_at(recordings: Path, machine: str) -> Path:
    return recordings / f"door-{machine}.json"
