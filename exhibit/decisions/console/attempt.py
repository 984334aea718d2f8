"""One attempt to type a command: which of its characters were sent, and which have come back."""

from __future__ import annotations

from exhibit.decisions.console.echo import Echo, SecondLook
from exhibit.decisions.console.local_echo import sign_in
from exhibit.decisions.display.characters import codes_of
from exhibit.decisions.machine.description import Machine
from exhibit.facts.kinds import EchoSign, TypingGarbled


class Attempt:
    """An attempt at a command after this prompt; `number` counts from 1.

    `unechoed`: what comes back isn't compared. Only the first attempt at an echoed command sends several
    characters before the first has come back: a machine that failed to take them may have been too busy.
    """

    def __init__(self, machine: Machine, command: str, prompt: str, number: int, *, unechoed: bool) -> None:
        self._machine = machine
        self._command = command
        self._prompt = prompt
        self.number = number
        self.unechoed = unechoed
        self._window = 1 if unechoed or number > 1 else machine.typing.window
        self.sent = 0
        """How many characters have been sent."""
        self.secret_parts = 0
        """In how many parts a secret has been sent: its first character, then the rest."""
        self.echo = Echo(machine, command, prompt)
        self.look: SecondLook | None = None
        """The second look at the line, once the machine has been asked to show it again."""

    @property
    def needs_no_more_echo(self) -> bool:
        """Whether all characters have been sent and there is no echo to wait for."""
        return self.sent == len(self._command) and (self.unechoed or not self._command)

    @property
    def came_back_whole(self) -> bool:
        """Whether each character has come back right."""
        return self.echo.read >= len(self._command)

    @property
    def settles(self) -> bool:
        """Whether only quiet is still needed: the echo, or the line shown again, may be complete."""
        return self.look.whole if self.look is not None else self.echo.unsure

    def send_next(self) -> list[bytes]:
        """The characters to send now; from then on they count as sent."""
        end = min(len(self._command), self._window + (self.sent if self.unechoed else self.echo.read))
        characters = self._machine.display.characters
        codes = [codes_of(character, characters) for character in self._command[self.sent : end]]
        self.sent = max(self.sent, end)
        return codes

    def next_of_secret(self) -> bytes | None:
        """The part of a secret to send now, which can be empty; None if both have been sent."""
        parts = (self._command[:1], self._command[1:])
        if self.secret_parts == len(parts):
            return None
        part = parts[self.secret_parts]
        self.secret_parts += 1
        self.sent += len(part)
        return codes_of(part, self._machine.display.characters)

    def look_again(self) -> None:
        """The machine is asked to show the line again."""
        self.look = SecondLook(self._machine, self._command, self._prompt)

    def garbled(self, came_back: str, *, thrown_away: bool = False, returned: bool = False) -> TypingGarbled:
        """The fact that the command came back as `came_back`. `returned`: RETURN had been typed.

        `thrown_away`: the machine printed its prompt again by itself, so the command isn't cancelled.
        """
        may_be_taken = self.look is not None and self.look.may_be_taken
        return TypingGarbled(
            command=self._command,
            expected=self.echo.expected[: self.sent],
            came_back=came_back or self.echo.came_back,
            attempt=self.number,
            new_line=self.echo.new_line or may_be_taken,
            thrown_away=thrown_away,
            returned=returned,
        )

    def sign_of_local_echo(self, came_back: str) -> EchoSign | None:
        """The sign in `came_back` of an echo from nearer than the machine; None if there is none."""
        return sign_in(self._command[: self.sent], self.echo.expected[: self.sent], came_back)
