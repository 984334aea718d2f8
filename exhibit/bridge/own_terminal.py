"""Puts into facts what happens at the machine's own terminal, and which other programs have its port open.

What a person types there is recorded only as far as it can't be a secret.
"""

from __future__ import annotations

from collections.abc import Iterator

from exhibit.decisions.decider import Decider
from exhibit.decisions.withholding.withholding import Withholding
from exhibit.facts import kinds
from exhibit.line.events import InVain, NotHeard, OthersFound, TerminalHeard, TerminalSilent, Typed

_About = TerminalHeard | TerminalSilent | InVain | NotHeard | OthersFound
AtTerminal = Typed | _About


class OwnTerminal:
    """The machine's own terminal, of which the line tells."""

    def __init__(self, decider: Decider, withholding: Withholding) -> None:
        self._decider = decider
        self._withholding = withholding

    def facts(self, event: AtTerminal) -> Iterator[kinds.AnyFact]:
        """The facts to record about this event. Record each before asking for the next."""
        if isinstance(event, Typed):
            for typed in self._decider.typed_by_hand(event.data):
                yield from self._withholding.by_hand.take(typed)
        else:
            yield _fact_about_terminal(event)


def _fact_about_terminal(event: _About) -> kinds.AnyFact:
    match event:
        case TerminalHeard(description, passed=passed):
            return kinds.TerminalOpened(line=description, passed=passed)
        case TerminalSilent(why):
            return kinds.TerminalLost(why=why)
        case InVain(count):
            return kinds.TypedInVain(count=count)
        case NotHeard(received, typed, why):
            return kinds.BytesMissed(received=received, typed=typed, why=why)
        case OthersFound(port, programs) if programs:
            return kinds.OtherProgramSeen(port=port, programs=list(programs))
        case OthersFound(port):
            return kinds.OtherProgramGone(port=port)
