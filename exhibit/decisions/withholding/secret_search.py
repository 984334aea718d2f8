"""Looks for known secrets in what a machine sends, one character after another, in capitals.

Characters are compared by their codes on the line, without the eighth bit (`in_capitals`). So a letter of one
country is found too; in UTF-8 it counts as several characters.

A secret can be interrupted by whatever shows nothing: control codes, sequences, cursor moves, new lines. It
can be struck over, and wrong characters in it can be rubbed out. The text of a string that a terminal keeps
to itself may belong to the secret or come between its characters.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import Final

import msgspec

from exhibit.decisions.display.characters import EIGHT_BITS, codes_of
from exhibit.decisions.withholding.sequences import Kind
from exhibit.facts import kinds
from exhibit.facts.display import CharacterSet

SHORTEST: Final = 4
"""A shorter secret would be found by chance in ordinary text."""
MOST_WRONG: Final = 2
"""How many wrong characters in a row can be rubbed out again, after at least two right ones; else one can."""
FEW: Final = 8
"""So many places where a secret may have begun aren't looked through for those that are alike."""
_LEAVES_INK: Final = " _"
_CAPITALS: Final = bytes(code - 0x20 if 0x60 <= code <= 0x7E else code for code in [*range(128)] * 2)
"""In a national set too a capital letter is 32 codes before the small one: Ä is [ and ä is {."""


def in_capitals(sent: bytes) -> str:
    """These bytes without their eighth bit, in capitals."""
    return sent.translate(_CAPITALS).decode("ascii")


def as_sent(text: str, characters: CharacterSet) -> str:
    """What is received, in capitals, when a machine with this character set prints the text."""
    return in_capitals(codes_of(text, characters))


def _words(secrets: Iterable[str], characters: CharacterSet) -> list[str]:
    """The secrets as a machine sends them; UTF-8 has other codes for small letters, so each in every case."""
    long = [secret for secret in secrets if len(secret) >= SHORTEST]
    return sorted({as_sent(one, characters) for word in long for one in (word, word.upper(), word.lower())})


class Candidate(msgspec.Struct):
    """A place where a secret may have begun. `start`: the number of its first byte."""

    word: str
    start: int
    matched: int = 1
    furthest: int = 1
    wrong: int = 0
    broken: bool = False
    """Something other than text came last, so nobody seems to be typing it."""
    given_up: bool = False
    """Its characters so far have been let through."""
    leaves_strings_out: bool = False
    """The text of strings, which no terminal shows, isn't part of it."""

    def __repr__(self) -> str:
        return f"Candidate(start={self.start})"

    @property
    def is_half(self) -> bool:
        """Whether so much of it has come that it must not be shown."""
        return self.matched >= SHORTEST and not self.given_up

    @property
    def holds(self) -> bool:
        """Whether its characters are to be held back."""
        return not self.given_up and (not self.wrong or self.matched > 1)

    def take(self, character: str) -> bool:
        """Takes the next character; false if this can't be the secret."""
        self.broken = False
        if self.wrong:
            self.wrong += 1
            return self.wrong <= MOST_WRONG and self.matched > 1
        if character == self.word[self.matched]:
            self.matched += 1
            self.given_up = False
        elif self.matched < self.furthest and character in _LEAVES_INK:
            self.matched += 1
        else:
            self.wrong = 1
        self.furthest = max(self.furthest, self.matched)
        return True

    def back(self) -> bool:
        """A backspace; false if it goes back to before the secret."""
        if self.wrong:
            self.wrong -= 1
        else:
            self.matched -= 1
        return self.matched >= 0


def _different(candidates: list[Candidate]) -> list[Candidate]:
    """Of those that can only go on alike, one: else a machine that goes back and forth makes ever more.

    The last that began holds back least. But where half a secret has come, it is the first.
    """
    different: dict[tuple[str, int, int, int, bool, bool, bool], Candidate] = {}
    for one in sorted(candidates, key=lambda one: one.start):
        state = (one.word, one.matched, one.furthest, one.wrong)
        alike = (*state, one.broken, one.given_up, one.leaves_strings_out)
        if one.furthest < SHORTEST or alike not in different:
            different[alike] = one
    return list(different.values())


