"""The recordings that the engineer was asked to study: which there are, and those that are open."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from exhibit.facts import codec
from exhibit.facts.errors import RecordingFault
from exhibit.records.study.indexing import Indexing
from exhibit.records.study.studied import Studied
from exhibit.streams.recording import RecordingFolder, read_opened
from exhibit.streams.recording_fault import as_recording_fault
from exhibit.streams.recording_files import no_recording
from exhibit.streams.recording_reader import open_recording

MOST_OPEN: Final = 2
"""How many recordings are kept open: each takes some memory for its keyframes."""
_LAST_BYTES: Final = 64 * 1024


class Shelf:
    """The recordings by name. Thread-safe."""

    def __init__(self, given: Sequence[Path], cache_folder: Path | None = None) -> None:
        """`given` are recordings, and folders of them.

        Raises RecordingFault for one that is none, and SetUpFault if there are none at all.
        """
        self._given = list(given)
        self._folders = {path: RecordingFolder(path) for path in given if path.is_dir()}
        self._cache_folder = cache_folder
        self._lock = threading.Lock()
        self.indexing = Indexing()
        """Gives the indexes of these recordings' folders."""
        self._open: OrderedDict[str, tuple[Studied, tuple[int, int]]] = OrderedDict()
        """Each with its file's size and time of change when it was opened."""
        self._rows: dict[tuple[str, int, int], dict[str, Any]] = {}
        for path in given:
            if path not in self._folders:
                read_opened(path)
        if not self._paths():
            raise no_recording(given, "The page shows recordings, so there is nothing that it could show.")

    def rows(self) -> list[dict[str, Any]]:
        """Each recording in short, the oldest first."""
        with self._lock:
            return [self._row(name, path) for name, path in self._paths().items()]

    def names(self) -> list[str]:
        """Their names, the oldest first."""
        with self._lock:
            return list(self._paths())

    def path(self, name: str) -> Path | None:
        """Where the recording of this name is; None if there is none."""
        with self._lock:
            return self._paths().get(name)

    def studied(self, name: str) -> Studied:
        """The recording of this name, opened; anew if it has grown since. Raises RecordingFault."""
        with self._lock:
            path = self._paths().get(name)
            if path is None:
                raise RecordingFault(
                    f"There is no recording {name[:100]} here.",
                    "It may have been moved or renamed, or the link is about recordings of another folder.",
                    "Choose one of the list, or start `exhibit records` with the folder that has it.",
                )
            with as_recording_fault(path, "be read"):
                status = path.stat()
            state = status.st_size, status.st_mtime_ns
            if name in self._open:
                self._open.move_to_end(name)
                studied, before = self._open[name]
                if state == before:
                    return studied
                studied.close()
            studied = Studied(path, self._cache_folder)
            self._open[name] = studied, state
            while len(self._open) > MOST_OPEN:
                self._open.popitem(last=False)[1][0].close()
            return studied

    def places(self, name: str | None = None) -> list[tuple[Path, tuple[str, ...]]]:
        """The folders of these recordings, or of this one, each with the files meant; none means all."""
        with self._lock:
            paths = self._paths()
            if name is not None:
                return [(paths[name].parent, (paths[name].name,))] if name in paths else []
            found: dict[Path, tuple[str, ...]] = dict.fromkeys(self._folders, ())
            for path in paths.values():
                if path.parent not in self._folders:
                    found[path.parent] = (*found.get(path.parent, ()), path.name)
            return list(found.items())

    def state(self) -> tuple[tuple[str, int, int], ...]:
        """What changes whenever a recording comes, goes or grows."""
        with self._lock:
            found = []
            for path in self._paths().values():
                with suppress(OSError):
                    status = path.stat()
                    found.append((f"{path}", status.st_size, status.st_mtime_ns))
            return tuple(found)

    def names_by_path(self) -> dict[Path, str]:
        """The name of the recording in each file."""
        with self._lock:
            return {path: name for name, path in self._paths().items()}

    def name_of_file(self, file_name: str) -> str | None:
        """The name of the first recording whose file is called so; None if there is none."""
        with self._lock:
            return next((name for name, one in self._paths().items() if one.name == file_name), None)

    def close(self) -> None:
        """Close what is open."""
        self.indexing.end()
        with self._lock:
            for studied, _ in self._open.values():
                studied.close()
            self._open.clear()

    def _paths(self) -> dict[str, Path]:
        """By name: a file's name without its suffix, with a number where there are several of that name."""
        found: dict[str, Path] = {}
        for given in self._given:
            folder = self._folders.get(given)
            for path in [file.path for file in folder.recordings()] if folder is not None else [given]:
                stem = path.name.partition(".")[0]
                name, number = stem, 1
                while name in found and found[name] != path:
                    number += 1
                    name = f"{stem} ({number})"
                found[name] = path
        return found

    def _row(self, name: str, path: Path) -> dict[str, Any]:
        try:
            status = path.stat()
        except OSError as error:
            return {"name": name, "why": f"It can't be read: {error.strerror}."}
        key = (name, status.st_size, status.st_mtime_ns)
        if key not in self._rows:
            self._rows[key] = _row(name, path, status.st_size)
        return self._rows[key]


def _row(name: str, path: Path, size_bytes: int) -> dict[str, Any]:
    try:
        opened = read_opened(path)
        end_us, closed = _end(path)
    except RecordingFault as fault:
        return {"name": name, "why": f"{fault.what} {fault.do}"}
    return {
        "name": name,
        "machine": opened.machine,
        "machine_is": opened.machine_is,
        "practice": opened.practice,
        "wall": opened.wall,
        "rate": opened.rate,
        "end_us": end_us,
        "closed": closed,
        "size_bytes": size_bytes,
    }


def _end(path: Path) -> tuple[int, bool]:
    """The time on the last whole line, and whether it says that the recording was closed."""
    with open_recording(path) as file, as_recording_fault(path, "be read"):
        size_bytes = file.seek(0, 2)
        file.seek(max(0, size_bytes - _LAST_BYTES))
        for line in reversed(file.read(_LAST_BYTES).split(b"\n")):
            place = codec.seq_and_time(line)
            if place is not None and codec.stored_crc(line + b"\n") is not None:
                return place[1], b'"fact":"recording_closed"' in line[:80]
    return 0, False
