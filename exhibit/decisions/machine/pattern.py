"""Patterns: how a machine's folder describes text that the machine prints.

A pattern is the text itself, with places for what varies:

    JOB {job: number} SET GOING        a number: digits, perhaps a sign and a decimal point
    DRIVE {drive: one word} IS READY   one word: up to 40 characters without a space
    MESSAGE: {text: text}              text: from one to 80 characters
    TIDEBOOK STATUS {...}              {...}: anything, or nothing, up to 200 characters

A pattern must fit the whole line. Spaces at the line's ends don't count, and several spaces count as
one, both in the pattern and in the line. A number can be padded with spaces on its left, as in columns,
so `ERRORS:{value: number}` fits both `ERRORS:   7` and `ERRORS:12345`.

Matching takes bounded time: places have bounded lengths, only the first `MOST_COLUMNS` characters of a line
are looked at, two places must not touch, and at most two can be loose. A place is loose if the text after it
doesn't determine where it ends: {...} and `text` always, a `word` without a space after it, a `number` with
a digit or a point after it. So about `MOST_COLUMNS` squared ways are tried at most. A run of spaces, which
could be divided among the places in as many ways again, is first reduced to one space.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Final, Generic, TypeVar

MOST_COLUMNS: Final = 400
MOST_PLACES: Final = 12
MOST_LOOSE: Final = 2
_PLACE: Final = re.compile(r"\{([^{}]*)\}")
_NAME: Final = re.compile(r"[a-z][a-z0-9_]*")
_ANYTHING: Final = "..."
_FILLED_UP: Final = " ?"
_SPACES: Final = re.compile(r"\s+")
_KINDS: Final = {
    "number": r"[+-]?[0-9]{1,15}(?:\.[0-9]{1,9})?",
    "word": r"[^ ]{1,40}",
    "text": r"[^ ](?:.{0,78}[^ ])?",
    _ANYTHING: r".{0,200}?",
}


class PatternMistake(Exception):
    """A pattern can't be used; the message says why and what to write."""


class Pattern:
    """Text that a machine prints, with places for what varies.

    The pattern of a row of a status display can consist of places alone (`places_alone`), because it is only
    compared with that row while the display is showing.

    Raises PatternMistake if the text has nothing of its own (so would match anything), names an unknown kind
    of place, or could take too long to match.
    """

    __slots__ = (
        *("_first", "_last", "_longest", "_regex", "_word"),
        *("fields", "first_word", "head", "own_text", "text"),
    )

    def __init__(self, text: str, *, places_alone: bool = False) -> None:
        pieces = _PLACE.split(_SPACES.sub(" ", text.strip()))
        texts, places = pieces[0::2], [_name_and_kind(inner) for inner in pieces[1::2]]
        if any("{" in piece or "}" in piece for piece in texts):
            raise PatternMistake("there is a single brace; braces are for places such as {name: number}")
        if not any(piece.strip() for piece in texts) and not (places_alone and places):
            raise PatternMistake("it has no text of its own, so it would match anything; add some")
        if len(text) > MOST_COLUMNS:
            raise PatternMistake(f"it is longer than {MOST_COLUMNS} characters; shorten it")
        if len(places) > MOST_PLACES:
            raise PatternMistake(f"it has more than {MOST_PLACES} places; shorten it")
        if "" in texts[1:-1]:
            raise PatternMistake("two places touch; put the text that the machine prints between them")
        names = [name for name, _ in places if name]
        if len(set(names)) < len(names):
            raise PatternMistake("two places have the same name; give each its own")
        followers = zip(places, texts[1:], strict=True)
        if sum(_is_loose(kind, after) for (_, kind), after in followers) > MOST_LOOSE:
            raise PatternMistake(
                f"more than {MOST_LOOSE} of its places are loose (nothing shows where they end); "
                "use {name: one word} or {name: number} followed by a space, or fewer places"
            )
        # An empty place at either end leaves the space beside it, so `_to_be_fitted` adds one that fits it.
        regex = f" ?{re.escape(texts[0])}"
        for (name, kind), before, after in zip(places, texts[:-1], texts[1:], strict=True):
            if kind == "number" and before and before[-1] != " ":
                regex += _FILLED_UP
            regex += f"(?P<{name}>{_KINDS[kind]})" if name else _KINDS[kind]
            regex += re.escape(after)
        self.text = text
        self.head = texts[0].rstrip()
        """The text before the first place: every line that fits begins with it. It can be empty."""
        self.first_word = texts[0].split(" ", 1)[0] if " " in texts[0] or not places else ""
        """The first word of every line that fits, if the pattern has all of that word; otherwise empty."""
        self.own_text = sum(len(piece.replace(" ", "")) for piece in texts)
        """How many characters that aren't spaces are outside its places: the more, the more particular."""
        self.fields = tuple(names)
        self._first, self._last = texts[0][:1], texts[-1][-1:]
        """First and last character of every line that fits, or "": these alone rule most lines out."""
        self._longest = max((piece.strip() for piece in texts), key=len)
        """A text that is in every line that fits: it rules out others before the places are tried."""
        self._word = max(self._longest.split(" "), key=len)
        """A word of it, which is in the line even before its spaces are reduced."""
        self._regex = re.compile(f"{regex} ?")

    def match(self, line: str) -> dict[str, str] | None:
        """The fields of a line that the pattern fits; None if it doesn't. Spaces at the ends don't count."""
        if self._word not in line:
            return None
        fitted = _to_be_fitted(line)
        if (self._last and fitted[-2] != self._last) or (self._first and fitted[1] != self._first):
            return None
        if self._longest not in fitted:
            return None
        found = self._regex.fullmatch(fitted)
        return {name: value.strip() for name, value in found.groupdict().items()} if found else None

    @property
    def ends(self) -> tuple[str, str]:
        """First and last character of every line that fits, each "" if it can be any."""
        return self._first, self._last

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Pattern) and other.text == self.text

    def __hash__(self) -> int:
        return hash(self.text)

    def __repr__(self) -> str:
        return f"Pattern({self.text!r})"


