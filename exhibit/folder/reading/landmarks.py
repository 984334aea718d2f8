"""Reads the landmarks of machine.toml: states of the console that can be recognised."""

from __future__ import annotations

from collections.abc import Collection

from exhibit.decisions.machine.script import SILENT
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import intended_name


def read_landmarks(
    root: Table, prompts: Collection[str], others: Collection[str]
) -> dict[str, tuple[str, ...]]:
    """Return the names by which each landmark is recognised. Adds mistakes to the tables.

    If there are any landmarks, each prompt must belong to one. `others` are displays and lines.
    """
    landmarks: dict[str, tuple[str, ...]] = {}
    if "landmarks" not in root:
        return {}
    owner: dict[str, str] = {}
    known = [*prompts, *others]
    for name, table in root.named_tables("landmarks"):
        listed = table.texts("at", '["starter"]', at_least_one=True)
        if name == SILENT:
            what = f'the name "{SILENT}" is reserved for a machine that sends nothing'
            table.wrong((), what, "another name")
        for text, below in listed:
            if table.look_up(below, text, known, "prompt, display or line") and text in owner:
                what = f'"{text}" already belongs to the landmark "{owner[text]}"'
                table.wrong(below, what, "each name in only one landmark")
            owner.setdefault(intended_name(text, known) or text, name)
        landmarks[name] = tuple(text for text, _ in listed)
        table.close()
    are_complete = all(landmarks.values()) and len(landmarks) == len(root.table("landmarks").names())
    for prompt in prompts if are_complete else ():
        if prompt not in owner:
            what = f'the prompt "{prompt}" belongs to no landmark'
            root.wrong(("prompts", prompt), what, f'"{prompt}" in the "at" of one of the [landmarks]')
    return landmarks
