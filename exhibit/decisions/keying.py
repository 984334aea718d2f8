"""Types a command so that nothing is sent which the machine didn't take as meant.

One character is typed at a time and its echo awaited; RETURN goes out only behind a command that
came back right, and counts as taken when the machine answers it with a new line. A command that
came back wrong is thrown away with the machine's cancel key and typed again when its prompt stands
again, at most twice.
"""

from __future__ import annotations

from typing import Literal

from exhibit.decisions.commands import Arm, Command, Drop, Tell, Type
from exhibit.decisions.machine import Typing
from exhibit.decisions.wire import Control, FlowGo, FlowStop, Item, Text
from exhibit.facts.kinds import TypingConfirmed, TypingGarbled

MOST_ATTEMPTS = 3
DEADLINE = "echo"
_CR, _LF = 13, 10

State = Literal["idle", "typing", "pacing", "awaiting new line", "cancelled", "confirmed", "failed"]


class Keying:
    """Types one command at a time at one machine.

    `state` says where it stands; at "confirmed" and "failed" whoever asked for the command takes
    over. At "cancelled" it waits to be told by `again` that the prompt stands once more.
    """

    def __init__(self, typing: Typing, by: str) -> None:
        self._typing = typing
        self._by = by
        self._command = ""
        self._secret = False
        self._next = 0
        """How many characters have gone out."""
        self._attempt = 0
        self._came_back = ""
        self._held = False
        """The machine has sent XOFF."""
        self._waiting_for_go: list[Command] = []
        self._hiding = False
        self.state: State = "idle"
        self.why = ""

    @property
    def unfinished(self) -> bool:
        """Whether part of a command may stand on the console."""
        return self.state in ("typing", "pacing", "awaiting new line")

    def withholds(self, byte: int) -> bool:
        """Whether this received byte might be part of a secret, and must not be recorded.

        From a secret's first character until the machine starts a new line, also when the typing
        was given up in between.
        """
        return self._hiding and byte not in (_CR, _LF)

    def begin(self, command: str, at_us: int, *, secret: bool = False) -> list[Command]:
        """Starts to type the command. Its prompt must stand and have settled."""
        self._command = command
        self._secret = self._hiding = secret
        self._attempt = 0
        self.why = ""
        return self.again(at_us)

    def again(self, at_us: int) -> list[Command]:
        """Types the command from its beginning: the prompt stands, nothing stands behind it."""
        self._attempt += 1
        self._next = 0
        self._came_back = ""
        return self._type_next(at_us)

    def forget(self) -> list[Command]:
        """Drops whatever was going on. Part of a command may be left standing (`unfinished`)."""
        self.state = "idle"
        self._secret = False
        self._waiting_for_go = []
        return [Drop(name=DEADLINE)]

    def take(self, item: Item, at_us: int) -> list[Command]:
        """What the machine sent while the command was being typed."""
        if isinstance(item, Control) and item.code == _LF:
            self._hiding = False
        if isinstance(item, FlowStop):
            self._held = True
            return []
        if isinstance(item, FlowGo):
            self._held = False
            released, self._waiting_for_go = self._waiting_for_go, []
            return [*released, self._deadline(at_us)] if released else []
        if self.state in ("typing", "pacing"):
            return self._take_echo(item, at_us)
        if self.state == "awaiting new line" and isinstance(item, Control) and item.code == _LF:
            self.state = "confirmed"
            confirmed = TypingConfirmed(command=self._shown(), attempts=self._attempt)
            self._secret = False
            return [Drop(name=DEADLINE), Tell(fact=confirmed)]
        return []

    def overdue(self, at_us: int) -> list[Command]:
        """The echo deadline has passed."""
        if self._held:
            return [self._deadline(at_us)]
        if self.state == "pacing":
            return self._type_next(at_us)
        if self.state == "typing":
            return self._garbled("")
        if self.state == "awaiting new line":
            self.state = "failed"
            self.why = "the machine did not answer RETURN with a new line"
            return [Type(data=self._typing.cancel, by=self._by)]
        return []

    def _take_echo(self, item: Item, at_us: int) -> list[Command]:
        if self._secret or self._typing.echo == "none":
            if self._secret and isinstance(item, Text):
                self.state = "failed"
                self.why = "the machine showed the secret that was being typed, so it was cancelled"
                return [Drop(name=DEADLINE), Type(data=self._typing.cancel, by=self._by)]
            return []
        if isinstance(item, Control) and item.code == 0:
            return []
        if not isinstance(item, Text):
            return self._garbled(repr(item)) if isinstance(item, Control) else []
        for character in item.text:
            self._came_back += character
            if self._came_back != self._fold(self._command[: len(self._came_back)]):
                return self._garbled("")
        if len(self._came_back) < self._next:
            return []
        return self._type_next(at_us)

    def _type_next(self, at_us: int) -> list[Command]:
        if self._next == len(self._command):
            self.state = "awaiting new line"
            return self._send(self._typing.return_key, at_us)
        unechoed = self._secret or self._typing.echo == "none"
        self.state = "pacing" if unechoed else "typing"
        data = self._command[self._next].encode("latin-1")
        self._next += 1
        return self._send(data, at_us)

    def _send(self, data: bytes, at_us: int) -> list[Command]:
        typed = Type(data=data, by=self._by, secret=self._secret and self.state == "pacing")
        if self._held:
            self._waiting_for_go = [typed]
            return [self._deadline(at_us)]
        return [typed, self._deadline(at_us)]

    def _deadline(self, at_us: int) -> Arm:
        wait_us = self._typing.echo_within_us
        if self.state == "pacing" and not (self._secret and self._next == 1):
            # The first character of a secret waits as long as an echo may take; the rest needn't.
            wait_us = self._typing.pause_after_us
        return Arm(name=DEADLINE, due_us=at_us + wait_us)

    def _garbled(self, also: str) -> list[Command]:
        garbled = TypingGarbled(
            command=self._command,
            expected=self._fold(self._command[: self._next]),
            came_back=self._came_back + also,
            attempt=self._attempt,
        )
        if self._attempt < MOST_ATTEMPTS:
            self.state = "cancelled"
        else:
            self.state = "failed"
            self.why = f"it came back wrong {MOST_ATTEMPTS} times and was cancelled each time"
        return [Drop(name=DEADLINE), Tell(fact=garbled), Type(data=self._typing.cancel, by=self._by)]

    def _fold(self, text: str) -> str:
        return text.upper() if self._typing.folds_to == "upper case" else text

    def _shown(self) -> str:
        return "" if self._secret else self._command
