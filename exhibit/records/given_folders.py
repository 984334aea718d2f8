"""The recordings that a command is given, as files or folders, as the indexes that hold them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from exhibit.facts.errors import SetUpFault
from exhibit.records.index.asking import Index
from exhibit.records.index.reading_files import Reading
from exhibit.streams.recording_files import no_recording


def indexes_of(recordings: Sequence[Path], reading: Reading | None = None) -> Iterator[Index]:
    """The index of each folder, or of the files in it that were given; closed when the next is asked for.

    Raises RecordingFault for a folder that can't be read; and SetUpFault for a file that isn't there, or
    at the end if there was no recording in any of them.
    """
    given: dict[Path, set[str] | None] = {}
    for path in recordings:
        if path.is_dir():
            given[path.resolve()] = None
        elif path.is_file():
            names = given.setdefault(path.resolve().parent, set())
            if names is not None:
                names.add(path.resolve().name)
        else:
            raise SetUpFault(
                f"There is no recording and no folder {path}.",
                "So there is nothing to look at.",
                "Check its name; each run says at its start where it puts its recordings.",
            )
    some = False
    for folder, names in given.items():
        with Index.open(folder, names or (), reading) as index:
            some = some or bool(index.recordings(unreadable=True))
            yield index
    if not some:
        raise no_recording(given, "So there is nothing to look at.")
