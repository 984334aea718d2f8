"""Reads the landmarks of machine.toml: states of the console, by what stands there in each."""

from __future__ import annotations

from collections.abc import Collection

from exhibit.decisions.machine.script import SILENT
from exhibit.folder.reading.tables import Table


def read_landmarks(
    root: Table, prompts: Collection[str], others: Collection[str]
) -> dict[str, tuple[str, ...]]:
    """The landmarks, if there are any: then each prompt belongs to one. `others`: displays and lines."""
    landmarks: dict[str, tuple[str, ...]] = {}
    if "landmarks" not in root:
        return {}
    owner: dict[str, str] = {}
    known = [*prompts, *others]
    for name, table in root.named_tables("landmarks"):
        listed = table.texts("at", '["starter"]')
        if "at" in table and not listed:
            table.wrong("at", "at names nothing", 'at = ["starter"]')
        if name == SILENT:
            table.wrong((), f'"{SILENT}" stands for a machine from which nothing is heard', "another name")
        for text, below in listed:
            if table.look_up(below, text, known, "prompt, display or line") and text in owner:
                what = f'"{text}" belongs to the landmark "{owner[text]}" already'
                table.wrong(below, what, "each name in one landmark")
            owner.setdefault(text, name)
        landmarks[name] = tuple(text for text, _ in listed)
        table.close()
    for prompt in prompts:
        if prompt not in owner:
            what = f'no landmark knows the prompt "{prompt}"'
            root.wrong(("prompts", prompt), what, f'"{prompt}" in the "at" of one of the [landmarks]')
    return landmarks
