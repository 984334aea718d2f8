"""Reads the landmarks of machine.toml: states of the console that can be recognised, and typing there."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Final, Literal

import msgspec

from exhibit.decisions.machine.description import Silence, Typing
from exhibit.decisions.machine.script import SILENT
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import intended_name, key_or_none, key_pressed

_ECHO: Final[tuple[Literal["full", "none"], ...]] = ("full", "none")
_FOLDS: Final[tuple[Literal["upper case", "as typed"], ...]] = ("upper case", "as typed")
_AFTER: Final[tuple[Literal["prompt", "nothing"], ...]] = ("prompt", "nothing")
LARGEST_WINDOW: Final = 8
TYPING_KEYS: Final = {
    "echo": "echo",
    "folds_to": "folds_to",
    "echo_within": "echo_within_us",
    "cancel": "cancel",
    "after_cancel": "after_cancel",
    "return": "return_key",
    "pause_after": "pause_after_us",
    "window": "window",
    "show_again": "show_again",
    "nudge": "nudge",
}
"""The keys that a landmark can have, with the attributes of Typing that they set."""
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


def read_typing_key(table: Table, key: str) -> object:
    """Return the value of one of `TYPING_KEYS`. Adds mistakes to the table."""
    match key:
        case "echo":
            return table.choice(key, _ECHO)
        case "folds_to":
            return table.choice(key, _FOLDS)
        case "after_cancel":
            return table.choice(key, _AFTER)
        case "echo_within":
            return table.duration(key, "3 s")
        case "pause_after":
            return table.duration(key, "0 ms", may_be_zero=True)
        case "window":
            return table.integer(key, 1, LARGEST_WINDOW, 1)
        case "return":
            return table.key_press(key, "return")
    return table.read(key, "return" if key == "nudge" else "control X", b"", key_or_none)


def check_typing(table: Table, typing: Typing) -> None:
    """Add a mistake for each key of this table that can't do what it is for."""
    again = typing.show_again
    write = 'show_again = "none", or the key that makes the machine print the line again'
    if again and again in (typing.cancel, typing.return_key):
        table.wrong(
            "show_again" if "show_again" in table else (),
            "this key cancels or ends the line, so it can't show it again",
            write,
        )
    elif b" " <= again < b"\x7f":
        table.wrong("show_again", "this key types a character, which would become part of the line", write)
    if b" " < typing.nudge < b"\x7f":
        what = "this key types a character, which would become the beginning of a command"
        table.wrong("nudge", what, 'nudge = "return", or "none"')
    if typing.cancel and typing.cancel == typing.return_key and ("cancel" in table or "return" in table):
        table.wrong(
            "cancel" if "cancel" in table else "return",
            "the cancel key is RETURN, which would execute a half-typed command",
            'cancel = "control X", or "none"',
        )
    if typing.after_cancel == "nothing" and not typing.cancel:
        what = "there is no cancel key, so nothing comes after it"
        table.wrong(
            "after_cancel" if "after_cancel" in table else "cancel", what, "nothing; delete after_cancel"
        )
    elif typing.after_cancel == "nothing" and not again:
        what = (
            "nothing shows whether the machine took the cancel key, so after a command that came back wrong "
            "a person is asked"
        )
        if "after_cancel" in table:
            table.advise(
                "after_cancel", what, "show_again = the key that makes the machine print the line again"
            )
