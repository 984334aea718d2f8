"""Writes limits that the recordings support into a machine's folder, and changes nothing else in it."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
import tomllib
from collections.abc import Sequence
from pathlib import Path

import msgspec

from exhibit.facts.errors import SetUpFault
from exhibit.facts.units import duration_us
from exhibit.folder.files import read_files, read_other_files
from exhibit.folder.reading.mistakes import FolderMistakes, Mistake
from exhibit.folder.reading.toml_lines import Path as Place
from exhibit.folder.reading.toml_lines import lines_of, with_values
from exhibit.folder.whole import folder_from
from exhibit.records.timings import Row, time_text


class _Change(msgspec.Struct, frozen=True):
    row: Row
    file: str
    place: Place
    line: int
    value: str


def write_limits(folder: Path, rows: Sequence[Row]) -> list[str]:
    """Writes each supported limit that differs from the file's. Returns a line for a person about each.

    A limit that would put the folder out of order is not changed, and its line says so. Raises
    FolderMistakes if the folder has mistakes already, and SetUpFault if a file can't be written.
    """
    before, others = read_files(folder), read_other_files(folder)
    folder_from(before, str(folder), others)
    changes = [change for row in rows if (change := _change(row, before)) is not None]
    kept: list[str] = []
    while True:
        after = _changed(before, changes)
        try:
            folder_from(after, str(folder), others)
            break
        except FolderMistakes as found:
            refused = [
                (change, mistake)
                for change in changes
                for mistake in found.mistakes
                if (change.file, change.line) == (mistake.file, mistake.line)
            ]
            if not refused:
                raise
            changes = [change for change in changes if change not in [other for other, _ in refused]]
            kept += [_kept(change.row, mistake) for change, mistake in refused]
    _write(folder, before, after)
    return kept + [
        f"{change.file}:{change.line}: {change.row.step}: within was {time_text(change.row.limit_us)} "
        f"and is now {change.value}."
        for change in changes
    ] or ["No limit was changed."]


def _change(row: Row, files: dict[str, bytes]) -> _Change | None:
    if row.supported_us is None or row.supported_us == row.limit_us:
        return None
    value = time_text(row.supported_us)
    # These two must never be written, whatever the sums say.
    if duration_us(value) != row.supported_us or row.supported_us < row.times.slowest_us:
        raise AssertionError(f"{value} isn't the limit of {row.script}.{row.step}")
    file = f"{row.script}.toml"
    text = files[file].decode("utf-8")
    data = tomllib.loads(text)
    for kind in ("step", "tidy_up"):
        for index, step in enumerate(data.get(kind, [])):
            if step["name"] == row.step:
                place = (kind, index, "within")
                return _Change(row, file, place, lines_of(text)[place], value)
    return None


def _changed(files: dict[str, bytes], changes: Sequence[_Change]) -> dict[str, bytes]:
    after = dict(files)
    for file in {change.file for change in changes}:
        values = {change.place: change.value for change in changes if change.file == file}
        after[file] = with_values(files[file].decode("utf-8"), values).encode("utf-8")
    return after


def _kept(row: Row, mistake: Mistake) -> str:
    limit, supported = time_text(row.limit_us), time_text(row.supported_us or 0)
    return f"{row.script}.{row.step}: stays {limit}, because with {supported} {mistake.what}."


def _write(folder: Path, before: dict[str, bytes], after: dict[str, bytes]) -> None:
    """Replaces each changed file as a whole, so that none is ever half written."""
    for name in after:
        if after[name] == before[name]:
            continue
        path = (folder / name).resolve()
        try:
            if path.read_bytes() != before[name]:
                raise SetUpFault(
                    f"Somebody else has changed {path} meanwhile.",
                    "Their change would be lost, so no limit was written there.",
                    "Run the command again.",
                )
            _replace(path, after[name])
        except OSError as fault:
            raise SetUpFault(
                f"{path} can't be written: {fault.strerror}.",
                "The limits in it are unchanged.",
                "Make the folder and the file writable for the user who runs this program.",
            ) from fault


def _replace(path: Path, content: bytes) -> None:
    fd, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(fd, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        shutil.copymode(path, name)
        os.replace(name, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise
