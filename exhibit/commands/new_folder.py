"""Makes a new machine's folder: a copy of a shipped one, for an engineer to change."""

from __future__ import annotations

import shutil
from pathlib import Path

from exhibit.facts.errors import SetUpFault
from exhibit.folder.reading.story import DOCENT
from exhibit.web.places import scripts_folder

SMALLEST = "heron"
"""The smallest folder, with comments: docs/smallest-folder.md shows it."""


def likes() -> list[str]:
    """The names of the shipped folders."""
    return sorted(path.parent.name for path in scripts_folder().glob("*/machine.toml"))


def make_folder(folder: Path, like: str = SMALLEST) -> int:
    """Copies the shipped folder of that name to `folder`; returns the number of files.

    The simulator's own file isn't copied, because the new machine isn't the simulated one. Raises SetUpFault
    if there is something at that place already, or if nothing can be written there.
    """
    why = "A new folder never overwrites anything."
    do = "Give the name of a folder that doesn't exist yet."
    if folder.exists() and not folder.is_dir():
        raise SetUpFault(f"{folder} is a file.", why, do)
    if folder.is_dir() and any(folder.iterdir()):
        raise SetUpFault(f"{folder} already has something in it.", why, do)
    try:
        shutil.copytree(
            scripts_folder() / like,
            folder,
            ignore=shutil.ignore_patterns(DOCENT),
            copy_function=shutil.copyfile,
            dirs_exist_ok=True,
        )
    except OSError as fault:
        raise SetUpFault(
            f"{folder} can't be written: {fault.strerror or fault}.",
            "The folder has to be on this computer's disc before it can be changed.",
            "Give a place where you can write, or make room on the disc.",
        ) from fault
    return sum(path.is_file() for path in folder.rglob("*"))
