"""The console of one machine as it is typed at: keeps what is watched in step with what is typed.

Whoever wants something typed asks here, and nobody else calls both the watching and the keying.
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
    """Types commands and keys at a console. `rate` is that of the recording's clock.

    `judges_echo`: whether to look for an echo from something nearer than the machine. Read what stands
    there from `watched`, but don't change it.
    """

    def __init__(self, machine: Machine, console: Console, rate: float, *, judges_echo: bool = True) -> None:
        self._machine = machine
        self.watched = console
        self._keying = Keying(machine, machine.settle_us(rate), console.flow)
        self._too_soon = TooSoon(machine, rate, judges=judges_echo)

    # -- what is typed ------------------------------------------------------------------------

    def type_command(self, text: str, at_us: int, *, by: str, secret: bool = False) -> Keyed:
        """Begins to type a command, or a secret, at the prompt that stands."""
        prompt = self.watched.prompt
        self.watched.echo_begins()
        begun = self._keying.begin(
            text, at_us, by=by, secret=secret, prompt=prompt.line if prompt is not None else ""
        )
        return self._in_step(begun, at_us)

    def type_again(self, at_us: int) -> list[Command]:
        """After the cancel key the prompt stands again: types the same command from its beginning."""
        self.watched.echo_begins()
        return self._keying.again(at_us)

    def press(self, key: bytes, by: str) -> list[Command]:
        """Types one key. Nothing is typed while the machine holds up typing."""
        self.watched.forget_line()
        self.watched.display_cleared()
        return self._keying.press(key, by)

    def press_cancel(self, by: str, at_us: int) -> list[Command]:
        """Types the cancel key, after which only a prompt counts that settles later."""
        self.watched.cancelled(at_us)
        self.watched.display_cleared()
        return self._keying.press(self._machine.typing.cancel, by)

    def give_up(self, at_us: int) -> list[Command]:
        """Stops typing a command, with the cancel key if part of it may stand on the console."""
        if self.watched.shows_echo:
            self.watched.cancelled(at_us)
        return self._keying.give_up()

    def rest(self) -> list[Command]:
        """Nothing more is to be typed, even when XON comes."""
        return self._keying.rest()

    def abandon(self) -> None:
        """Forgets what is being typed: from now on this console is only watched."""
        if self.watched.shows_echo:
            self.watched.cancelled(self.watched.heard_us)

    # -- what happens -------------------------------------------------------------------------

    def received(self, data: bytes, at_us: int) -> list[Command]:
        """Judges received bytes as an echo; each of their items goes to `take` afterwards."""
        if self._keying.unproven or not self._too_soon.heard(data, at_us):
            return []
        return [Tell(fact=local_echo("too soon"))]

    def take(self, item: Item, at_us: int) -> Keyed:
        """An item came, which the console has seen."""
        cancel_waited = self._keying.cancel_waits
        keyed = self._keying.take(item, at_us)
        if cancel_waited:
            self._note_if_cancelled(at_us)
        return self._in_step(keyed, at_us)

    def let_go(self, by: str, at_us: int) -> list[Command]:
        """A person says that typing can go on although the machine holds it up."""
        cancel_waited = self._keying.cancel_waits
        commands = self._keying.let_go(by, at_us)
        if cancel_waited:
            self._note_if_cancelled(at_us)
        return commands

    def withheld(self, at_us: int) -> Keyed:
        """Something came that was withheld."""
        return self._in_step(self._keying.withheld(), at_us)

    def deadline_passed(self, name: str, at_us: int) -> Keyed:
        """A deadline of any name passed."""
        return self._in_step(self._keying.overdue(at_us), at_us) if name == ECHO else Keyed(())

    def typed(self, text: str, at_us: int) -> None:
        """These bytes went to the machine."""
        self._too_soon.typed(text, at_us)

    def trust_echo(self, keeps_time: bool | None = None) -> None:
        """The line may be another one, or set otherwise: its echo counts until it is found to be local.

        `keeps_time`: whether characters take the time on the line that its settings say; None: as before.
        """
        self._keying.unproven = False
        self._too_soon.begin(keeps_time=self._too_soon.keeps_time if keeps_time is None else keeps_time)

    def distrust_echo(self) -> None:
        """What comes back isn't the machine's own."""
        self._keying.unproven = True

    def _in_step(self, keyed: Keyed, at_us: int) -> Keyed:
        """Tells the console how the typing ended, if it did."""
        if keyed.end is TypingEnd.CONFIRMED:
            self.watched.echo_ends()
        elif keyed.end is not None and self.watched.shows_echo:
            self.watched.cancelled(at_us)
        return keyed

    def _note_if_cancelled(self, at_us: int) -> None:
        """If the cancel key that was held up has been sent now, what stood before no longer counts."""
        if not self._keying.cancel_waits:
            self.watched.cancelled(at_us)

    # -- small questions ----------------------------------------------------------------------

    @property
    def blocked_by_xoff(self) -> bool:
        """Whether the machine holds up what is typed."""
        return self.watched.flow.blocked_by_xoff

    @property
    def return_sent(self) -> bool:
        """Whether the machine may have taken the command that was typed last."""
        return self._keying.return_sent

    @property
    def at_rest(self) -> bool:
        """Whether nothing is being typed, hidden or held up."""
        return self._keying.at_rest

    @property
    def being_typed(self) -> str:
        """The command that was begun last; it may be a secret, so use it for comparing only."""
        return self._keying.command

    @property
    def keeps_time(self) -> bool:
        """Whether characters take the time on the line that its settings say."""
        return self._too_soon.keeps_time

    def withholds(self, byte: int) -> bool:
        """Whether this byte may be part of a secret: it must not be recorded, nor given to `received`.

        Blanks (the end of a prompt may come late), control codes and control sequences show nothing and
        are let through.
        """
        return self._keying.hides and self.watched.shows(byte)
