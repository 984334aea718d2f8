"""The recordings that a command is given, as files or folders, as the indexes that hold them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from exhibit.facts.errors import SetUpFault
from exhibit.records.index.asking import Index
from exhibit.records.index.reading_files import Reading
from exhibit.streams.recording_files import no_recording, not_there


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
            raise not_there(path)
    some, unreadable = False, list[Path]()
    for folder, names in given.items():
        with Index.open(folder, names or (), reading) as index:
            some = some or bool(index.recordings())
            unreadable += [
                index.folder / one.recording for one in index.recordings(unreadable=True) if one.fault
            ]
            yield index
    if unreadable and not some:
        raise SetUpFault(
            f"{unreadable[0]} can't be read.",
            "So there is nothing to look at.",
            "`exhibit verify` says what is wrong with each file.",
        )
    if not some:
        raise no_recording(given, "So there is nothing to look at.")
