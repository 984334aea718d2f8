"""Breaks a caption into lines."""

from __future__ import annotations

from typing import Final

LONGEST_LINE: Final = 45
"""Characters. Lines of captions have 30 to 45 (our own choice; broadcast subtitles have at most 37, BBC
Subtitle Guidelines section 3.1)."""

_HOLD_ON_IN_ENGLISH: Final = """
    a an the this that these those my your his her its our their no each every some any of in on at by to for
    from with into onto over under up down about after before between as than and or but so if when while
    because which who what where how i you he she it we they there is are was were be been has have had can
    could will would may must
"""
_HOLD_ON_IN_GERMAN: Final = """
    der die das den dem des ein eine einen einem einer eines kein keine dieser diese dieses jeder jede jedes
    von im am auf aus bei mit nach zu zum zur für über unter vor bis um durch ohne als wie und oder aber denn
    wenn weil dass ob damit ich du er sie es wir ihr man ist sind war waren hat haben wird werden kann
    können muss müssen nicht
"""
# After these no line should end (BBC Subtitle Guidelines section 3.4): article and noun, preposition
# and phrase, conjunction and clause, pronoun and verb, parts of a verb belong together.
_HOLDS_ON: Final = frozenset((_HOLD_ON_IN_ENGLISH + _HOLD_ON_IN_GERMAN).split())


def lines_of(text: str, longest: int = LONGEST_LINE) -> list[str]:
    """The text in as few lines of at most `longest` characters as it fits, alike in length.

    A line ends where the sense allows it, if it can: behind a stop or a comma rather than an article.
    Only a word that is longer than a line makes one that is too long, and has it for itself.
    """
    words = text.split()
    wanted = len(text) / max(1, -(-len(text) // longest))
    # For the words before each: the fewest lines, what they cost, and where the last of them begins.
    best: list[tuple[int, float, int]] = [(0, 0.0, 0)]
    for end in range(1, len(words) + 1):
        ways = []
        length = -1
        for begin in range(end - 1, -1, -1):
            length += 1 + len(words[begin])
            if length > longest and begin < end - 1:
                break
            lines, cost, _ = best[begin]
            cost += ((length - wanted) / longest) ** 2
            cost += _cost_of_ending_with(words[end - 1]) if end < len(words) else 0.0
            ways.append((lines + 1, cost, begin))
        best.append(min(ways))
    found: list[str] = []
    end = len(words)
    while end:
        begin = best[end][2]
        found.insert(0, " ".join(words[begin:end]))
        end = begin
    return found


def _cost_of_ending_with(word: str) -> float:
    """In line lengths squared, as unevenness is."""
    if word[-1] in ".!?;:":
        return -0.1
    if word[-1] == ",":
        return -0.05
    return 0.1 if word.strip("\"'(").lower() in _HOLDS_ON else 0.0
