"""Calculates how hard an English text is to read.

The formula is the Flesch-Kincaid grade (Kincaid, Fishburne, Rogers, Chissom, Research Branch Report
8-75, 1975). It was fitted to English prose, so it says nothing about other languages, and little about a
text of a few words.

Syllables are counted by rules, because no word list contains the names of our machines. The count is right
for more than nineteen in twenty of the words that we use, and for nine in ten of a dictionary that is full
of names. One syllable too many in a sentence of twelve words adds one grade.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

import msgspec

from exhibit.decisions.story.reading_time import words_in

_SENTENCE_END: Final = re.compile(r"(?<=[.!?…])[\"'”’)\]]*\s+")
_VOWELS: Final = re.compile(r"[aeiouy]+")
# Each pattern is a rule of thumb of English spelling, with an example of what it is for.
_SILENT: Final = re.compile(
    r"[^aeiouy]e$(?<![^aeiouylr]le)(?<![^aeiouy]re)"  # tide, but not table, metre
    r"|[^aeiouy]es$(?<![sxzcg]es)(?<![cs]hes)(?<![^aeiouyl]les)(?<![^aeiouyr]res)"  # tides, but not switches
    r"|[^aeiouytd]ed$(?<![^aeiouyl]led)"  # typed, but not started
    r"|[^aeiouyl]e(?=(?:ly|ful|fully|less|lessly|ness|ments?)$)"  # safely
    r"|[aeiouy]le(?=(?:ness|ments?)$)|(?<=where)e$"
    r"|(?<=^ever)y(?=[a-z])"  # everything
    r"|(?:(?<=^som)|(?<=^saf)|(?<=^hom)|(?<=^sid)|(?<=^els)|(?<=^stat))e(?=[a-z])"
)
_APART: Final = re.compile(
    r"(?<![tcsgx])ia|(?<![tcsgxl])io(?!u)|[bdfhklmnprvw]io(?=us|n)|iu"  # material, period
    r"|eo(?!us|n$|p)|eum|uou|(?<![qg])ua(?!r[dnt]|l?ity)|(?<!q)ue(?=nt|l$|t)"  # museum, manual
    r"|[aeiou]ing|(?<=cr)ea(?=t(?!ur))|iet|(?<=i)e(?=r$|st$)|ience|yin"  # doing, create, busier
)
_CONSONANT_ALONE: Final = re.compile(r"sms?$|thms?$|(?<=[sd])n't$")  # rhythm, didn't
_PARTS_OF_A_WORD: Final = re.compile(r"[a-z']+|[0-9]+")


class Counts(msgspec.Struct, frozen=True):
    """The numbers that the formula needs."""

    words: int
    sentences: int
    syllables: int


def reading_grade(counts: Counts) -> float:
    """Return the Flesch-Kincaid grade, the school year in which pupils can read the text; it can be negative.

    Raises ValueError for a text without a word or without a sentence.
    """
    if counts.words < 1 or counts.sentences < 1:
        raise ValueError("a text without words has no reading grade")
    return 0.39 * counts.words / counts.sentences + 11.8 * counts.syllables / counts.words - 15.59


def count(text: str) -> Counts:
    """Count the words, sentences and syllables of an English text."""
    words = words_in(text)
    return Counts(len(words), len(sentences_in(text)), sum(map(syllables_in, words)))


def sentences_in(text: str) -> list[str]:
    """Return the sentences of a text that contain a word; the last needs no full stop."""
    return [sentence for sentence in _SENTENCE_END.split(text) if words_in(sentence)]


def syllables_in(word: str) -> int:
    """Count the syllables of an English word by rules; each digit counts as one."""
    parts = _PARTS_OF_A_WORD.findall(word.lower().replace("’", "'"))
    return sum(len(part) if part.isdigit() else _syllables(part) for part in parts)


@lru_cache(maxsize=4096)
def _syllables(part: str) -> int:
    word = part.strip("'")
    if not word.endswith("n't"):
        word = word.partition("'")[0]
    if not word:
        return 0
    vowels = len(_VOWELS.findall(word)) - len(_SILENT.findall(word))
    return max(1, vowels + len(_APART.findall(word)) + len(_CONSONANT_ALONE.findall(word)))
