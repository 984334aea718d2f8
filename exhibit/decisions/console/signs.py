"""Tells what a printed line says: known lines and troubles, and which rows belong to a printed table."""

from __future__ import annotations

from collections.abc import Sequence

from exhibit.decisions.machine.description import Interruption, LinePattern, Machine, Trouble
from exhibit.decisions.machine.pattern import ByEnds
from exhibit.facts.kinds import AnyFact, InterruptionSeen, PatternSeen, TroubleRaised


class Signs:
    """The known lines and troubles of one machine. It follows the printed table, line by line.

    `told` is what has been reported of the line being printed, although it hasn't ended.
    """

    def __init__(self, machine: Machine) -> None:
        self._lines = machine.lines
        self._rows = [line for line in machine.lines if line.below]
        # The troubles first: a known line could end the step, and the trouble belongs to that step.
        troubles = [
            trouble for trouble in machine.troubles if not (trouble.display or trouble.blocked_for_us)
        ]
        signs: list[Trouble | LinePattern] = [*troubles, *machine.lines]
        self._signs = ByEnds((sign.pattern, sign) for sign in signs)
        self._table = ""
        """The heading of the printed table that isn't over yet."""
        self._table_rows = 0
        self.told: list[AnyFact] = []

    def on(self, line: str) -> list[AnyFact]:
        """The facts that follow from this line, the troubles first."""
        possible = self._signs.possible(line)
        if not possible:  # as nearly always while a line grows
            return []
        return [
            _fact_of(sign, line, fields)
            for sign in possible
            if self._can_be(sign) and (fields := sign.pattern.match(line)) is not None
        ]

    def known_on(self, line: str) -> list[AnyFact]:
        """The known lines that this line is; no troubles."""
        return [fact for fact in self.on(line) if isinstance(fact, PatternSeen)]

    def not_told(self, facts: Sequence[AnyFact]) -> list[AnyFact]:
        """Those of the facts that say something that hasn't been reported of the line being printed."""
        if not self.told:
            return list(facts)
        told = [_says(fact) for fact in self.told]
        return [fact for fact in facts if _says(fact) not in told]

    def of_interruption(
        self, interruption: Interruption, lines: list[str], known: list[AnyFact]
    ) -> list[AnyFact]:
        """The facts about an interruption that is over. Its first line can be a known line too."""
        seen = InterruptionSeen(interruption=interruption.name, text="\n".join(lines))
        troubles = [fact for line in lines for fact in self.on(line) if isinstance(fact, TroubleRaised)]
        return [seen, *self.not_told(troubles), *known]

    def follow_table(self, tries: Sequence[str]) -> None:
        """Notes whether a line that ended is a heading, a row below it, or the table's end.

        There can be blank lines between a heading and its first row. `tries`: what the line may read as.
        """
        if not self._rows or (not tries and not self._table_rows):
            return
        lines = self._lines
        fits = {known.name for known in lines if any(known.pattern.match(text) is not None for text in tries)}
        if any(known.below == self._table and known.name in fits for known in self._rows):
            self._table_rows += 1
            return
        self._table = next((row.below for row in self._rows if row.below in fits), "")
        self._table_rows = 0

    def no_table(self) -> None:
        """What is printed from now on stands below no heading from before."""
        self._table = ""

    def _can_be(self, sign: Trouble | LinePattern) -> bool:
        """Whether it isn't a row of a printed table whose heading doesn't stand above this line."""
        return not isinstance(sign, LinePattern) or sign.below in ("", self._table)


def _fact_of(sign: Trouble | LinePattern, line: str, fields: dict[str, str]) -> AnyFact:
    if isinstance(sign, LinePattern):
        return PatternSeen(pattern=sign.name, line=line, fields=fields)
    return trouble_raised(sign, line)


def trouble_raised(trouble: Trouble, line: str) -> TroubleRaised:
    """The fact that this line or row means this trouble."""
    return TroubleRaised(
        trouble=trouble.name,
        line=line,
        words=trouble.words,
        do=trouble.do,
        caution=trouble.caution,
        safe_to_leave=trouble.safe_to_leave,
        call=trouble.call,
    )


def _says(fact: AnyFact) -> object:
    """What a fact about a line says, whatever else is on the line."""
    return (fact.pattern, fact.fields) if isinstance(fact, PatternSeen) else getattr(fact, "trouble", fact)
