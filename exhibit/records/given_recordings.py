"""The recordings that a command is given, as files or as folders of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from exhibit.facts.errors import SetUpFault
from exhibit.facts.kinds import RecordingOpened
from exhibit.streams.recording import RecordingFolder, read_opened
from exhibit.streams.recording_files import no_recording


def opened_recordings(
    recordings: Sequence[Path], machine: str, *, why_some: str, why_one_machine: str
) -> Iterator[tuple[Path, RecordingOpened]]:
    """Each recording once, with its first fact.

    Raises RecordingFault; and SetUpFault if there is none, or one of another machine. `why_some` and
    `why_one_machine` are the sentences that then say why it matters.
    """
    for path in _files(recordings, machine, why_some):
        opened = read_opened(path)
        if opened.machine != machine:
            other = opened.machine[:80]  # a stranger's can be as long as a line
            raise SetUpFault(
                f"{path} is a recording of {other}, and the folder describes {machine}.",
                why_one_machine,
                f"Name recordings of {machine}, or the folder of {other}.",
            )
        yield path, opened


def places(count: int) -> str:
    """A number of damaged places, in words."""
    return "1 place" if count == 1 else f"{count} places"


def _files(recordings: Sequence[Path], machine: str, why_some: str) -> list[Path]:
    found: dict[Path, None] = {}
    for path in recordings:
        files = [file.path for file in RecordingFolder(path).recordings(machine)] if path.is_dir() else [path]
        if not files:
            raise no_recording([path], why_some, machine)
        found.update((file.resolve(), None) for file in files)
    return list(found)
