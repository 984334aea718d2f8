"""Follows the echo of a command that is being typed: which of its characters the machine took.

The echo is folded as the machine folds. It can be broken at the right edge of the console, blanks in it can
arrive as a tab, and control sequences in it show nothing. A broadcast that the machine's folder describes
can come in the middle, on lines of its own or right behind a character. After it the machine either
continues where it was, or prints the prompt and what was typed again. This follows both possibilities; until
one of them is ruled out, nothing is typed. The first characters of a broadcast can be those that the echo was
waiting for: once it is recognised, they no longer count as echo.
"""

from __future__ import annotations

from typing import Final

from exhibit.decisions.console.interruptions import Interruptions, is_over
from exhibit.decisions.display.wire import Control, Item, Text
from exhibit.decisions.machine.description import Interruption, Machine

_BS, _HT, _LF, _CR = 8, 9, 10, 13
MOST_BLANK_LINES: Final = 3
"""How many blank lines there can be before a broadcast."""
LONGEST_KEPT: Final = 200
"""How many characters to keep of what came back."""
LONGEST_MARK: Final = 12
"""How many characters a machine can print for the key that makes it show its line again."""

_ON, _PROMPT, _AGAIN = "on", "prompt", "again"
_Reading = tuple[str, int]
"""What the machine could print next, and the number of its character: the rest of the echo; the prompt; or,
again, what had come back before the broadcast."""


class Echo:
    """The echo of one attempt. `read`: how many characters of the command have come back right.

    `came_back` is all that came back, with control codes escaped. `new_line`: it has a new line that neither
    the right edge nor a broadcast explains, so the machine may have taken the text before it as a command.
    """

    def __init__(self, machine: Machine, command: str, prompt: str) -> None:
        self.expected = machine.typing.folded(command)
        self.read = 0
        self.came_back = ""
        self._machine = machine
        self._interruptions = Interruptions(machine.interruptions)
        self._columns = machine.display.columns
        self._tab_columns = machine.display.tab_columns
        self._prompt = prompt
        self._column = len(prompt)
        self._readings: set[_Reading] = {(_ON, 0)}
        self._edge_blank = False
        """A blank came after the last column: some machines print one, then RETURN, to break the line."""
        self._breaking = False
        """The line was broken at the right edge, and the next one is still empty."""
        self.aside = False
        """What comes now is on lines of its own: probably a broadcast."""
        self._interruption: Interruption | None = None
        self._resumed = False
        """A broadcast is over, and nothing has come after it."""
        self._line = ""
        self._lines: list[str] = []
        self._taken = ""
        """The echo on the present line of the console."""
        self._starts: list[int] | None = None
        """In the line `_line`, where a broadcast may have begun; None if it has lines of its own."""

    @property
    def unsure(self) -> bool:
        """Whether it isn't clear yet how the machine continues after a broadcast."""
        return not self.aside and self._readings != {(_ON, self.read)}

    @property
    def new_line(self) -> bool:
        """See the class."""
        return self.aside and self._interruption is None and self._starts is None

    @property
    def prompt_behind(self) -> bool:
        """Whether a prompt on a line of its own is all that follows the command.

        The machine has then thrown the command away itself. Behind anything else, such as a broadcast, a
        prompt doesn't show that: a machine can print it again and still have the command.
        """
        if not self.aside or self._interruption is not None:
            return False
        return any(prompt.pattern.match(self._line) is not None for prompt in self._machine.prompts)

    def take(self, item: Item, sent: int) -> bool:
        """Takes the next item, `sent` characters having been sent; false if it can't belong to the echo."""
        if isinstance(item, Text):
            self._keep(item.text)
            return self._take_aside(item.text) if self.aside else self._take_text(item.text, sent)
        if not isinstance(item, Control):
            return True  # a control sequence shows nothing
        self._keep(repr(chr(item.code))[1:-1])
        if self.aside:
            return item.code != _LF or self._line_ended()
        if item.code == _HT:
            return self._take_tab(sent)
        if item.code not in (_CR, _LF):
            return self._edge_blank_ends(item.code)
        if self._at_edge or self._edge_blank or self._breaking:
            self._edge_blank, self._breaking, self._taken = False, True, ""
            self._column = 0 if item.code == _CR else self._column
            return True
        if self._resumed and item.code == _CR:
            return True
        return self._step_aside(item.code)

    def quiet(self) -> bool:
        """The line has been quiet: settles how the machine continues; false if that is still unclear.

        A machine that prints again what was typed wouldn't pause in the middle of it.
        """
        self._readings = {reading for reading in self._readings if reading[0] == _ON}
        if len(self._readings) != 1:
            return False
        self.read = max(number for _, number in self._readings)
        return True

    @property
    def _at_edge(self) -> bool:
        return self._column > 0 and self._column % self._columns == 0

    def _take_text(self, text: str, sent: int) -> bool:
        for place, character in enumerate(text):
            if not self._take_character(character, sent):
                # A broadcast can begin just where the line would be broken.
                if self._breaking:
                    return self._step_aside(_CR) and self._take_aside(text[place:])
                return self._step_aside_here(text[place:])
            self._breaking = self._resumed = False
        return True

    def _take_character(self, character: str, sent: int) -> bool:
        if self._edge_blank:
            return False
        found: set[_Reading] = set()
        for what, number in self._readings:
            if what == _ON and number < sent and self.expected[number] == character:
                found.add((_ON, number + 1))
            elif what == _PROMPT and self._prompt[number] == character:
                whole = number + 1 == len(self._prompt)
                found.add(self._once_more(0) if whole else (_PROMPT, number + 1))
            elif what == _AGAIN and self.expected[number] == character:
                found.add(self._once_more(number + 1))
        if not found:
            self._edge_blank = character == " " and self._at_edge
            return self._edge_blank
        self._readings = found
        self._taken += character
        self._column += 1
        if len(found) == 1:
            what, number = next(iter(found))
            self.read = number if what == _ON else self.read
        return True

    def _once_more(self, number: int) -> _Reading:
        return (_AGAIN, number) if number < self.read else (_ON, self.read)

    def _take_tab(self, sent: int) -> bool:
        """Takes a tab as the blanks that it moves over."""
        if not self._tab_columns:
            return False
        blanks = self._tab_columns - self._column % self._tab_columns
        return self._take_text(" " * blanks, sent)

    def _edge_blank_ends(self, code: int) -> bool:
        if code != _BS or not self._edge_blank:
            return False
        self._edge_blank, self._breaking, self._column = False, True, 0
        return True

    # -- broadcasts -----------------------------------------------------------------------------------

    def _step_aside(self, code: int) -> bool:
        if self.unsure and not self.quiet():
            return False
        self.aside, self._line, self._lines = True, "", []
        return code != _LF or self._line_ended()

    def _step_aside_here(self, text: str) -> bool:
        """This isn't the echo: whether a broadcast may have begun with it, or a few characters before it."""
        if self._edge_blank or (self.unsure and self._taken):
            return False
        self._starts = list(range(max(0, len(self._taken) - self.read), len(self._taken) + 1))
        self.aside, self._line, self._lines = True, self._taken, []
        return self._take_aside(text)

    def _take_aside(self, text: str) -> bool:
        self._line += text[:LONGEST_KEPT]
        if self._starts is not None:
            self._starts = [at for at in self._starts if self._interruptions.may_begin(self._line[at:])]
            if not self._starts:
                self.aside, self._starts = False, None
                return False
        return len(self._line) <= 2 * LONGEST_KEPT

    def _starts_here(self) -> bool:
        """The line on which a broadcast may have begun has ended: whether it is clear where one did."""
        starts, self._starts = self._starts or [], None
        found = [
            (at, known)
            for at in starts
            if (known := self._interruptions.starting(self._line[at:])) is not None
        ]
        if len(found) != 1:
            return False
        at, self._interruption = found[0]
        if at < len(self._taken):
            self.read -= len(self._taken) - at
            self._readings = {(_ON, self.read)}
        self._line = self._line[at:]
        return True

    def _line_ended(self) -> bool:
        if self._starts is not None and not self._starts_here():
            return False
        line, self._line = self._line, ""
        self._lines.append(line)
        if self._interruption is None:
            if not line.strip():
                return len(self._lines) <= MOST_BLANK_LINES
            self._lines = [line]
            self._interruption = self._interruptions.starting(line)
        if self._interruption is None:
            return False
        if is_over(self._interruption, self._lines):
            self._interruption, self.aside, self._column = None, False, 0
            self._resumed, self._taken = True, ""
            self._readings = {(_ON, self.read), self._once_more(0)}
            if self._prompt:
                self._readings.add((_PROMPT, 0))
        return True

    def _keep(self, text: str) -> None:
        self.came_back = (self.came_back + text)[:LONGEST_KEPT]


