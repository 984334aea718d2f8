"""Finds the line of each key of a TOML file, and the characters that each value takes.

tomllib gives the values, but not their positions.

    lines_of('[a]\\nb = [1,\\n2]\\n') == {("a",): 1, ("a", "b"): 2, ("a", "b", 0): 2, ("a", "b", 1): 3}

A path is that of the parsed value: keys as text, indices in arrays as numbers from 0. A table is on
the line of its header; without a header of its own, on the line where it is first named.

The text must be one that tomllib has accepted, because nothing is checked here a second time. The
grammar is TOML 1.0.0 (toml.io/en/v1.0.0).
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Mapping
from itertools import accumulate
from typing import Final

Path = tuple[str | int, ...]

_SPACE: Final = re.compile(r"[ \t]*")
_SPACE_AND_LINES: Final = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR: Final = re.compile(r"[^,\]}\n#]*")
_BASIC: Final = re.compile(r'"((?:[^"\\]|\\.)*)"')
_LITERAL: Final = re.compile(r"'([^']*)'")
# A text of several lines can end with one or two quotation marks before the three that close it.
_LONG_BASIC: Final = re.compile(r'"""(?:[^"\\]|\\.|"(?!"")|"(?="""))*"""', re.DOTALL)
_LONG_LITERAL: Final = re.compile(r"'''(?:[^']|'(?!'')|'(?='''))*'''", re.DOTALL)
_ESCAPE: Final = re.compile(r'\\(?:u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|([btnfr"\\]))')
_ESCAPED: Final = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\"}


def lines_of(text: str) -> dict[Path, int]:
    """Return the line, counted from 1, of each table, key and array item, by its path."""
    return _Scanner(text.replace("\r\n", "\n")).scan()


def spans_of(text: str) -> dict[Path, tuple[int, int]]:
    """Return the span of each value by its path: the index of its first character, and that after its last.

    The span includes quotation marks but no comments or spaces around the value. Tables with a header have
    no span.
    """
    lines = text.split("\r\n")
    scanner = _Scanner("\n".join(lines))
    scanner.scan()
    # In the text each of these line ends is a character longer than in what was scanned.
    ends = list(accumulate(len(line) + 1 for line in lines[:-1]))

    def in_text(at: int) -> int:
        return at + bisect_right(ends, at)

    return {path: (in_text(start), in_text(end)) for path, (start, end) in scanner.spans.items()}


class _Scanner:
    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._counted_to = 0
        self._line = 1
        self._lines: dict[Path, int] = {}
        self._lengths: dict[Path, int] = {}
        """The number of tables that each array of tables has so far."""
        self.spans: dict[Path, tuple[int, int]] = {}

    def scan(self) -> dict[Path, int]:
        table: Path = ()
        while True:
            self._skip(_SPACE_AND_LINES)
            if self._at == len(self._text):
                return self._lines
            if self._text[self._at] == "[":
                table = self._header()
            else:
                self._pair(table)

    def _header(self) -> Path:
        line = self._line_here()
        several = self._text.startswith("[[", self._at)
        self._at += 2 if several else 1
        keys = self._keys()
        self._at += 2 if several else 1
        above: Path = ()
        for key in keys[:-1]:
            above = self._last_of((*above, key))
            self._lines.setdefault(above, line)
        path: Path = (*above, keys[-1])
        if several:
            count = self._lengths.get(path, 0)
            self._lengths[path] = count + 1
            self._lines.setdefault(path, line)
            path = (*path, count)
        self._lines[path] = line
        return path

    def _last_of(self, path: Path) -> Path:
        """Return the path of its last table if this is an array of tables; headers below it mean that one."""
        count = self._lengths.get(path)
        return path if count is None else (*path, count - 1)

    def _pair(self, table: Path) -> None:
        line = self._line_here()
        path = table
        for key in self._keys():
            path = (*path, key)
            self._lines.setdefault(path, line)
        self._at += 1  # the equals sign
        self._skip(_SPACE)
        self._value(path)

    def _keys(self) -> list[str]:
        keys = []
        while True:
            self._skip(_SPACE)
            keys.append(self._key())
            self._skip(_SPACE)
            if self._text[self._at] != ".":
                return keys
            self._at += 1

    def _key(self) -> str:
        match self._text[self._at]:
            case '"':
                return _ESCAPE.sub(_unescaped, self._take(_BASIC)[1])
            case "'":
                return self._take(_LITERAL)[1]
        return self._take(_BARE_KEY)[0]

    def _value(self, path: Path) -> None:
        text, at = self._text, self._at
        if text.startswith('"""', at):
            self._skip(_LONG_BASIC)
        elif text.startswith("'''", at):
            self._skip(_LONG_LITERAL)
        elif text[at] == '"':
            self._skip(_BASIC)
        elif text[at] == "'":
            self._skip(_LITERAL)
        elif text[at] == "[":
            self._array(path)
        elif text[at] == "{":
            self._inline_table(path)
        else:
            self._skip(_SCALAR)
        self.spans[path] = at, at + len(text[at : self._at].rstrip(" \t"))

    def _array(self, path: Path) -> None:
        self._at += 1
        place = 0
        while True:
            self._skip(_SPACE_AND_LINES)
            if self._text[self._at] == "]":
                self._at += 1
                return
            if self._text[self._at] == ",":
                self._at += 1
                continue
            self._lines[(*path, place)] = self._line_here()
            self._value((*path, place))
            place += 1

    def _inline_table(self, path: Path) -> None:
        self._at += 1
        while True:
            self._skip(_SPACE)
            if self._text[self._at] == "}":
                self._at += 1
                return
            if self._text[self._at] == ",":
                self._at += 1
                continue
            self._pair(path)

    def _skip(self, pattern: re.Pattern[str]) -> None:
        self._take(pattern)

    def _take(self, pattern: re.Pattern[str]) -> re.Match[str]:
        found = pattern.match(self._text, self._at)
        if found is None:  # tomllib would not have accepted this text
            raise ValueError(f"line {self._line_here()} is not TOML")
        self._at = found.end()
        return found

    def _line_here(self) -> int:
        self._line += self._text.count("\n", self._counted_to, self._at)
        self._counted_to = self._at
        return self._line


def _unescaped(found: re.Match[str]) -> str:
    by_four, by_eight, letter = found.groups()
    return _ESCAPED[letter] if letter else chr(int(by_four or by_eight, 16))


def with_values(text: str, values: Mapping[Path, str]) -> str:
    """Return the TOML text with new texts as the values at these paths; comments and layout are kept.

    The text must be one that tomllib has accepted. Raises KeyError for a path without a value, and ValueError
    for a value that would need escaping.
    """
    spans = spans_of(text)
    for value in values.values():
        if not value.isprintable() or '"' in value or "\\" in value:
            raise ValueError(f"{value!r} can't be written without escapes")
    # From the end backwards, so that the spans before it stay valid.
    for path in sorted(values, key=lambda path: spans[path], reverse=True):
        start, end = spans[path]
        text = f'{text[:start]}"{values[path]}"{text[end:]}'
    return text