_Named = TypeVar("_Named")


class ByEnds(Generic[_Named]):
    """Things that have a pattern each, found by the first word and last character of a line, in their order.

    To ask all patterns about each character of a growing line would take too long.
    """

    def __init__(self, named: Iterable[tuple[Pattern, _Named]]) -> None:
        self._named = tuple(named)
        self._words = {pattern.first_word for pattern, _ in self._named}
        self._found: dict[tuple[str, str, str], tuple[_Named, ...]] = {}

    def possible(self, line: str) -> Sequence[_Named]:
        """Those whose pattern may fit this line; the others don't."""
        word, first, last = _word_and_ends(line)
        # A word that no pattern begins with isn't kept: machines print numbers without end.
        key = word if word in self._words else "", first, last
        found = self._found.get(key)
        if found is None:
            found = tuple(
                thing
                for pattern, thing in self._named
                if pattern.first_word in ("", key[0])
                and pattern.ends[0] in ("", first)
                and pattern.ends[1] in ("", last)
            )
            self._found[key] = found
        return found


@lru_cache(maxsize=4)
def _word_and_ends(line: str) -> tuple[str, str, str]:
    """First word, first and last character of what is looked at of the line; empty if it is blank."""
    stripped = line.strip()
    if len(stripped) > MOST_COLUMNS:
        stripped = stripped[:MOST_COLUMNS].rstrip()
    return stripped.split(None, 1)[0] if stripped else "", stripped[:1], stripped[-1:]


@lru_cache(maxsize=4)
def _to_be_fitted(line: str) -> str:
    """The line with single spaces, and one at each end. Cached: every pattern is tried on the same line."""
    return f" {' '.join(line.strip()[:MOST_COLUMNS].split())} "


def _name_and_kind(inner: str) -> tuple[str, str]:
    """The place's name, empty for {...}, and its kind."""
    if inner.strip() == _ANYTHING:
        return "", _ANYTHING
    name, colon, written = (part.strip() for part in inner.partition(":"))
    kind = kind_named(written)
    if not colon or kind not in _KINDS or not _NAME.fullmatch(name):
        raise PatternMistake(
            f"{{{inner}}} is not a place; write {{name: number}}, {{name: one word}}, "
            "{name: text} or {...}"
        )
    return name, kind


def kind_named(written: str) -> str:
    """The kind of place that is written so. Older folders say "word" for "one word"."""
    kind = " ".join(written.split())
    return "word" if kind == "one word" else kind


def _is_loose(kind: str, after: str) -> bool:
    if kind == "word":
        return bool(after) and not after[0].isspace()
    if kind == "number":
        return after[:1].isdigit() or after[:1] == "."
    return True
