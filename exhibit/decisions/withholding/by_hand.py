"""What of a person's typing at the machine's own terminal may be recorded.

A password isn't echoed, so whoever records what is typed would record it. If the folder has a prompt for a
secret, characters are therefore recorded only where the console shows that they are none: at another prompt
or at a status display. Elsewhere only their number is.
"""

from __future__ import annotations

from itertools import groupby

from exhibit.decisions.console.console import Console
from exhibit.decisions.machine.description import Machine
from exhibit.facts import kinds


class ByHand:
    """Follows one person's typing, line by line. Call `heard` when the machine has sent anything."""

    def __init__(self, machine: Machine, console: Console) -> None:
        self._has_secrets = any(prompt.kind == "secret" for prompt in machine.prompts)
        self._console = console
        keys = [key for typing in machine.typings for key in (typing.return_key, typing.cancel)]
        self._ends = {key[-1] for key in keys if key}
        self._mask = 0xFF if machine.eighth_bit == "data" else 0x7F
        self._begun = False
        """Part of a line has been typed."""
        self._hidden = False
        """What is typed of this line is withheld."""
        self._answered = True
        """The machine has sent something since the last line was ended."""

    def heard(self) -> None:
        """The machine has sent something."""
        self._answered = True

    def typed(self, data: bytes) -> list[kinds.TypedByHand]:
        """A person typed this. Returns the facts that may be recorded; the key that ends a line is shown."""
        facts = []
        for hidden, group in groupby([(self._hides(byte), byte) for byte in data], lambda pair: pair[0]):
            typed = bytes(byte for _, byte in group)
            shown = "" if hidden else kinds.to_text(typed)
            facts.append(kinds.TypedByHand(bytes=shown, count=len(typed), secret=hidden))
        return facts

    def _hides(self, byte: int) -> bool:
        if not self._has_secrets:
            return False
        if byte & self._mask in self._ends:
            self._begun, self._answered = False, False
            return False
        prompt = self._console.prompt_at_end
        if not self._begun:
            known = self._answered and (prompt is not None or self._console.status_display is not None)
            self._begun, self._hidden = True, not known
        # A program that takes single keys may ask for a password without a line having been ended.
        self._hidden = self._hidden or (prompt is not None and prompt.kind == "secret")
        return self._hidden
