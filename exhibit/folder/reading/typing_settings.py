"""Reads single settings of typing, which [typing] gives for a machine and a landmark can give otherwise."""

from __future__ import annotations

from typing import Final, Literal

from exhibit.decisions.machine.description import Typing
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.values import key_or_none

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
