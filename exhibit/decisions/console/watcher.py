"""Recognises what the machine prints: known lines, prompts that have settled, interruptions, troubles.

Items go in, facts come out. Text that is painted on a status display is read by `status_displays`.

A line counts when it has ended. A machine that halts may never end its line, so one that nothing has followed
for as long as an echo can take counts too: it has settled. Its end, if it comes later, says nothing new. If
more text comes on that line, it was only the beginning of another line. What was reported stays reported,
because it stood there for that long; the longer line is a line of its own, and is reported if it says
anything else: another known line, or the same one with other values.

A machine with a screen may put its lines where it likes. What it paints in one go counts as a line once the
cursor goes elsewhere, but not after the screen was erased: then it may paint anew what it had said before. If
it remembers the cursor's place, writes somewhere else and comes back, the line there goes on as it was, and a
prompt that was showing still is.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from typing import Final, Literal

from exhibit.decisions.console.interruptions import Interruptions, is_over
from exhibit.decisions.console.printed import PrintedLine, moves_elsewhere
from exhibit.decisions.console.prompts import Candidate, Perhaps, Prompts
from exhibit.decisions.console.signs import Signs
from exhibit.decisions.display.wire import Control, Csi, Escape, FlowGo, FlowStop, Item, Text
from exhibit.decisions.machine.description import Interruption, Machine, Prompt
from exhibit.facts.kinds import AnyFact, LandmarkReached

KEPT_LINES: Final = 12
_WHOLE_SCREEN: Final = 2
"""The parameter with which ED erases all of it (ECMA-48 8.3.39)."""
_RETURN: Final = Control(13)
_FLOW: Final = (FlowStop, FlowGo)
_REMEMBER, _COME_BACK = Escape("", "7"), Escape("", "8")
"""Common practice (DECSC, DECRC): ECMA-48 has no codes for it."""


class Watcher:
    """Watches the printed text of one machine.

    `standing` is the settled prompt at the end of the output, or None. `typing_console` announces what it
    types (`begin_typing`, `taken`, `cancelled`): the line printed then is the echo, and isn't matched.
    """

    def __init__(self, machine: Machine, rate: float = 1.0) -> None:
        self._settle_us = machine.settle_us(rate)
        self._quiet_us = machine.longest_echo_us
        self._cancelled_us = 0
        self._line = PrintedLine(machine.display.tab_columns, paper=machine.display.kind == "paper")
        self._cut = ""
        """The text of a line that an interruption broke, to be joined to what follows the interruption."""
        self._before = ""
        """The last line that ended, unless it was a known one: an interruption may have broken it."""
        self._blotted = ""
        """What was on the line before a carriage return, after which it can be overwritten."""
        self._interruptions = Interruptions(machine.interruptions)
        self._interruption: Interruption | None = None
        self._interruption_lines: list[str] = []
        self._interruption_known: list[AnyFact] = []
        """The known lines that the first line of the interruption is too."""
        self._perhaps: Perhaps | None = None
        self._prompts = Prompts(machine.prompts)
        self._signs = Signs(machine)
        self._found: list[AnyFact] = []
        self._unended: list[AnyFact] = []
        """What the line being printed says if nothing more comes on it."""
        self._heard_us = 0
        self._candidate: Candidate | None = None
        self._lines: deque[str] = deque(maxlen=KEPT_LINES)
        self._remembered: tuple[str, int, LandmarkReached | None] | None = None
        """The line and column that the machine will come back to, and the prompt that was showing there."""
        self._erased = False
        """The screen was erased, so what is painted since may be what it showed before."""
        self._own = False
        """Lines that end now are the echo of what was typed, or the rest of it after the cancel key."""
        self._echo = self._prompt_and_echo = ""
        self._late: Literal["", "new line", "answer"] = ""
        """A whole command was cancelled after its RETURN: what comes next, if its answer was only late."""
        self.typing = False
        self.standing: LandmarkReached | None = None
        self._typed_at: LandmarkReached | None = None
        """The prompt at which the last command was typed."""
        self._stays: LandmarkReached | None = None
        """That prompt, if the cancel key was typed and the machine doesn't print it anew after that."""

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
        if type(item) is Text:  # nearly every item of a slow line is one character of text
            self.standing = None
            text = self._line.text
            self._line.take(item)
            if self._line.text != text:
                self._look_at_line()
            return []
        if isinstance(item, _FLOW):
            return []
        standing, self.standing = self.standing, None
        before = self._cut + self._line.text
        painted: list[AnyFact] = []
        if moves_elsewhere(item):
            painted = self._painted_line()
            self._erased |= isinstance(item, Csi) and item.final == "J" and item.params[0] == _WHOLE_SCREEN
            self._discard()
        elif item == _REMEMBER:
            self._remembered = self._line.text, self._line.column, standing
            self.standing = standing
        elif item == _COME_BACK and self._remembered is not None:
            painted = self._painted_line()
            self._discard()
            self._line.text, self._line.column, self.standing = self._remembered
            self._remembered = None
        elif item == _RETURN and self._line.text.strip():
            self._blotted = self._line.text
        ended = self._line.take(item)
        facts = self._line_ended(ended) if ended is not None else []
        if ended is not None:
            self._blotted = ""
            self._signs.told = []
            self._erased = False
        if ended is not None or self._cut + self._line.text != before:
            self._look_at_line()
        return [*painted, *facts]

    @property
    def prompt_at_end(self) -> Prompt | None:
        """The prompt at the end of the output, even if it hasn't settled yet."""
        return self._candidate.prompt if self._candidate is not None else None

    def settle_due_us(self) -> int | None:
        """When the prompt at the end of the output will have settled; None if there isn't one."""
        if (self._candidate or self._stays) is None or self.standing or self.typing:
            return None
        if self._own:
            return max(self._heard_us, self._cancelled_us) + max(self._settle_us, self._quiet_us)
        return self._heard_us + self._settle_us

    def settle(self, at_us: int) -> LandmarkReached | None:
        """Call at the time that `settle_due_us` gave. Returns the prompt that has settled, if one has."""
        due_us = self.settle_due_us()
        if due_us is None or at_us < due_us:
            return None
        found, stays, self._stays = self._candidate, self._stays, None
        self._own = False
        interrupted = found.interrupted if found is not None else None
        self._found = interrupted.facts if interrupted is not None else []
        self._perhaps = None
        self._erased = False
        self.standing = stays
        if found is not None:
            self.standing = LandmarkReached(landmark=found.prompt.name, line=found.line, fields=found.fields)
        return self.standing

    def take_found(self) -> list[AnyFact]:
        """The facts about an interruption that only the settled prompt has shown to be one. Takes them."""
        found, self._found = self._found, []
        return found

    def unended_due_us(self) -> int | None:
        """When a line that has no end yet will have settled, if it says anything; None if it doesn't."""
        if not self._unended:
            return None
        # Longer than a prompt: half of a slow line must not be taken for a whole one.
        return self._heard_us + max(self._settle_us, self._quiet_us)

    def settle_unended(self, at_us: int) -> list[AnyFact]:
        """Call at the time that `unended_due_us` gave. Returns what the line without an end says."""
        due_us = self.unended_due_us()
        if due_us is None or at_us < due_us:
            return []
        facts, self._unended = self._unended, []
        self._signs.told += facts
        return facts

    def last_lines(self) -> list[str]:
        """The last printed lines, oldest first; the line being printed is the last."""
        current = self._cut + self._line.text
        return [*self._lines, *([current] if current else [])]

    @property
    def current(self) -> str:
        """The line being printed; empty if none is."""
        return self._cut + self._line.text

    def begin_typing(self, prompt: str = "", echo: str = "") -> None:
        """A command is being typed from now on: what the machine prints is its echo.

        `echo` is what comes back if all goes well, empty for a secret; `prompt` the line of its prompt. An
        interruption can come anywhere in them.
        """
        self._typed_at = self.standing
        self.forget_line()
        self._signs.no_table()
        self.typing = self._own = True
        self._echo, self._prompt_and_echo = echo.strip(), prompt + echo

    def taken(self) -> None:
        """The machine took the command: what it prints now is its answer."""
        self.typing = self._own = False

    def cancelled(self, at_us: int, *, prompt_stays: bool = False, answer_may_come: bool = False) -> None:
        """The command was cancelled: nothing is matched until a prompt has settled after the cancel key.

        `answer_may_come`: its RETURN was typed before, so lines that follow a new line are its answer.

        What the machine printed before it received the cancel key can still be on its way: an echo, or a
        prompt printed again after a broadcast. So that prompt needs as much quiet as an echo can take.
        `prompt_stays`: the machine doesn't print its prompt anew, so the one from before counts again then.
        """
        self.forget_line()
        self._stays = self._typed_at if prompt_stays else None
        self.typing, self._own = False, True
        self._late = "new line" if answer_may_come else ""
        self._cancelled_us = at_us

    def thrown_away(self, at_us: int) -> None:
        """The machine threw away what was half typed, and printed its prompt again: that can settle now."""
        self.typing, self._own = False, True
        self._cancelled_us = at_us

    def forget_line(self) -> None:
        """Discards the line being printed: something was typed on it."""
        self._line.clear()
        self._discard()
        self._candidate = self._stays = None
        self._own = False
        self._remembered = None
        self._late = ""
        self.standing = None

    def forget(self) -> None:
        """The connection was lost or opened: nobody knows what the machine printed in between."""
        self.forget_line()
        self._signs.no_table()
        self.typing = False
        self._interruption = None

    @property
    def in_interruption(self) -> bool:
        """Whether the first line of an interruption has been printed, but not yet its last."""
        return self._interruption is not None

    @property
    def printed(self) -> str | None:
        """The line being printed; None during a broadcast and while a prompt or a line is settling."""
        if self._interruption is not None or self.settle_due_us() is not None or self._unended:
            return None
        return self._cut + self._line.text

    def carry_over(self, printed: str, landmark: str, fields: dict[str, str]) -> None:
        """Continues with this line being printed; `landmark` is the prompt at its end, or empty."""
        self.forget()
        self._line.text, self._line.column = printed, len(printed)
        self._look_at_line()
        self._signs.told, self._unended = self._unended, []
        if landmark:
            self.standing = LandmarkReached(landmark=landmark, line=printed, fields=fields)

    def _discard(self) -> None:
        """What was on the line being printed, or before it, continues no more."""
        self._cut = self._before = self._blotted = ""
        self._perhaps = None
        self._found, self._unended, self._signs.told = [], [], []

    def _look_at_line(self) -> None:
        """Looks for a prompt at the end of the line being printed, and for what it says if it ends here."""
        self._candidate, self._unended = None, []
        if self._interruption is not None:
            return
        line = self._line.text
        texts = self._readings_of(line)
        self._candidate = self._find_candidate(line, texts)
        if not self._own:
            self._unended = self._find_unended(texts)

    def _find_candidate(self, line: str, texts: Sequence[str]) -> Candidate | None:
        for text in texts:
            if (candidate := self._prompts.at_end_of(text)) is not None:
                return candidate
        if self._perhaps is not None and line.strip():
            return self._prompts.at_end_of(self._perhaps.before + line, self._perhaps)
        return None

    def _find_unended(self, texts: Sequence[str]) -> list[AnyFact]:
        for text in texts:
            if facts := self._signs.on(text):
                return self._signs.not_told(facts)
        return []

    def _readings_of(self, line: str) -> Sequence[str]:
        """The texts that the line may be: it may or may not continue a line that an interruption broke."""
        if self._cut and line:
            return [text for text in (self._cut + line, line) if text.strip()]
        line = line or self._cut
        return () if not line or line.isspace() else (line,)

    # -- when a line has ended ------------------------------------------------------------------------

    def _painted_line(self) -> list[AnyFact]:
        """What the line says that was painted where the cursor is, and that it now leaves."""
        line = self._line.text
        if self._own or self._erased or self._interruption is not None or not line.strip():
            return []
        self._lines.append(line)
        broadcast = self._interruptions.starting(line.strip())
        if broadcast is not None and broadcast.lines == 1:
            return self._signs.of_interruption(broadcast, [line], self._signs.known_on(line))
        return self._signs.not_told(self._signs.on(line))

    def _line_ended(self, line: str) -> list[AnyFact]:
        if self._interruption is None:
            begun = self._starts_interruption(line)
            if begun is None:
                return self._plain_line_ended(line)
            before, line, self._interruption = begun
            # Several interruptions can follow each other on lines of their own.
            self._before = before or self._cut or self._before
            self._interruption_lines, self._perhaps = [], None
            self._interruption_known = self._signs.not_told(self._signs.known_on(line))
        self._interruption_lines.append(line)
        if not is_over(self._interruption, self._interruption_lines):
            return []
        seen = self._signs.of_interruption(
            self._interruption, self._interruption_lines, self._interruption_known
        )
        self._interruption = None
        self._cut, self._before = self._before, ""
        self._lines.extend(self._interruption_lines)
        return seen

    def _starts_interruption(self, line: str) -> tuple[str, str, Interruption] | None:
        """The interruption that starts on this line, with the text before it and its own first line."""
        if self.typing and self._echo and line.strip() == self._echo:
            return None
        known = self._interruptions.starting(line)
        if known is not None:
            return "", line, known
        for before, rest, known in self._interruptions.starting_within(line):
            if self.typing:
                if before.strip() in self._prompt_and_echo:
                    return before, rest, known
            elif not self._signs.on(line):
                for text in self._readings_of(before):
                    if self._prompts.at_end_of(text) is not None:
                        return text, rest, known
        return None

    def _plain_line_ended(self, line: str) -> list[AnyFact]:
        tries = self._readings_of(line)
        perhaps, self._perhaps = self._perhaps, None
        # An interruption starts on a line of its own. A blank line before it may end a line that it broke, or
        # be a line that it overwrote with blanks.
        self._before = self._cut + (line if line.strip() else self._blotted)
        self._cut = ""
        if line.strip():
            self._lines.append(tries[0])
        if self._own and self._late != "answer":
            self._late = "answer" if self._late else ""
            return []
        if perhaps is not None and (facts := self._signs.on(perhaps.before + line)):
            self._before = ""
            facts = [*perhaps.facts, *facts]
        else:
            facts = self._facts_of(line, tries)
        self._signs.follow_table(tries)
        return facts

    def _facts_of(self, line: str, tries: Sequence[str]) -> list[AnyFact]:
        """The facts about a line that ended, which may read as any of these."""
        for text in tries:
            if facts := self._signs.on(text):
                self._before = ""
                return self._signs.not_told(facts)
        self._perhaps = self._find_perhaps(line)
        return []

    def _find_perhaps(self, line: str) -> Perhaps | None:
        for before, rest, known in self._interruptions.starting_within(line):
            if known.lines == 1:
                return Perhaps(before, self._signs.of_interruption(known, [rest], self._signs.known_on(rest)))
        return None
