"""How long people need to read a caption.

The figures are for those who read slowly enough to look at a machine as well: 160 words a minute, the slow
end of 160 to 180 (BBC Subtitle Guidelines, section 4), and never less than two seconds (Captioning Key of the
Described and Captioned Media Program). Both were found with English. Where words are longer, their
characters count: one word of English is taken as six, its space among them (common practice).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

PER_WORD_US: Final = 375_000
CHARACTERS_A_WORD: Final = 6
SHORTEST_US: Final = 2_000_000


def words_in(text: str) -> list[str]:
    """The words of a text: whatever stands between spaces and has a letter or a figure in it."""
    return [word for word in text.split() if any(map(str.isalnum, word))]


def reading_us(text: str) -> int:
    """Microseconds that the text must stand to be read."""
    by_words = len(words_in(text)) * PER_WORD_US
    by_characters = len(text) * PER_WORD_US // CHARACTERS_A_WORD
    return max(by_words, by_characters, SHORTEST_US)


def longest_reading_us(texts: Iterable[str]) -> int:
    """Microseconds that a caption must stand in whichever of its languages takes longest."""
    return max(map(reading_us, texts), default=SHORTEST_US)
