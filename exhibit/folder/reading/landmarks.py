"""Reads the landmarks of machine.toml: states of the console that can be recognised."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Final

import msgspec

from exhibit.decisions.machine.description import Silence, Typing
from exhibit.decisions.machine.script import SILENT
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.typing_settings import TYPING_KEYS, check_typing, read_typing_key
from exhibit.folder.reading.values import intended_name, key_pressed

_OTHER_KEYS: Final = ("at", "silent", "wake")


@dataclass
class LandmarksDraft:
    """The landmarks as read."""

    names: dict[str, tuple[str, ...]] = field(default_factory=dict)
    """By landmark: the prompts, lines and displays by which it is recognised; none for a silence."""
    silences: list[Silence] = field(default_factory=list)
    typing_at: dict[str, Typing] = field(default_factory=dict)


def read_landmarks(
    root: Table, prompts: Collection[str], others: Collection[str], typing: Typing | None
) -> LandmarksDraft:
    """Read the landmarks. Adds mistakes to the tables.

    If there are any landmarks, each prompt must belong to one. `others` are displays and lines; `typing` is
    how the machine takes what is typed where a landmark doesn't say otherwise.
    """
    draft = LandmarksDraft()
    if "landmarks" not in root:
        return draft
    owner: dict[str, str] = {}
    known = [*prompts, *others]
    for name, table in root.named_tables("landmarks"):
        if name == SILENT:
            what = f'the name "{SILENT}" is reserved for a machine that sends nothing'
            table.wrong((), what, "another name")
        if _is_silent(table):
            draft.names[name] = ()
            _read_silence(name, table, draft)
            continue
        listed = table.texts("at", '["starter"]', at_least_one=True)
        for text, below in listed:
            if table.look_up(below, text, known, "prompt, display or line") and text in owner:
                what = f'"{text}" already belongs to the landmark "{owner[text]}"'
                table.wrong(below, what, "each name in only one landmark")
            owner.setdefault(intended_name(text, known) or text, name)
        draft.names[name] = tuple(text for text, _ in listed)
        if "wake" in table:
            table.allow("wake")
            table.wrong(
                "wake", "only a landmark with silent = true needs a key that wakes it", "nothing; delete this"
            )
        if typing is not None:
            _read_typing(name, table, typing, draft)
        table.close()
    silent = {silence.landmark for silence in draft.silences}
    are_read = [names or name in silent for name, names in draft.names.items()]
    are_complete = all(are_read) and len(are_read) == len(root.table("landmarks").names())
    for prompt in prompts if are_complete else ():
        if prompt not in owner:
            what = f'the prompt "{prompt}" belongs to no landmark'
            root.wrong(("prompts", prompt), what, f'"{prompt}" in the "at" of one of the [landmarks]')
    return draft


def _is_silent(table: Table) -> bool:
    """Whether the landmark is a silence; a misspelt key is reported once, as a misspelling."""
    near = [key for key in table.names() if key not in _OTHER_KEYS and intended_name(key, ["silent"])]
    return "silent" in table or (bool(near) and "at" not in table)


def _read_silence(name: str, table: Table, draft: LandmarksDraft) -> None:
    is_silent = table.boolean("silent")
    if "silent" in table and not is_silent:
        table.wrong("silent", f"{table.title} has no sign by which it is recognised", "silent = true")
    if "at" in table:
        table.allow("at")
        what = "a landmark at which the machine sends nothing can't be recognised by what it prints"
        table.wrong("at", what, "either at or silent = true, in two landmarks")
    wake = b""
    if "wake" in table:
        wake = table.read("wake", "return", b"", key_pressed)
        if b" " < wake < b"\x7f":
            what = "this key types a character, which would become the beginning of a command"
            table.wrong("wake", what, 'wake = "return", or another key that types nothing')
    table.allow(*(key for key in TYPING_KEYS if key in table))
    for key in TYPING_KEYS:
        if key in table:
            what = "nothing is typed at a landmark at which the machine sends nothing"
            table.wrong(
                key, what, "nothing; delete this, or put it at the landmark at which something is typed"
            )
    for other in draft.silences:
        if bool(other.wake) == bool(wake):
            has = "a key that wakes it" if wake else "no key that wakes it"
            what = f'"{other.landmark}" is a silence with {has} too, so nobody can tell the two apart'
            table.wrong((), what, f"one landmark for both, or {'no ' if wake else ''}wake in one of them")
    draft.silences.append(Silence(landmark=name, wake=wake))
    table.close()


def _read_typing(name: str, table: Table, typing: Typing, draft: LandmarksDraft) -> None:
    """Read what is different about typing at this landmark."""
    changes = {}
    for key, attribute in TYPING_KEYS.items():
        if key in table:
            changes[attribute] = read_typing_key(table, key)
    if not changes:
        return
    there = msgspec.structs.replace(typing, **changes)
    check_typing(table, there)
    draft.typing_at[name] = there
