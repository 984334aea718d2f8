"""The characters that a machine prints and takes: what each code stands for.

A seven-bit console of one country prints a few codes as letters of its own: a German one prints Ä where
others have [. Those are the national versions of ISO/IEC 646. Control codes and sequences are the same in all
of them.
"""

from __future__ import annotations

import codecs
import unicodedata
from functools import lru_cache
from typing import Final

from exhibit.facts.display import CharacterSet

SUBSTITUTE_MARK: Final = "\u00b7"
"""What a code without a character becomes. Every Latin typeface has it, it is one cell wide, and no seven-bit
console can print it."""

NATIONAL: Final[dict[str, dict[str, str]]] = {
    name: dict(zip(pairs[::3], pairs[1::3], strict=True))
    for name, pairs in {
        "british": "#£ ~‾",
        "danish": "[Æ \\Ø ]Å {æ |ø }å",
        "french": "#£ @à [° \\ç ]§ `µ {é |ù }è ~¨",
        "german": "@§ [Ä \\Ö ]Ü {ä |ö }ü ~ß",
        "hungarian": "$¤ @Á [É \\Ö ]Ü `á {é |ö }ü ~˝",
        "italian": "#£ @§ [° \\ç ]é `ù {à |ò }è ~ì",
        "norwegian": "[Æ \\Ø ]Å {æ |ø }å ~‾",
        "portuguese": "@§ [Ã \\Ç ]Õ {ã |ç }õ ~°",
        "spanish": "#£ @§ [¡ \\Ñ ]¿ {° |ñ }ç",
        "swedish": "$¤ [Ä \\Ö ]Å {ä |ö }å ~‾",
    }.items()
}
"""For each national version of ISO/IEC 646: the ASCII character of a code, and what is printed for it. The
tables are from memory; the tests compare them with those of the GNU C library."""

EIGHT_BITS: Final[dict[str, str]] = {
    "latin-1": "latin-1",
    "code page 437": "cp437",
    "utf-8": "utf-8",
}
"""Python's codec for each set in which the eighth bit belongs to the character."""

_LOW: Final = bytes(range(128))
_MARKED: Final = bytes(byte if byte < 0x80 else ord(SUBSTITUTE_MARK) for byte in range(256))
_ALIKE: Final = {"\u00a0": " ", "\u00ad": "-"}
"""Characters that look like another one in a row of a console."""
_NO_CELL: Final = frozenset(("Cc", "Cf", "Cn", "Co", "Cs", "Me", "Mn", "Zl", "Zp"))
"""The general categories of Unicode whose characters have no cell of their own."""


class Decoder:
    """Turns the eight-bit codes from a line into characters, each of which takes one cell.

    A UTF-8 character that isn't complete is kept for the next bytes. `substituted` counts the characters that
    became SUBSTITUTE_MARK.
    """

    def __init__(self, name: CharacterSet) -> None:
        codec = EIGHT_BITS.get(name)
        self._decoder = codecs.getincrementaldecoder(codec)("replace") if codec else None
        self.substituted = 0

    def decode(self, data: bytes) -> str:
        """The characters that these bytes complete; the codes 0x00 to 0x7F stand for themselves."""
        if self._decoder is None:
            self.substituted += len(data.translate(None, _LOW))
            return data.translate(_MARKED).decode("latin-1")
        text = self._decoder.decode(data)
        if text.isascii():
            return text
        shown = "".join(map(_in_one_cell, text))
        self.substituted += shown.count(SUBSTITUTE_MARK) - text.count(SUBSTITUTE_MARK)
        return shown

    def pending(self) -> str:
        """The bytes of a character that isn't complete yet, as hexadecimal figures."""
        return self._decoder.getstate()[0].hex() if self._decoder is not None else ""

    def resume(self, pending: str) -> None:
        """Continues after `pending` bytes of a character."""
        if self._decoder is not None:
            self._decoder.reset()
            self._decoder.decode(bytes.fromhex(pending))


@lru_cache(maxsize=4096)
def _in_one_cell(character: str) -> str:
    if character <= "\x7f":  # DEL too: the wire drops it as a filler
        return character
    if character in _ALIKE:
        return _ALIKE[character]
    wide = unicodedata.east_asian_width(character) in ("W", "F")
    unprinted = unicodedata.category(character) in _NO_CELL
    return SUBSTITUTE_MARK if wide or unprinted or character == "\ufffd" else character


@lru_cache(maxsize=64)
def shown_for(name: CharacterSet) -> dict[int, str]:
    """For `str.translate`: what a seven-bit set prints in place of ASCII characters; empty if nothing."""
    return {ord(sent): printed for sent, printed in NATIONAL.get(name, {}).items()}


def codes_of(text: str, name: CharacterSet) -> bytes:
    """What to send so that the machine takes these characters.

    An ASCII character for which the set has another is sent as its code. Characters that the set lacks become
    question marks; see `is_printed`.
    """
    codes = {ord(printed): sent for sent, printed in NATIONAL.get(name, {}).items()}
    return text.translate(codes).encode(EIGHT_BITS.get(name, "ascii"), "replace")


@lru_cache(maxsize=4096)
def is_printed(character: str, name: CharacterSet) -> bool:
    """Whether a console with this character set can print the character."""
    national = NATIONAL.get(name, {})
    if (
        character in national
        or character < " "
        or character == "\x7f"
        or _in_one_cell(character) != character
    ):
        return False
    try:
        return bool(character in national.values() or character.encode(EIGHT_BITS.get(name, "ascii")))
    except UnicodeEncodeError:
        return False


def is_typed(character: str, name: CharacterSet) -> bool:
    """Whether the keyboard of such a console has a key for the character: a printed one, with seven bits."""
    return is_printed(character, name) and max(codes_of(character, name)) < 0x80
