"""Says the program's own sentences, and a folder's words, in the language of the machine's folder."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, NewType

from exhibit.commands.sentences_de import GERMAN
from exhibit.facts.kinds import Words
from exhibit.output.printable import printable

Sentence = NewType("Sentence", str)
"""Marks a sentence that stands in a table, to be said later. A test finds it by this name."""
_TABLES: Final[dict[str, Mapping[str, str]]] = {"de": GERMAN}


class Say:
    """Says sentences in the language of this tag (BCP 47), or in English if the program doesn't speak it.

    A sentence is written in English where it is said, and looked up by that: `say("{count} lost.", count=3)`.
    """

    def __init__(self, tag: str = "en") -> None:
        self._tag = tag
        self._own = tag.split("-")[0]

    def __call__(self, sentence: str, **places: object) -> str:
        """The sentence, with what belongs in its places; so a line break in it is one of its own."""
        seen = {name: printable(f"{value}") for name, value in places.items()}
        return _TABLES.get(self._own, {}).get(sentence, sentence).format(**seen)

    def words(self, words: Words) -> str:
        """The folder's words in this language, or else in the first language that they have."""
        return words.get(self._tag) or next(iter(words.values()), "")

    @property
    def german(self) -> bool:
        """Whether German answers count as well as English ones."""
        return self._own == "de"


ENGLISH: Final = Say()