class Search:
    """Looks for these secrets; shorter ones than SHORTEST are left out."""

    def __init__(self, secrets: Iterable[str], characters: CharacterSet = "ascii") -> None:
        self.words = _words(secrets, characters)
        self.first_characters = frozenset(word[0] for word in self.words)
        self.candidates: list[Candidate] = []

    @property
    def is_half(self) -> bool:
        """Whether four or more characters of a secret are held back."""
        return any(candidate.is_half for candidate in self.candidates)

    @property
    def is_patient(self) -> bool:
        """Whether the next character of such a secret may be typed by hand."""
        return any(c.is_half and not c.broken and not c.wrong for c in self.candidates)

    def take(self, kind: Kind, character: str, number: int, *, in_string: bool = False) -> Candidate | None:
        """Takes the byte of this number. Returns the secret that it completes, if it does.

        `in_string`: it is text in a string that a terminal keeps to itself.
        """
        if kind is Kind.BACK:
            # A terminal may stay where it is, as at a line's edge, and whoever reads without control codes
            # sees no backspace: so both may be so.
            stay = [msgspec.structs.replace(one) for one in self.candidates]
            self.candidates = _different([*(one for one in self.candidates if one.back()), *stay])
        elif kind is not Kind.TEXT:
            for candidate in self.candidates:
                candidate.broken = candidate.broken or kind is not Kind.PART
        else:
            aside = self._without_strings() if in_string else []
            self.candidates = [
                candidate for candidate in self.candidates if candidate.take(character)
            ] + aside
            whole = [one for one in self.candidates if one.matched == len(one.word)]
            if whole:
                return min(whole, key=lambda one: one.start)
            if len(self.candidates) > FEW:
                self.candidates = _different(self.candidates)
            self.candidates += [Candidate(word, number) for word in self.words if word[0] == character]
        return None

    def _without_strings(self) -> list[Candidate]:
        """Takes out the candidates that go on after the string, and makes each other one such a one too."""
        aside = {(one.word, one.start): one for one in self.candidates if one.leaves_strings_out}
        self.candidates = [one for one in self.candidates if not one.leaves_strings_out]
        for one in self.candidates:
            skips = msgspec.structs.replace(one, leaves_strings_out=True, broken=True)
            aside.setdefault((one.word, one.start), skips)
        return list(aside.values())

    def hold_from(self, end: int) -> int:
        """The number of the first byte to hold back; `end` if none is."""
        return min((candidate.start for candidate in self.candidates if candidate.holds), default=end)

    def give_up(self) -> None:
        """Nothing more came: what was held back is let through, but the rest of a secret still won't be."""
        for candidate in self.candidates:
            candidate.given_up = True

    def forget(self) -> None:
        """What has come can't be continued."""
        self.candidates = []


class SecretsByHand:
    """Withholds known secrets in what a person types, wherever it is typed.

    Nobody knows how a line goes on that somebody is typing. So from the fourth letter on that stands in a row
    in a secret, the rest of the line is withheld.
    """

    def __init__(self, secrets: Iterable[str], characters: CharacterSet = "ascii") -> None:
        words = _words(secrets, characters)
        self._mask = 0xFF if characters in EIGHT_BITS else 0x7F
        starts = ((word, start) for word in words for start in range(len(word) - SHORTEST + 1))
        self._pieces = frozenset(word[start : start + SHORTEST] for word, start in starts)
        self._last = ""
        self._hides = False

    def take(self, typed: kinds.TypedByHand) -> list[kinds.TypedByHand]:
        """The facts to be recorded in place of this one."""
        if not self._pieces or typed.secret:
            self._last = ""
            return [typed]
        shown = []
        for hidden, group in groupby(typed.bytes, self._is_hidden):
            text = "".join(group)
            kept = "" if hidden else text
            shown.append(msgspec.structs.replace(typed, bytes=kept, count=len(text), secret=hidden))
        return shown

    def _is_hidden(self, character: str) -> bool:
        if ord(character) & self._mask < 0x20:
            self._hides, self._last = False, ""
        self._last = (self._last + in_capitals(kinds.to_bytes(character)))[-SHORTEST:]
        self._hides = self._hides or self._last in self._pieces
        return self._hides
