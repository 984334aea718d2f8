"""Recognises what the machine prints: known lines, prompts that have settled, interruptions, troubles.

Fed with items, it answers with facts. Text painted on a status display is the business of `displays`.
"""

from __future__ import annotations

from collections import deque

from exhibit.decisions.machine import Interruption, Machine, Prompt
from exhibit.decisions.printed import PrintedLine
from exhibit.decisions.wire import Control, Item, Text
from exhibit.facts.kinds import AnyFact, InterruptionSeen, LandmarkReached, PatternSeen, TroubleRaised

KEPT_LINES = 12


class Watcher:
    """Watches the printed text of one machine.

    `standing` is the name of the prompt that stands settled at the end of the output, or empty.
    `echoing` is set by whoever types: the line that then ends is our own, and isn't matched.
    """

    def __init__(self, machine: Machine) -> None:
        self._machine = machine
        self._settle_us = machine.settle_us()
        self._line = PrintedLine()
        self._cut = ""
        """The text of a line that an interruption broke into, to be joined to what follows it."""
        self._before = ""
        """The line that ended last and wasn't blank: what an interruption would have broken into."""
        self._interruption: Interruption | None = None
        self._interruption_lines: list[str] = []
        self._last_us = 0
        self._candidate: tuple[Prompt, dict[str, str]] | None = None
        self._lines: deque[str] = deque(maxlen=KEPT_LINES)
        self.standing = ""
        self.echoing = False

    def take(self, item: Item, at_us: int) -> list[AnyFact]:
        """Lets an item act and says which facts follow from it."""
        prints = isinstance(item, Text)
        if prints or (isinstance(item, Control) and item.code != 0):
            self._last_us = at_us
        before = self._line.text
        ended = self._line.take(item)
        facts: list[AnyFact] = []
        if ended is not None:
            facts = self._line_ended(ended)
        if prints or ended is not None or self._line.text != before:
            self.standing = ""
            self._find_candidate()
        return facts

    def settle_due_us(self) -> int | None:
        """When the prompt that seems to stand will have settled; None when none seems to stand."""
        if self._candidate is None or self.standing or self.echoing:
            return None
        return self._last_us + self._settle_us

    def settle(self, at_us: int) -> LandmarkReached | None:
        """Call when the time of `settle_due_us` has come. The prompt that has settled, if one has."""
        due_us = self.settle_due_us()
        if due_us is None or self._candidate is None or at_us < due_us:
            return None
        prompt, fields = self._candidate
        self.standing = prompt.name
        return LandmarkReached(landmark=prompt.name, line=self._current(), fields=fields)

    def last_lines(self) -> list[str]:
        """What was printed last, oldest first; the line being printed is the last."""
        return [*self._lines, *([self._current()] if self._current() else [])]

    def forget_line(self) -> None:
        """What stands on the line being printed no longer counts: we have typed into it."""
        self._line.clear()
        self._cut = self._before = ""
        self._candidate = None
        self.standing = ""

    def _current(self) -> str:
        return self._cut + self._line.text

    def _find_candidate(self) -> None:
        self._candidate = None
        if self._interruption is not None:
            return
        for text in self._readings_of(self._line.text):
            for prompt in self._machine.prompts:
                fields = prompt.pattern.match(text)
                if fields is not None:
                    self._candidate = (prompt, fields)
                    return

    def _readings_of(self, line: str) -> list[str]:
        """A line that an interruption broke into may have been whole by then, or not: both are tried."""
        return [text for text in dict.fromkeys((self._cut + line, line)) if text.strip()]

    def _line_ended(self, line: str) -> list[AnyFact]:
        if self._interruption is not None:
            self._interruption_lines.append(line)
        else:
            self._interruption = self._starts_interruption(line)
            if self._interruption is None:
                return self._own_line_ended(line)
            self._interruption_lines = [line]
        if len(self._interruption_lines) < self._interruption.lines:
            return []
        name, text = self._interruption.name, "\n".join(self._interruption_lines)
        self._interruption = None
        self._cut, self._before = self._before, ""
        self._lines.extend(self._interruption_lines)
        return [InterruptionSeen(interruption=name, text=text), *self._troubles(text)]

    def _starts_interruption(self, line: str) -> Interruption | None:
        for interruption in self._machine.interruptions:
            if interruption.starts.match(line) is not None:
                return interruption
        return None

    def _own_line_ended(self, line: str) -> list[AnyFact]:
        tries = self._readings_of(line)
        self._cut = ""
        if line.strip():
            self._before = tries[0]
            self._lines.append(tries[0])
        if self.echoing:
            return []
        for text in tries:
            facts = [*self._known(text), *self._troubles(text)]
            if facts:
                return facts
        return []

    def _known(self, line: str) -> list[AnyFact]:
        return [
            PatternSeen(pattern=known.name, line=line, fields=fields)
            for known in self._machine.lines
            if (fields := known.pattern.match(line)) is not None
        ]

    def _troubles(self, text: str) -> list[AnyFact]:
        return [
            TroubleRaised(trouble=trouble.name, line=line, words=trouble.words, do=trouble.do)
            for line in text.split("\n")
            for trouble in self._machine.troubles
            if trouble.pattern.match(line) is not None
        ]
