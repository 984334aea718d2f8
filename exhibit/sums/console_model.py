"""A model of how a machine handles what is typed at it, as far as the effects of noise depend on that."""

from __future__ import annotations

from typing import Final

import msgspec

XON: Final = 17
XOFF: Final = 19
NO_KEY: Final = -1


class Console(msgspec.Struct, frozen=True, kw_only=True):
    """How a machine handles what is typed at it. Keys are character codes."""

    upper: bool
    """Whether it turns small letters into capitals, in its echo too."""
    echo: bool = True
    return_key: int = 13
    cancel: int = 24
    """The cancel key; NO_KEY if there is none, in which case nothing is typed after a wrong echo."""
    ends_line: frozenset[int] = frozenset({10, 13})
    """Characters that make it execute its line. Line feed is among them, because it is on some machines."""
    rubs_out: frozenset[int] = frozenset({8, 127})
    rub_out_shows: bytes = b"<"
    cancel_shows: bytes = b"\r\n"
    """What it prints first after the cancel key."""
    ignores: frozenset[int] = frozenset({0})
    """Characters that it neither stores nor echoes. Other control characters it echoes in some way."""
    flow_control: bool = False
    """Whether both the machine and we obey XON and XOFF."""
    show_again: int | None = None
    """The key that makes it show its line again; None if there is none."""
    again_shows: bytes = b"\r\n"
    """What it prints before that line: a new line, perhaps after a mark, and perhaps the prompt."""


def folded(character: str, console: Console) -> str:
    """Return the character as the machine echoes it."""
    return character.upper() if console.upper else character
