"""How long people need to read a caption.

The figures leave time to look at a machine as well: 160 words a minute, the slow end of 160 to 180 (BBC
Subtitle Guidelines, section 4), and at least two seconds (Captioning Key of the Described and Captioned Media
Program). Both are for English. In languages with longer words the characters count instead: one English
word is taken as six characters, including the space (common practice).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

PER_WORD_US: Final = 375_000
CHARACTERS_A_WORD: Final = 6
SHORTEST_US: Final = 2_000_000


def words_in(text: str) -> list[str]:
    """The words of a text: whatever is between spaces and contains a letter or a figure."""
    return [word for word in text.split() if any(map(str.isalnum, word))]


def reading_us(text: str) -> int:
    """How long the text must be shown to be read, in microseconds."""
    by_words = len(words_in(text)) * PER_WORD_US
    by_characters = len(text) * PER_WORD_US // CHARACTERS_A_WORD
    return max(by_words, by_characters, SHORTEST_US)


def longest_reading_us(texts: Iterable[str]) -> int:
    """How long a caption must be shown in the language that takes longest, in microseconds."""
    return max(map(reading_us, texts), default=SHORTEST_US)
