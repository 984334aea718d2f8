"""Lists that keeping writes: a line of JSON for each file, on the disc before anything is said to be done."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TypeVar

import msgspec

from exhibit.facts.errors import SetUpFault

Line = TypeVar("Line", bound=msgspec.Struct)
LARGEST_BYTES = 50_000_000


def lines_in(path: Path, kind: type[Line]) -> list[Line]:
    """All lines of a list; empty if there is none. What isn't a line of it is left out. Raises SetUpFault."""
    found = []
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise _fault(path, "is larger than any such list")
        for line in path.read_bytes().splitlines():
            try:
                found.append(msgspec.json.decode(line, type=kind))
            except msgspec.MsgspecError:
                continue  # torn by a power cut: that file counts as not done
    except FileNotFoundError:
        return []
    except OSError as error:
        raise _fault(path, f"can't be read: {error.strerror}") from error
    return found


def add_line(path: Path, line: msgspec.Struct) -> None:
    """Append a line, and wait until it is on the disc. Raises SetUpFault."""
    try:
        with path.open("ab") as file:
            if file.tell() and path.read_bytes()[-1:] != b"\n":
                file.write(b"\n")  # the line before was torn
            file.write(msgspec.json.encode(line) + b"\n")
            file.flush()
            os.fsync(file.fileno())
        sync_folder(path.parent)
    except OSError as error:
        raise _fault(path, f"can't be written: {error.strerror}") from error


def sync_folder(folder: Path) -> None:
    """Wait until the names in a folder are on the disc. Raises OSError."""
    fd = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(fd)
    finally:
        os.close(fd)


def _fault(path: Path, what: str) -> SetUpFault:
    return SetUpFault(
        f"The list {path} {what}.",
        "It says what was done with each recording, so nothing is done without it.",
        "Give this user access to it, or make room on the disc.",
    )
