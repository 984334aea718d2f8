"""How a machine takes what is typed at it, as far as the chances of noise depend on it."""

from __future__ import annotations

from typing import Final

import msgspec

XON: Final = 17
XOFF: Final = 19


class Console(msgspec.Struct, frozen=True, kw_only=True):
    """How a machine takes what is typed at it."""

    upper: bool
    """It makes small letters capitals, in its echo too."""
    echo: bool = True
    return_key: int = 13
    cancel: int = 24
    ends_line: frozenset[int] = frozenset({10, 13})
    """Characters that make it execute what stands there. Machines differ in line feed: it is counted."""
    rubs_out: frozenset[int] = frozenset({8, 127})
    rub_out_shows: bytes = b"<"
    cancel_shows: bytes = b"\r\n"
    """What it prints first when it was told to cancel."""
    ignores: frozenset[int] = frozenset({0})
    """Characters that it takes and doesn't echo. Other control characters it echoes in some way."""
    flow_control: bool = False
    """It understands XON and XOFF, and so do we."""
    show_again: int | None = None
    """The key that makes it show its line again, if it has one."""
    again_shows: bytes = b"\r\n"
    """What it prints before that line: perhaps a mark, a new line, perhaps the prompt."""


def folded(character: str, console: Console) -> str:
    """The character as the machine shows it."""
    return character.upper() if console.upper else character
