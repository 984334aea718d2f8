"""What the terminal says when the day comes to another phase."""

from __future__ import annotations

from typing import Final

from exhibit.commands.saying import Say, Sentence
from exhibit.facts import kinds

HOW: Final = Sentence(
    'Type "open" to open the day, and "close" to close it. "away" and "back" put the rounds off, as over '
    'lunch;\n"quiet 10" does so for ten minutes, and "round now" begins one at once. "here" says that '
    "somebody is there."
)
_PHASES: Final[dict[kinds.DayPhase, Sentence]] = {
    "before opening": Sentence('The day hasn\'t been opened yet. To open it, type "open".'),
    "opening": Sentence("The day is being opened."),
    "rounds": Sentence("The day: the rounds go on, each after its rest."),
    "away": Sentence('The day: no round begins until you type "back".'),
    "quiet": Sentence('The day: no round begins until the quiet time is over, or you type "back".'),
    "nobody there": Sentence(
        'The day: nobody seems to be there, so no round begins. If you are there, type "here".'
    ),
    "stopped": Sentence('The day: no script begins until you type "back", or "close" to close it.'),
    "closing": Sentence("The day is being closed."),
    "over": Sentence('The day is over. The machine is still mirrored. To open the next one, type "open".'),
}


def told_of_the_day(fact: kinds.DayTurned, say: Say, reader: str) -> list[str]:
    """Says the phase; and what led to it, unless it was the person who reads this."""
    lines = [say(_PHASES[fact.phase])]
    if fact.by != reader:
        lines.append(say("  By: {by}.", by=fact.by))
    if fact.why:
        lines.append(say("  Because: {why}.", why=fact.why))
    return lines
