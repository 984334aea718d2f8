"""Where the bridge's request door is: a note beside the recordings, locked while the bridge lives."""

from __future__ import annotations

import re
from pathlib import Path

import msgspec

from exhibit.streams import recording_lock


class DoorNote(msgspec.Struct, frozen=True, kw_only=True):
    """What the note says."""

    door: str
    pid: int


def note_at(recordings: Path, machine: str) -> Path:
    """The file of the note."""
    plain = re.sub(r"[^a-z0-9]+", "-", machine.lower()).strip("-") or "machine"
    return recordings / f"door-{plain}.json"


def door_of(recordings: Path, machine: str) -> Path | None:
    """The door of the bridge that now has this machine; None if there is none."""
    try:
        with note_at(recordings, machine).open("rb") as file:
            if recording_lock.state_of(file.fileno()) == "gone":
                return None
            return Path(msgspec.json.decode(file.read(), type=DoorNote).door)
    except (OSError, msgspec.MsgspecError):
        return None
