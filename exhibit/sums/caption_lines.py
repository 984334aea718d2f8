"""Breaks a caption into lines."""

from __future__ import annotations

from typing import Final

LONGEST_LINE: Final = 45
"""Characters (our own choice; broadcast subtitles have at most 37, BBC Subtitle Guidelines section 3.1)."""

_NOT_LAST_IN_ENGLISH: Final = """
    a an the this that these those my your his her its our their no each every some any of in on at by to for
    from with into onto over under up down about after before between as than and or but so if when while
    because which who what where how i you he she it we they there is are was were be been has have had can
    could will would may must
"""
_NOT_LAST_IN_GERMAN: Final = """
    der die das den dem des ein eine einen einem einer eines kein keine dieser diese dieses jeder jede jedes
    von im am auf aus bei mit nach zu zum zur für über unter vor bis um durch ohne als wie und oder aber denn
    wenn weil dass ob damit ich du er sie es wir ihr man ist sind war waren hat haben wird werden kann
    können muss müssen nicht
"""
# No line should end with one of these (BBC Subtitle Guidelines section 3.4), because article and noun,
# preposition and phrase, conjunction and clause, pronoun and verb, and the parts of a verb belong together.
_NOT_LAST: Final = frozenset((_NOT_LAST_IN_ENGLISH + _NOT_LAST_IN_GERMAN).split())


def lines_of(text: str, longest: int = LONGEST_LINE) -> list[str]:
    """Break the text into as few lines of at most `longest` characters as possible, similar in length.

    Lines preferably end where the sense allows it: after a full stop or a comma rather than an article.
    A line is too long only if it consists of a single word that is longer than a line.
    """
    words = text.split()
    wanted = len(text) / max(1, -(-len(text) // longest))
    # For the first 0, 1, 2, ... words: the fewest lines, their cost, and where the last line begins.
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
    """Return the cost of ending a line with this word, in squared line lengths like that of unevenness."""
    if word[-1] in ".!?;:":
        return -0.1
    if word[-1] == ",":
        return -0.05
    return 0.1 if word.strip("\"'(").lower() in _NOT_LAST else 0.0
