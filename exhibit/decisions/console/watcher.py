"""Recognises what the machine prints: known lines, prompts that have settled, interruptions, troubles.

Items go in, facts come out. Text that is painted on a status display is read by `status_displays`.
"""

from __future__ import annotations

from collections import deque
from typing import Final, Literal

import msgspec

from exhibit.decisions.console.printed import PrintedLine, moves_elsewhere
from exhibit.decisions.display.wire import Control, FlowGo, FlowStop, Item
from exhibit.decisions.machine.description import Interruption, Machine, Prompt
from exhibit.facts.kinds import AnyFact, InterruptionSeen, LandmarkReached, PatternSeen, TroubleRaised

KEPT_LINES: Final = 12
LONGEST_INTERRUPTION_LINES: Final = 60
"""A longer interruption has lost its end: it counts as over, or it would swallow everything that follows."""


_RETURN: Final = Control(13)


class _Candidate(msgspec.Struct, frozen=True):
    """A prompt at the end of the output, which will settle if nothing more comes."""

    prompt: Prompt
    line: str
    fields: dict[str, str]


class Watcher:
    """Watches the printed text of one machine.

    `standing` is the settled prompt at the end of the output, or None. `typing_console` announces what it
    types (`begin_typing`, `taken`, `cancelled`): the line printed then is the echo, and isn't matched.
    """

    def __init__(self, machine: Machine, rate: float = 1.0) -> None:
        self._machine = machine
        self._settle_us = machine.settle_us(rate)
        self._quiet_us = machine.typing.echo_within_us
        self._cancelled_us = 0
        self._line = PrintedLine(machine.display.tab_columns, paper=machine.display.kind == "paper")
        self._cut = ""
        """The text of a line that an interruption broke, to be joined to what follows the interruption."""
        self._before = ""
        """The last line that ended, unless it was a known one: an interruption may have broken it."""
        self._blotted = ""
        """What was on the line before a carriage return, after which it can be overwritten."""
        self._interruption: Interruption | None = None
        self._interruption_lines: list[str] = []
        self._heard_us = 0
        self._candidate: _Candidate | None = None
        self._lines: deque[str] = deque(maxlen=KEPT_LINES)
        self._own = False
        """Lines that end now are the echo of what was typed, or the rest of it after the cancel key."""
        self._late: Literal["", "new line", "answer"] = ""
        """A whole command was cancelled after its RETURN: what comes next, if its answer was only late."""
        self.typing = False
        self.standing: LandmarkReached | None = None

    def heard(self, at_us: int) -> None:
        """Something was received, whatever it was: the line isn't quiet."""
        self._heard_us = at_us

    @property
    def heard_us(self) -> int:
        """When something was last received, on the recording's clock; 0 if nothing has been yet."""
        return self._heard_us

    @property
    def still_us(self) -> int:
        """When the line will have been quiet for the settling time, on the recording's clock."""
        return self._heard_us + self._settle_us

    def take(self, item: Item) -> list[AnyFact]:
        """Takes the next item; returns the facts that follow from it."""
        if isinstance(item, FlowStop | FlowGo):
            return []
        self.standing = None
        if moves_elsewhere(item):
            self._cut = self._before = self._blotted = ""
        elif item == _RETURN and self._line.text.strip():
            self._blotted = self._line.text
        ended = self._line.take(item)
        facts = self._line_ended(ended) if ended is not None else []
        if ended is not None:
            self._blotted = ""
        self._candidate = self._find_candidate()
        return facts

    def settle_due_us(self) -> int | None:
        """When the prompt at the end of the output will have settled; None if there isn't one."""
        if self._candidate is None or self.standing or self.typing:
            return None
        if self._own:
            return max(self._heard_us, self._cancelled_us) + max(self._settle_us, self._quiet_us)
        return self._heard_us + self._settle_us

    def settle(self, at_us: int) -> LandmarkReached | None:
        """Call at the time that `settle_due_us` gave. Returns the prompt that has settled, if one has."""
        due_us = self.settle_due_us()
        if due_us is None or self._candidate is None or at_us < due_us:
            return None
        found = self._candidate
        self._own = False
        self.standing = LandmarkReached(landmark=found.prompt.name, line=found.line, fields=found.fields)
        return self.standing

    def last_lines(self) -> list[str]:
        """The last printed lines, oldest first; the line being printed is the last."""
        current = self._cut + self._line.text
        return [*self._lines, *([current] if current else [])]

    @property
    def current(self) -> str:
        """The line being printed; empty if none is."""
        return self._cut + self._line.text

    def begin_typing(self) -> None:
        """A command is being typed from now on: what the machine prints is its echo."""
        self.forget_line()
        self.typing = self._own = True

    def taken(self) -> None:
        """The machine took the command: what it prints now is its answer."""
        self.typing = self._own = False

    def cancelled(self, at_us: int, *, answer_may_come: bool = False) -> None:
        """The command was cancelled: nothing is matched until a prompt has settled after the cancel key.

        `answer_may_come`: its RETURN was typed before, so lines that follow a new line are its answer.

        What the machine printed before it received the cancel key can still be on its way: an echo, or a
        prompt printed again after a broadcast. So that prompt needs as much quiet as an echo can take.
        """
        self.forget_line()
        self.typing, self._own = False, True
        self._late = "new line" if answer_may_come else ""
        self._cancelled_us = at_us

    def forget_line(self) -> None:
        """Discards the line being printed: something was typed on it."""
        self._line.clear()
        self._cut = self._before = self._blotted = ""
        self._candidate = None
        self._own = False
        self._late = ""
        self.standing = None

    def forget(self) -> None:
        """The connection was lost or opened: nobody knows what the machine printed in between."""
        self.forget_line()
        self.typing = False
        self._interruption = None

    @property
    def printed(self) -> str | None:
        """The line being printed; None during a broadcast and while a prompt is settling."""
        if self._interruption is not None or self.settle_due_us() is not None:
            return None
        return self._cut + self._line.text

    def carry_over(self, printed: str, landmark: str, fields: dict[str, str]) -> None:
        """Continues with this line being printed; `landmark` is the prompt at its end, or empty."""
        self.forget()
        self._line.text, self._line.column = printed, len(printed)
        self._candidate = self._find_candidate()
        if landmark:
            self.standing = LandmarkReached(landmark=landmark, line=printed, fields=fields)

    def _find_candidate(self) -> _Candidate | None:
        if self._interruption is None:
            for text in self._readings_of(self._line.text):
                for prompt in self._machine.prompts:
                    fields = prompt.pattern.match(text)
                    if fields is not None:
                        return _Candidate(prompt, text, fields)
        return None

    def _readings_of(self, line: str) -> list[str]:
        """The texts that the line may be: it may or may not continue a line that an interruption broke."""
        return [text for text in dict.fromkeys((self._cut + line, line)) if text.strip()]

    def _line_ended(self, line: str) -> list[AnyFact]:
        if self._interruption is None:
            self._interruption = self._starts_interruption(line)
            self._interruption_lines = []
        if self._interruption is None:
            return self._plain_line_ended(line)
        self._interruption_lines.append(line)
        if not is_over(self._interruption, self._interruption_lines):
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

    def _plain_line_ended(self, line: str) -> list[AnyFact]:
        tries = self._readings_of(line)
        # An interruption starts on a line of its own. A blank line before it may end a line that it broke, or
        # be a line that it overwrote with blanks.
        self._before = self._cut + (line if line.strip() else self._blotted)
        self._cut = ""
        if line.strip():
            self._lines.append(tries[0])
        if self._own and self._late != "answer":
            self._late = "answer" if self._late else ""
            return []
        for text in tries:
            # The trouble first: the known line could end the step, and the trouble belongs to that step.
            facts = [*self._troubles(text), *self._known(text)]
            if facts:
                self._before = ""
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
            if not (trouble.display or trouble.blocked_for_us) and trouble.pattern.match(line) is not None
        ]


def is_over(interruption: Interruption, lines: list[str]) -> bool:
    """Whether the last of these lines ends the interruption."""
    if len(lines) == LONGEST_INTERRUPTION_LINES:
        return True
    if interruption.ends is not None:
        return interruption.ends.match(lines[-1]) is not None
    if interruption.blank_lines:
        return sum(not line.strip() for line in lines) == interruption.blank_lines
    return len(lines) >= interruption.lines
