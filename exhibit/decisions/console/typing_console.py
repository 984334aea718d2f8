"""The console of one machine as it is operated: keeps the watching informed of what is typed.

All typing goes through here, and no other module calls both `console` and `keying`.
"""

from __future__ import annotations

from exhibit.decisions.commands import Command, Tell
from exhibit.decisions.console.console import Console
from exhibit.decisions.console.keying import DEADLINE as ECHO
from exhibit.decisions.console.keying import Keying
from exhibit.decisions.console.local_echo import TooSoon, local_echo
from exhibit.decisions.console.outcomes import Failed, Keyed, TypingEnd
from exhibit.decisions.display.wire import Item
from exhibit.decisions.machine.description import Machine
from exhibit.facts.kinds import LastRecordingRead


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
        self._prompt_and_echo = "", ""
        """The line of the prompt, and what is to come back of the command; of a secret nothing."""
        self.doubt_us = 0
        """Not 0: the machine may keep an unanswered key, so its next prompt must be quiet for so long."""
        self.person_there = False
        """A person has been at the machine since then, so that a question may be answered."""

    # -- what is typed ------------------------------------------------------------------------

    def type_command(
        self, text: str, at_us: int, *, by: str, secret: bool = False, at_line: str = ""
    ) -> Keyed:
        """Begins to type a command or a secret at the prompt that is showing, or at the end of `at_line`."""
        showing = self.watched.prompt
        prompt = showing.line if showing is not None else at_line
        typing = self._machine.typing_for(showing.landmark if showing is not None else "")
        self._prompt_and_echo = prompt, "" if secret else typing.folded(text)
        self.doubt_us = 0
        self.watched.echo_begins(*self._prompt_and_echo)
        begun = self._keying.begin(text, at_us, by=by, secret=secret, prompt=prompt, typing=typing)
        return self._in_step(begun, at_us)

    def type_again(self, at_us: int) -> list[Command]:
        """Types the same command from its beginning, after the cancel key has brought the prompt back."""
        self.watched.echo_begins(*self._prompt_and_echo)
        return self._keying.again(at_us)

    def press(self, key: bytes, by: str) -> list[Command]:
        """Types one key; nothing while the machine blocks typing."""
        self.doubt_us = 0
        self.watched.forget_line()
        self.watched.display_cleared()
        return self._keying.press(key, by)

    def press_cancel(self, key: bytes, by: str, at_us: int) -> list[Command]:
        """Types this cancel key. Only a prompt that settles after that counts."""
        self.watched.cancelled(at_us)
        self.watched.display_cleared()
        return self._keying.press(key, by)

    def give_up(self, at_us: int) -> list[Command]:
        """Stops typing a command, with the cancel key if the console may have part of it."""
        answer_may_come = self._keying.awaits_new_line
        commands = self._keying.give_up()
        if self.watched.shows_echo:
            self._cancelled(at_us, answer_may_come=answer_may_come)
        return commands

    def rest(self) -> list[Command]:
        """Types nothing more, even when XON comes."""
        return self._keying.rest()

    def leave_standing(self, left: LastRecordingRead, at_us: int) -> list[Command]:
        """Types nothing more, not even the cancel key: what is half typed stays on the console.

        `left`: what of it was really typed.
        """
        returned = bool(left.unanswered) and not left.half_typed
        commands = self._keying.leave_standing(left.half_typed or left.unanswered, returned=returned)
        if self.watched.shows_echo:
            self.watched.cancelled(at_us)
        return commands

    def abandon(self) -> None:
        """Forgets what is being typed: from now on this console is only watched."""
        if self.watched.shows_echo:
            self._cancelled(self.watched.heard_us)

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

    def doubt_prompts(self, listen_us: int) -> None:
        """No answer has come to a key: the machine may keep it, and answer its own next prompt with it."""
        self.doubt_us, self.person_there = listen_us, False

    def looked_at(self) -> None:
        """A person has looked, having been told what was half typed."""
        self._keying.half_standing, self.person_there = "", True

    def distrust_echo(self) -> None:
        """The echo isn't the machine's own, so it counts for nothing."""
        self._keying.unproven = True

    def _in_step(self, keyed: Keyed, at_us: int) -> Keyed:
        """Informs the console if the typing has ended."""
        if keyed.end is TypingEnd.CONFIRMED:
            self.watched.echo_ends()
        elif keyed.end is not None and self.watched.shows_echo:
            late = isinstance(keyed.end, Failed) and keyed.end.may_be_answered
            self._cancelled(at_us, answer_may_come=late)
        return keyed

    def _cancelled(self, at_us: int, *, answer_may_come: bool = False) -> None:
        """The command was given up, with the cancel key if there is one."""
        if self._keying.thrown_away:
            self.watched.thrown_away(at_us)
            return
        stays = self._keying.prompt_stays
        self.watched.cancelled(at_us, prompt_stays=stays, answer_may_come=answer_may_come)

    def _note_if_cancelled(self, at_us: int) -> None:
        """If the cancel key that waited for XON has now been sent, earlier output no longer counts."""
        if not self._keying.cancel_waits:
            self._cancelled(at_us)

    # -- small questions ----------------------------------------------------------------------

    @property
    def blocked_by_xoff(self) -> bool:
        """Whether the machine blocks typing."""
        return self.watched.flow.blocked_by_xoff

    @property
    def blocked_without_limit(self) -> bool:
        """Whether the machine blocks typing, and its folder doesn't say how long it may."""
        return self.blocked_by_xoff and not self._machine.limits_xoff

    @property
    def half_standing(self) -> str:
        """What stays half typed because it isn't sure to be cancelled, in words for a person; or ""."""
        return self._keying.half_standing

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
