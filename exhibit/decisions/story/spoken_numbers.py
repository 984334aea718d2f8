"""Numbers as people write them in their language: 65,536 in English, 65.536 in German.

The machine's figures are neither rounded nor filled up: only their marks are those of the language, by
the tables of the Unicode Consortium (CLDR), which the library babel carries. Babel is asked only for the
marks: given a whole number with two apostrophes as marks, its version 2.19 takes them for quotes and
drops them.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

from babel import Locale, UnknownLocaleError
from babel.numbers import get_decimal_symbol, get_group_symbol

_NUMBER: Final = re.compile(r"([+-]?)([0-9]{1,15})(?:\.([0-9]{1,9}))?")


def number_in_language(text: str, tag: str) -> str:
    """A number as people write it in the language of this tag; any other text unchanged.

    In a language that babel doesn't know, figures stay as the machine gave them.
    """
    found = _NUMBER.fullmatch(text.strip())
    locale = _locale(tag)
    if found is None or locale is None:
        return text
    sign, whole, fraction = found.groups()
    # Newer tables give a typewriter's apostrophe; the one that is printed looks the same with every version.
    mark = get_group_symbol(locale).replace("'", "’")
    grouped = f"{int(whole):,}".replace(",", mark)
    rest = f"{get_decimal_symbol(locale)}{fraction}" if fraction else ""
    return f"{sign.replace('+', '')}{grouped}{rest}"


@lru_cache(maxsize=64)
def _locale(tag: str) -> Locale | None:
    try:
        return Locale.parse(tag, sep="-")
    except (UnknownLocaleError, ValueError):
        return None
