"""The console's keyboard in a person's hands: who may have it, and what may be typed there.

What is typed there is no fact, because it could be a secret; only that something was typed is. So the bridge
asks `why_not_typed` about it, and records what follows.
"""

from __future__ import annotations

from typing import Final

from exhibit.decisions.console.console import Console
from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.machine.description import Machine
from exhibit.facts import kinds
from exhibit.facts.units import MIN_US

PRESENT_WITHIN_US: Final = 10 * MIN_US
"""For so long after somebody gave a sign of being at the machine, its keyboard may be used from elsewhere."""
SURE: Final = "I mean it"
"""The reason with which a request is made again for a command that the folder bars."""
_NOBODY_THERE: Final = (
    "in the last 10 minutes nobody has said at the machine that they are there: have somebody there say so"
)
_ENGINEER: Final = "engineer"
"""What the name of an engineer begins with: one at a page from afar is no sign of anybody at the machine."""
_BACK: Final = "\x08\x7f"
_ENDS: Final = "\r\n"


class Keyboard:
    """Who has the keyboard of one machine. Pass each fact to `note`."""

    def __init__(self, machine: Machine, console: Console) -> None:
        self._machine = machine
        self._console = console
        self._seen_us: int | None = None
        """When somebody at the machine last gave a sign of being there."""
        self._line = self._raw = ""
        """What has been typed since the last RETURN, corrected and as it was typed."""
        self._secret = False
        """A secret is being typed: it lasts until RETURN."""
        self.holder = ""
        """Who has it; empty if it isn't taken."""

    @property
    def asks_secret(self) -> bool:
        """Whether what is typed now could be a secret, so that not even its length may be recorded."""
        prompt = self._console.prompt_at_end
        return self._secret or (prompt is not None and prompt.kind == "secret")

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> None:
        """This fact has been recorded."""
        match fact:
            case kinds.RequestMade(request="here", by=by) if not by.startswith(_ENGINEER):
                self._seen_us = at_us
            case kinds.HandsOnConfirmed():
                self._seen_us = at_us
            case kinds.KeyboardTaken(by=by):
                self.holder, self._line, self._raw, self._secret = by, "", "", False
            case kinds.KeyboardGivenBack():
                self.holder = ""

    def answer_to(self, made: kinds.RequestMade, busy: str, at_us: int) -> kinds.AnyFact:
        """The fact that answers a person who wants the keyboard or gives it back. `busy`: why not now."""
        if made.request == "give back":
            if not self.holder:
                return kinds.RequestRefused(request=made.request, why="nobody has taken the keyboard")
            return kinds.KeyboardGivenBack(by=made.by, why=made.why)
        why = f"{self.holder} has the keyboard" if self.holder else busy
        if not why and not self._is_somebody_there(at_us):
            why = _NOBODY_THERE
        return kinds.RequestRefused(request=made.request, why=why) if why else kinds.KeyboardTaken(by=made.by)

    def given_back_by(self, why: str) -> kinds.KeyboardGivenBack:
        """The fact that the keyboard is no longer in the holder's hands, for this reason."""
        return kinds.KeyboardGivenBack(by=MACHINE, why=why)

    def why_not_typed(self, text: str, by: str, at_us: int, *, sure: bool) -> str:
        """Why this must not be typed now; empty if it may be, and then it counts as typed.

        `sure`: the person has said once more that a command is meant that the folder bars.
        """
        if by != self.holder:
            has_it = f"{self.holder} has the keyboard"
            return has_it if self.holder else "nobody has the keyboard: take it first"
        if not self._is_somebody_there(at_us):
            return _NOBODY_THERE
        if not text:
            return "there is nothing to type"
        if not all(ord(character) < self._characters for character in text):
            return "this machine has no character for part of it"
        if any(character in _ENDS for character in text[:-1]):
            return "only one line can be typed at a time, so that what asks for a secret is seen first"
        line, raw, secret = self._line, self._raw, self.asks_secret
        for character in text:
            if secret:
                line = raw = ""
                secret = character not in _ENDS
            elif character in _ENDS:
                if not sure and (barred := self._barred(line) or self._barred(raw)):
                    return (
                        f'the folder of this machine bars such a command ({barred}): say "{SURE}" to type it'
                    )
                line = raw = ""
            elif character in _BACK:
                line, raw = line[:-1], raw + character
            elif character in self._cancels:
                line = raw = ""
            else:
                line, raw = line + character, raw + character
        self._line, self._raw, self._secret = line, raw, secret
        return ""

    def _barred(self, command: str) -> str:
        """The pattern of `never` that this command fits; empty if there is none."""
        as_taken = {command.strip(), *(typing.folded(command.strip()) for typing in self._machine.typings)}
        for never in self._machine.never:
            if any(never.match(text) is not None for text in as_taken):
                return never.text
        return ""

    def _is_somebody_there(self, at_us: int) -> bool:
        return self._seen_us is not None and at_us - self._seen_us <= PRESENT_WITHIN_US

    @property
    def _characters(self) -> int:
        return 256 if self._machine.eighth_bit == "data" else 128

    @property
    def _cancels(self) -> set[str]:
        return {kinds.to_text(typing.cancel) for typing in self._machine.typings}
