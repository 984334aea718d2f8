"""Escapes what can't be seen: a stranger's text must not move a terminal's cursor, or pass for our own."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

_UNSEEN: Final = re.compile("[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u3164\uffa0\U000e0100-\U000e01ef]")
"""Letters and marks that can't be seen, though they are no format characters (Default_Ignorable_Code_Point in
Unicode). The selectors U+FE00 to U+FE0F stay, because they only choose between two pictures."""
_CONTROLS: Final = re.compile(r"[\x00-\x1f\x7f-\x9f]")


def printable(text: str) -> str:
    r"""The text with everything escaped that isn't a letter, a sign or a space; for one line of output.

    So are control characters (ESC becomes \x1b, a line break \n), invisible characters, those that change the
    direction of writing, private ones and surrogates. The letters of all languages stay.
    """
    if text.isprintable() and text.isascii():
        return text
    return "".join(character if _is_seen(character) else escaped(character) for character in text)


def without_controls(text: str) -> str:
    """The text with only its control characters escaped: for a file, where invisible ones can be needed.

    Persian and many languages of India are not written without them.
    """
    return _CONTROLS.sub(lambda found: escaped(found[0]), text)


def escaped(character: str) -> str:
    r"""The character's number, as \x1b, \u202e or \U000e0001; \n, \r and \t for these."""
    return character.encode("unicode_escape").decode("ascii")


def _is_seen(character: str) -> bool:
    # Of the spaces, isprintable() knows only the usual one.
    seen = character.isprintable() or unicodedata.category(character) == "Zs"
    return seen and not _UNSEEN.match(character)


def as_unicode(text: str) -> str:
    """The text with a question mark for each byte of a file's name that isn't UTF-8: JSON has none."""
    return text.encode("utf-8", "replace").decode("utf-8")
