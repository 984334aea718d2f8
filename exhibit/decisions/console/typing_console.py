"""The console of one machine as it is operated: keeps the watching informed of what is typed.

All typing goes through here, and no other module calls both `console` and `keying`.
"""

from __future__ import annotations

from exhibit.decisions.commands import Command, Tell
from exhibit.decisions.console.console import Console
from exhibit.decisions.console.keying import DEADLINE as ECHO
from exhibit.decisions.console.keying import Keying
from exhibit.decisions.console.local_echo import TooSoon, local_echo
from exhibit.decisions.console.outcomes import Keyed, TypingEnd
from exhibit.decisions.display.wire import Item
from exhibit.decisions.machine.description import Machine


class TypingConsole:
    """Types commands and keys at a console. `rate` is the rate of the recording's clock.

    `judges_echo`: whether to look for an echo from nearer than the machine. Read what the console shows from
    `watched`, but don't change it.
    """

    def __init__(self, machine: Machine, console: Console, rate: float, *, judges_echo: bool = True) -> None:
        self._machine = machine
        self.watched = console
        self._keying = Keying(machine, machine.settle_us(rate), console.flow)
        self._too_soon = TooSoon(machine, rate, judges=judges_echo)

    # -- what is typed ------------------------------------------------------------------------

    def type_command(self, text: str, at_us: int, *, by: str, secret: bool = False) -> Keyed:
        """Begins to type a command or a secret at the prompt that is showing."""
        prompt = self.watched.prompt
        self.watched.echo_begins()
        begun = self._keying.begin(
            text, at_us, by=by, secret=secret, prompt=prompt.line if prompt is not None else ""
        )
        return self._in_step(begun, at_us)

    def type_again(self, at_us: int) -> list[Command]:
        """Types the same command from its beginning, after the cancel key has brought the prompt back."""
        self.watched.echo_begins()
        return self._keying.again(at_us)

    def press(self, key: bytes, by: str) -> list[Command]:
        """Types one key; nothing while the machine blocks typing."""
        self.watched.forget_line()
        self.watched.display_cleared()
        return self._keying.press(key, by)

    def press_cancel(self, by: str, at_us: int) -> list[Command]:
        """Types the cancel key. Only a prompt that settles after that counts."""
        self.watched.cancelled(at_us)
        self.watched.display_cleared()
        return self._keying.press(self._machine.typing.cancel, by)

    def give_up(self, at_us: int) -> list[Command]:
        """Stops typing a command, with the cancel key if the console may have part of it."""
        if self.watched.shows_echo:
            self.watched.cancelled(at_us)
        return self._keying.give_up()

    def rest(self) -> list[Command]:
        """Types nothing more, even when XON comes."""
        return self._keying.rest()

    def abandon(self) -> None:
        """Forgets what is being typed: from now on this console is only watched."""
        if self.watched.shows_echo:
            self.watched.cancelled(self.watched.heard_us)

    # -- what happens -------------------------------------------------------------------------

    def received(self, data: bytes, at_us: int) -> list[Command]:
        """Checks whether received bytes came back too soon. Pass each of their items to `take` afterwards."""
        if self._keying.unproven or not self._too_soon.heard(data, at_us):
            return []
        return [Tell(fact=local_echo("too soon"))]

    def take(self, item: Item, at_us: int) -> Keyed:
        """Takes an item that the console has already seen."""
        cancel_waited = self._keying.cancel_waits
        keyed = self._keying.take(item, at_us)
        if cancel_waited:
            self._note_if_cancelled(at_us)
        return self._in_step(keyed, at_us)

    def let_go(self, by: str, at_us: int) -> list[Command]:
        """Releases typing because a person says so, although the machine blocks it."""
        cancel_waited = self._keying.cancel_waits
        commands = self._keying.let_go(by, at_us)
        if cancel_waited:
            self._note_if_cancelled(at_us)
        return commands

    def withheld(self, at_us: int) -> Keyed:
        """The secret that is being typed was received, and withheld."""
        return self._in_step(self._keying.withheld(), at_us)

    def deadline_passed(self, name: str, at_us: int) -> Keyed:
        """A deadline of any name passed."""
        return self._in_step(self._keying.overdue(at_us), at_us) if name == ECHO else Keyed(())

    def typed(self, text: str, at_us: int) -> None:
        """These bytes were sent to the machine; empty for a secret."""
        self._too_soon.typed(text, at_us)

    def trust_echo(self, keeps_time: bool | None = None) -> None:
        """Lets the echo count again until it is found to be local: the line or its settings may have changed.

        `keeps_time`: whether characters take the time on the line that its settings say; None: as before.
        """
        self._keying.unproven = False
        self._too_soon.begin(keeps_time=self._too_soon.keeps_time if keeps_time is None else keeps_time)

    def distrust_echo(self) -> None:
        """The echo isn't the machine's own, so it counts for nothing."""
        self._keying.unproven = True

    def _in_step(self, keyed: Keyed, at_us: int) -> Keyed:
        """Informs the console if the typing has ended."""
        if keyed.end is TypingEnd.CONFIRMED:
            self.watched.echo_ends()
        elif keyed.end is not None and self.watched.shows_echo:
            self.watched.cancelled(at_us)
        return keyed

    def _note_if_cancelled(self, at_us: int) -> None:
        """If the cancel key that waited for XON has now been sent, earlier output no longer counts."""
        if not self._keying.cancel_waits:
            self.watched.cancelled(at_us)

    # -- small questions ----------------------------------------------------------------------

    @property
    def blocked_by_xoff(self) -> bool:
        """Whether the machine blocks typing."""
        return self.watched.flow.blocked_by_xoff

    @property
    def return_sent(self) -> bool:
        """Whether RETURN was sent for the last command, so that the machine may have taken it."""
        return self._keying.return_sent

    @property
    def at_rest(self) -> bool:
        """Whether nothing is being typed, nothing hidden, and typing isn't blocked."""
        return self._keying.at_rest

    @property
    def being_typed(self) -> str:
        """The command that was begun last. It could be a secret, so use it only to compare."""
        return self._keying.command

    @property
    def keeps_time(self) -> bool:
        """Whether characters take the time on the line that its settings say."""
        return self._too_soon.keeps_time
