"""Reads the files of a machine's folder from the disc, within limits: the folder can come from a stranger.

Only regular files inside the folder are read, and none that is larger or later in line than any museum's.
A pipe would keep the reader waiting for ever, a device has no end, and a link could lead to any file of this
computer, whose content a mistake would then quote.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path
from typing import Final

from exhibit.facts.errors import SetUpFault
from exhibit.folder.gallery.photographs import LARGEST_FILE_BYTES as LARGEST_PICTURE_BYTES
from exhibit.folder.gallery.pictures import FOLDER as PICTURES
from exhibit.folder.reading.cards import FOLDER as CARDS
from exhibit.folder.reading.languages import FOLDER as LANGUAGES
from exhibit.folder.reading.mistakes import Mistake
from exhibit.folder.reading.values import intended_name

LARGEST_BYTES: Final = 250_000
"""Of a TOML file or a card."""
MOST_BYTES: Final = 2_000_000
"""Of all TOML files together, and of all cards."""
MOST_PICTURES_BYTES: Final = 100_000_000
MOST_FILES: Final = 300
"""Of each kind."""
MOST_LISTED: Final = 20_000
"""Files and folders that are looked through for those that nothing reads."""
_WHY: Final = "Without it nothing is known about the machine."


def read_files(path: Path) -> dict[str, bytes]:
    """Return the content of the folder's TOML files, by their names within it.

    Raises SetUpFault if the folder doesn't exist, can't be read, or has a file that isn't read.
    """
    if not path.is_dir():
        what = f"{path} is a file, not a folder." if path.exists() else f"There is no folder {path}."
        beside = sorted(other.name for other in path.parent.glob("*") if other.is_dir())
        near = intended_name(path.name, beside)
        do = f"Did you mean {path.parent / near}?" if near else "Give the folder that contains machine.toml."
        raise SetUpFault(what, _WHY, do)
    found = _contents(path, [*path.glob("*.toml"), *(path / LANGUAGES).glob("*.toml")], LARGEST_BYTES)
    return dict(_no_more_than(MOST_BYTES, path, found))


def read_other_files(path: Path) -> dict[str, bytes]:
    """Return the content of the cards and pictures, by their names within the folder. Raises SetUpFault."""
    return {**read_card_files(path), **read_picture_files(path)}


def read_card_files(path: Path) -> dict[str, bytes]:
    """Return the content of the cards' files, by their names within the folder. Raises SetUpFault."""
    found = _contents(path, (path / CARDS).glob("*/*.md"), LARGEST_BYTES)
    return dict(_no_more_than(MOST_BYTES, path, found))


def read_picture_files(path: Path) -> dict[str, bytes]:
    """Return the content of the files in pictures/, by their names within the folder. Raises SetUpFault."""
    files = [file for file in (path / PICTURES).glob("*") if not file.name.startswith(".")]
    found = _contents(path, files, LARGEST_PICTURE_BYTES, leaves_out_folders=True)
    return dict(_no_more_than(MOST_PICTURES_BYTES, path, found))


def unread_files(path: Path, known: Collection[str]) -> list[Mistake]:
    """Return advice on each TOML or Markdown file that nothing reads; `known`: the names of those read."""
    advice = []
    for file in _listed(path):
        within = file.relative_to(path)
        name, folder = within.as_posix(), within.parent.name
        if name in known or len(within.parts) == 1 or any(part.startswith(".") for part in within.parts):
            continue
        near = intended_name(folder, (LANGUAGES, CARDS)) if len(within.parts) == 2 else ""
        if near == folder:
            near = ""
        write = (
            f"{near}/{file.name}, if that is meant"
            if near
            else f"{LANGUAGES}/LANGUAGE.toml or {CARDS}/LANGUAGE/NAME.md, or move the file out of this folder"
        )
        advice.append(Mistake(name, 1, "no file in this place is ever read", write, is_advice=True))
    return advice


def _listed(path: Path) -> list[Path]:
    """The TOML and Markdown files anywhere in the folder, without following links; the first of many."""
    found: list[Path] = []
    listed = 0
    for folder, folders, files in os.walk(path):
        listed += 1 + len(files)
        found += [Path(folder, file) for file in files if file.endswith((".toml", ".md"))]
        if listed > MOST_LISTED or len(found) > MOST_FILES:
            folders.clear()
    return sorted(found)[:MOST_FILES]


def _contents(
    path: Path, files: Iterable[Path], largest_bytes: int, *, leaves_out_folders: bool = False
) -> Iterator[tuple[str, bytes]]:
    """The name within the folder and the content of each of these files. Raises SetUpFault."""
    ordered = sorted(files)
    if len(ordered) > MOST_FILES:
        raise SetUpFault(
            f"The folder {path} has {len(ordered)} files of one kind.",
            f"No machine needs more than {MOST_FILES}, and so many would keep this program busy for long.",
            "Give the folder that contains machine.toml, and move what doesn't belong there out of it.",
        )
    whole = path.resolve()
    for file in ordered:
        if leaves_out_folders and file.is_dir():
            continue
        if not Path(os.path.realpath(file)).is_relative_to(whole):
            raise SetUpFault(
                f"{file} is a link that leads out of the folder.",
                "What it leads to could be any file of this computer, so it isn't read.",
                "Copy the file into the folder, in place of the link.",
            )
        yield file.relative_to(path).as_posix(), _content(file, largest_bytes)


def _content(file: Path, largest_bytes: int) -> bytes:
    try:
        # Opening a named pipe without O_NONBLOCK would wait until somebody writes to it.
        descriptor = os.open(file, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
        with os.fdopen(descriptor, "rb") as opened:
            state = os.fstat(descriptor)
            if not stat.S_ISREG(state.st_mode):
                raise SetUpFault(
                    f"{file} is not an ordinary file.",
                    "A pipe or a device could keep this program waiting for ever, so it isn't read.",
                    "Put the file itself there, or remove it.",
                )
            # A file that grows meanwhile is no longer than what is read of it.
            content = opened.read(largest_bytes + 1) if state.st_size <= largest_bytes else b""
    except OSError as fault:
        raise SetUpFault(
            f"{fault.filename or file} can't be read: {fault.strerror}.",
            _WHY,
            "Make the folder and its files readable by the user who runs this program.",
        ) from fault
    if state.st_size > largest_bytes or len(content) > largest_bytes:
        raise SetUpFault(
            f"{file} has more than {largest_bytes:,} bytes.",
            "A file of its kind never needs so many, so it isn't read.",
            "Put a smaller file in its place.",
        )
    return content


def _no_more_than(
    most_bytes: int, path: Path, found: Iterator[tuple[str, bytes]]
) -> Iterator[tuple[str, bytes]]:
    total_bytes = 0
    for name, content in found:
        total_bytes += len(content)
        if total_bytes > most_bytes:
            raise SetUpFault(
                f"The files of one kind in the folder {path} have more than {most_bytes:,} bytes together.",
                "No machine needs so many, and reading them would take all the memory there is.",
                "Give the folder that contains machine.toml, and move what doesn't belong there out of it.",
            )
        yield name, content
