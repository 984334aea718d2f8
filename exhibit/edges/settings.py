"""Reads a machine's folder and checks every key of every file of it."""

from __future__ import annotations

from pathlib import Path

from exhibit.decisions.script import Folder


def read_folder(path: Path) -> Folder:
    """Give what the folder describes.

    Raises FolderMistakes (exhibit.edges.settings_mistakes), which carries every mistake found.
    """
    raise NotImplementedError(path)


def check_report(path: Path) -> list[str]:
    """Say what `exhibit check` says: every mistake, a line each, or one line that all is well."""
    raise NotImplementedError(path)
