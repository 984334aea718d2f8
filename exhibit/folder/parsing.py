"""Parses one TOML file of a machine's folder, within bounds: tomllib has none.

A key of a hundred thousand parts keeps tomllib busy for hours, nested lists use up the stack, and Python
refuses a number of thousands of digits with an error of its own. So the text is looked through once before.
"""

from __future__ import annotations

import re
import tomllib
from functools import lru_cache
from typing import Any, Final

from exhibit.folder.files import LARGEST_BYTES
from exhibit.folder.reading import toml_lines
from exhibit.folder.reading.mistakes import Mistake, decoded

MOST_PARTS: Final = 8
"""Of a dotted key or header."""
MOST_NESTED: Final = 8
"""Lists and tables in one another on one value."""
MOST_DIGITS: Final = 18
LONGEST_KEY: Final = 100
LONGEST_TEXT: Final = 2000
"""Characters."""
MOST_ENTRIES: Final = 500
"""Keys of one table, or items of one list."""
MOST_VALUES: Final = 10_000
"""Tables, keys and items in one file."""
_AT_LINE: Final = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)")
# What a text is between quotation marks, in the four ways of TOML; a comment; a word, which can be a number
# or a bare key. Each begins with a character of its own, so nothing is tried twice.
_TOKEN: Final = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*+"{3,5}|\'\'\'(?:[^\']|\'(?!\'\'))*+\'{3,5}'
    r'|"(?:[^"\\\n]|\\.)*+"|\'[^\'\n]*+\'|\#[^\n]*+|[A-Za-z0-9_+-]++|[ \t]++|.',
    re.DOTALL,
)
_DIGITS: Final = re.compile(r"[+-]?[0-9_]+")


def parsed(name: str, content: bytes) -> tuple[dict[str, Any], dict[toml_lines.Path, int]] | Mistake:
    """Return the file's values with their lines, or the mistake that makes it unreadable."""
    return _parsed(name, content)


@lru_cache(maxsize=64)
def _parsed(name: str, content: bytes) -> tuple[dict[str, Any], dict[toml_lines.Path, int]] | Mistake:
    if len(content) > LARGEST_BYTES:
        return Mistake(name, 1, f"the file has more than {LARGEST_BYTES:,} bytes", "a shorter file")
    text = decoded(name, content)
    if isinstance(text, Mistake):
        return text
    if text.startswith("\ufeff"):
        instead = "the file again, saved as UTF-8 without this mark"
        return Mistake(name, 1, "the file begins with a byte order mark", instead)
    if (beyond := _beyond_bounds(name, text)) is not None:
        return beyond
    try:
        data = tomllib.loads(text)
        lines = toml_lines.lines_of(text)
    except tomllib.TOMLDecodeError as fault:
        found = _AT_LINE.search(str(fault))
        at_end = text.rstrip().count("\n") + 1
        line = int(found[1]) if found and found[1] else at_end
        reason = _AT_LINE.sub("", str(fault))
        reason = reason[:1].lower() + reason[1:]
        return Mistake(name, line, f"this is not TOML: {reason}", 'key = "value", or a header such as [line]')
    except (RecursionError, ValueError):
        return Mistake(name, 1, "something here is nested too deeply, or is no value", "plain lists")
    return _too_much(name, data, lines) or (data, lines)


def _beyond_bounds(name: str, text: str) -> Mistake | None:
    """The first thing in the text that tomllib would take too long for, or that it can't take."""
    parts = nested = at = 0
    between = True  # nothing stands before a key's next part but its dot
    for token in _TOKEN.finditer(text):
        first = token[0][0]
        if first in " \t":
            continue
        at, what = token.start(), ""
        if first == ".":
            parts, between = parts + 1, True
        elif first in "\"'" or first.isalnum() or first in "_+-":
            parts, between = (parts if between else 0), False
            if (
                first not in "\"'"
                and _DIGITS.fullmatch(token[0])
                and sum(map(str.isdigit, token[0])) > MOST_DIGITS
            ):
                what, write = f"a number has more than {MOST_DIGITS} digits", "a number that a machine needs"
            elif len(token[0]) > LONGEST_TEXT:
                what, write = f"a text has more than {LONGEST_TEXT} characters", "a shorter text"
        else:
            parts, between = 0, True
            nested += (first in "[{") - (first in "]}")
            nested = 0 if first == "\n" and nested < 0 else nested
        if parts >= MOST_PARTS:
            what, write = (
                f"a key has more than {MOST_PARTS} parts",
                'key = "value", or a header such as [line]',
            )
        elif nested > MOST_NESTED:
            what, write = "lists are nested too deeply", "plain lists"
        if what:
            return Mistake(name, text.count("\n", 0, at) + 1, what, write)
    return None


def _too_much(name: str, data: dict[str, Any], lines: dict[toml_lines.Path, int]) -> Mistake | None:
    """What is longer or more than any folder needs; comparing it all would take too long."""
    if len(lines) > MOST_VALUES:
        return Mistake(name, 1, f"the file has more than {MOST_VALUES} values", "a shorter file")
    for path, line in [((), 1), *lines.items()]:
        value: Any = data
        for key in path:
            value = value[key]
        if isinstance(value, dict | list) and len(value) > MOST_ENTRIES:
            what = f"more than {MOST_ENTRIES} entries stand in one place"
            return Mistake(name, line, what, "fewer entries")
        if path and len(f"{path[-1]}") > LONGEST_KEY:
            return Mistake(name, line, f"a key has more than {LONGEST_KEY} characters", "a shorter key")
    return None