class SecondLook:
    """What the machine prints when it is asked to show the half-typed line again.

    It can print a mark for the key first, then a new line, and there the command, with or without its
    prompt. `whole`: the new line has exactly that on it.
    """

    def __init__(self, machine: Machine, command: str, prompt: str) -> None:
        expected = machine.typing.folded(command)
        self._wanted = [prompt + expected, expected]
        self._prompt = prompt
        self._columns = machine.display.columns
        self._mark = ""
        self._line: str | None = None
        self.came_back = ""

    @property
    def whole(self) -> bool:
        """See the class."""
        return self._line in self._wanted

    @property
    def may_be_taken(self) -> bool:
        """Whether the key seems to have turned into RETURN, in which case the machine took the command."""
        if len(self._mark) > LONGEST_MARK:
            return True
        return self._line is not None and not self._mark and self._prompt.startswith(self._line)

    def take(self, item: Item) -> bool:
        """Takes the next item; false if the line isn't the command."""
        if isinstance(item, Text):
            self.came_back = (self.came_back + item.text)[:LONGEST_KEPT]
            if self._line is None:
                self._mark += item.text
                return len(self._mark) <= LONGEST_MARK
            line = self._line + item.text
            if not any(wanted.startswith(line) for wanted in self._wanted):
                return False
            self._line = line
        elif isinstance(item, Control):
            self.came_back = (self.came_back + repr(chr(item.code))[1:-1])[:LONGEST_KEPT]
            if item.code not in (_CR, _LF):
                return False
            if not self._line:
                self._line = ""
            return len(self._line) % self._columns == 0
        return True
