"""Types a command, and sends its RETURN only if the machine echoed the command correctly.

It sends characters until `window` of them lack an echo, then waits for the echo of the first. It sends RETURN
only if the whole command came back right and nothing followed it; RETURN counts as taken when the machine
answers with a new line. If the machine has a key that makes it show its line again, the whole line is
compared once more before RETURN: two faults that hid each other in the echo would have to do so again.

A command that came back wrong is discarded with the machine's cancel key, and typed again when its prompt is
showing again, at most twice. Further attempts send one character at a time, because the machine may have been
too busy to take several. Without a cancel key, or if the machine doesn't show whether it took that key,
nothing more is typed until a person has looked.

A secret must not come back at all: if it does, `withholding` keeps it from the recording and from here, and
only says that it came. Its first character is sent alone, then all the others. The order and the times of
what is decided are the same for every secret, so that no recording tells how long it is.
"""

from __future__ import annotations

from typing import Final

import msgspec

from exhibit.decisions.commands import ECHO, Arm, Command, Drop, Tell, Type
from exhibit.decisions.console import half_typed
from exhibit.decisions.console.attempt import Attempt
from exhibit.decisions.console.flow import MACHINE, Flow
from exhibit.decisions.console.local_echo import local_echo
from exhibit.decisions.console.outcomes import Failed, Keyed, TypingEnd
from exhibit.decisions.console.printed import moves_elsewhere
from exhibit.decisions.console.sending import Sending
from exhibit.decisions.display.wire import Control, Escape, FlowGo, FlowStop, Item, Text
from exhibit.decisions.machine.description import Machine, Typing
from exhibit.facts.kinds import EchoSign, TypingConfirmed
from exhibit.facts.units import S_US

MOST_ATTEMPTS: Final = 3
DEADLINE: Final = ECHO
_LF: Final = 10
LONGEST_PAUSES: Final = 8
"""How many times the pause between two characters can be lengthened to for a machine that falls behind."""
_NOTHING: Final = Keyed(())


class Keying(Sending):
    """Types one command at a time at one machine.

    Pass what the machine sends to `take`. Each method that can end the typing returns how it ended; after
    `CANCELLED`, call `again` once the prompt is showing.
    `settle_us`: how long the line must be quiet after the last echo before RETURN is typed. `flow` knows
    whether the machine blocks typing; `take` and `let_go` pass on to it what it needs.
    """

    def __init__(self, machine: Machine, settle_us: int, flow: Flow) -> None:
        super().__init__(machine, settle_us, flow)
        self._hiding = False
        self._written_elsewhere = False
        """The machine has remembered the cursor's place, writes somewhere else and will come back."""
        """A secret could still come back: no new line has followed RETURN or the cancel key."""
        self._broadcast_us = 0
        """When something was last printed of a broadcast in the middle of the echo."""
        self._signs: set[EchoSign | None] = set()
        """The sign of a local echo in each of the attempts."""

    @property
    def at_rest(self) -> bool:
        """Whether nothing is being typed, nothing hidden, and typing isn't blocked."""
        return self._phase == "idle" and not self._hiding and not self.blocked_by_xoff

    @property
    def prompt_stays(self) -> bool:
        """Whether the machine doesn't print its prompt anew after the cancel key.

        The prompt from before then counts again, because the whole line is shown and checked before RETURN.
        """
        typing = self._typing
        return bool(typing.cancel and typing.show_again) and typing.after_cancel == "nothing"

    @property
    def command(self) -> str:
        """The last command that was begun."""
        return self._command

    def begin(
        self,
        command: str,
        at_us: int,
        *,
        by: str,
        secret: bool = False,
        prompt: str = "",
        typing: Typing | None = None,
    ) -> Keyed:
        """Starts to type the command. Its prompt must have settled; `prompt` is the prompt's line.

        `typing`: how the machine takes what is typed at this prompt, if not as usual.
        """
        self.thrown_away = self.return_sent = False
        if self.half_standing:
            return Keyed((), Failed(self.half_standing))
        self._typing = typing or self._usual.typing
        self._machine = self._usual
        if self._typing is not self._usual.typing:
            self._machine = msgspec.structs.replace(self._usual, typing=self._typing)
        self._command, self._by, self._prompt = command, by, prompt
        self._secret = self._hiding = secret
        self._attempt = Attempt(self._machine, command, prompt, 0, unechoed=False)
        self._signs = set()
        if self.cancel_waits:
            self._stop()
            why = "the machine is blocking typing, and an earlier command still has to be cancelled"
            return Keyed((), Failed(why))
        return Keyed(self.again(at_us))

    @property
    def awaits_new_line(self) -> bool:
        """Whether RETURN has been sent, and the machine hasn't answered it."""
        return self._phase == "awaiting new line"

    def again(self, at_us: int) -> list[Command]:
        """Types the command from its beginning: the prompt is showing, with nothing after it.

        Types nothing while the cancel key still waits for XON: part of the command may be on the console.
        """
        if self.cancel_waits:
            return []
        unechoed = self._secret or self.unproven or self._typing.echo == "none"
        number = self._attempt.number + 1
        self._attempt = Attempt(self._machine, self._command, self._prompt, number, unechoed=unechoed)
        self.return_sent = False
        self._phase = "pacing" if unechoed else "typing"
        return self._type_next(at_us)

    def press(self, key: bytes, by: str) -> list[Command]:
        """Types one key without waiting for anything, and nothing while the machine blocks typing.

        A key kept for later would be sent whenever typing is released, whatever the console shows by then.
        """
        self._by = by
        return [] if self.blocked_by_xoff else [Type(data=key, by=by)]

    def give_up(self) -> list[Command]:
        """Stops typing, with the cancel key if the console may have part of a command on it."""
        commands: list[Command] = [Drop(name=DEADLINE)]
        self.thrown_away = self._phase in ("typing", "checking") and self._attempt.echo.prompt_behind
        if self.thrown_away:
            commands.append(Tell(fact=self._attempt.garbled("", thrown_away=True)))
        elif self.unfinished:
            commands += self._stop_and_cancel()
        self._stop()
        return commands

    def leave_standing(self, typed: str, *, returned: bool) -> list[Command]:
        """Types nothing more, not even the cancel key: what is half typed stays on the console.

        `typed`: what really was, and perhaps RETURN after it. Of what was decided here some may be held back.
        """
        if self.unfinished and (typed or returned):
            came_back = self._attempt.echo.came_back
            what = half_typed.part(typed, came_back, secret=self._secret, returned=returned)
            self.half_standing = half_typed.words(self._typing, what)
        return self.rest()

    def rest(self) -> list[Command]:
        """Types nothing more, even when XON comes; also for a lost line, which makes all of it void."""
        self._waits = ""
        self._stop()
        return [Drop(name=DEADLINE)]

    def take(self, item: Item, at_us: int) -> Keyed:
        """Takes an item that the machine sent while the command was being typed."""
        if isinstance(item, FlowStop):
            if self._phase == "pacing":
                self._pauses = min(LONGEST_PAUSES, 2 * self._pauses)
            if self._phase == "pacing" and self._secret:  # with its deadline, the rest of it would be dropped
                return Keyed(self._flow.take(item, at_us))
            return Keyed([*self._flow.take(item, at_us), Drop(name=DEADLINE)])
        if isinstance(item, FlowGo):
            return Keyed(self.let_go(MACHINE, at_us))
        new_line = isinstance(item, Control) and item.code == _LF
        if (
            isinstance(item, Escape) and item.final in "78"
        ):  # it writes elsewhere, and comes back (DECSC, DECRC)
            self._written_elsewhere = item.final == "7"
        # A machine with a screen may put its answer anywhere.
        jumps = moves_elsewhere(item) and not self._written_elsewhere
        new_line |= self._phase == "awaiting new line" and jumps
        if new_line and self._phase != "pacing":
            self._hiding = False
        if self._phase in ("typing", "checking"):
            return self._take_echo(item, at_us)
        if self._phase == "looking":
            return self._take_look(item, at_us)
        if self._phase != "awaiting new line":
            return _NOTHING
        if not self._attempt.unechoed and (isinstance(item, Text) or self._attempt.echo.aside):
            return self._take_behind_return(item, at_us)
        if new_line:
            command = "" if self._secret else self._command
            self._stop()
            confirmed = TypingConfirmed(command=command, attempts=self._attempt.number)
            return Keyed([Drop(name=DEADLINE), Tell(fact=confirmed)], TypingEnd.CONFIRMED)
        return _NOTHING

    def withheld(self) -> Keyed:
        """The secret that is being typed came back, and was withheld."""
        if not self._secret:
            return _NOTHING
        cancelled = self._stop_and_cancel()
        why = "the machine showed the secret that was being typed"
        why = f"{why}; {self.half_standing}" if self.half_standing else f"{why}, so it was cancelled"
        return Keyed([Drop(name=DEADLINE), *cancelled], Failed(why))

    def overdue(self, at_us: int) -> Keyed:
        """The echo deadline has passed."""
        if self.blocked_by_xoff:
            return _NOTHING
        if self._phase == "pacing":
            return Keyed(self._type_next(at_us))
        if self._phase in ("typing", "checking"):
            return self._echo_overdue(at_us)
        if self._phase == "looking":
            return self._look_overdue(at_us)
        if self._phase == "awaiting new line":
            if (goes_on_us := self._broadcast_until_us) > at_us:
                return Keyed([Arm(name=DEADLINE, due_us=goes_on_us)])
            why = self._not_answered()  # first of all: afterwards a secret is no longer known as one
            cancelled = self._stop_and_cancel()
            why = f"{why}; {self.half_standing}" if self.half_standing else why
            return Keyed(cancelled, Failed(why, may_be_answered=True))
        return _NOTHING

    def _not_answered(self) -> str:
        typed = "a secret" if self._secret else f'"{self._command}"'
        within_s = self._typing.echo_within_us / S_US
        cancelled = ", then the cancel key" if self._typing.cancel else ""
        return (
            f"the machine did not answer RETURN with a new line within {within_s:g} s: {typed} and RETURN "
            f"were typed{cancelled}, and it is not typed again"
        )

    def let_go(self, by: str, at_us: int) -> list[Command]:
        """Releases typing, on XON or because a person says so. Does nothing if it isn't blocked."""
        return [*self._flow.let_go(by, at_us), *self._go_on(at_us)] if self.blocked_by_xoff else []

    # -- the echo -----------------------------------------------------------------------------

    def _take_echo(self, item: Item, at_us: int) -> Keyed:
        echo = self._attempt.echo
        before = echo.read, echo.aside, echo.unsure
        if not echo.take(item, self._attempt.sent):
            return self._came_back_wrong(echo.came_back)
        if echo.aside:
            return self._broadcast_goes_on(item, at_us, begins=not before[1])
        if echo.unsure:
            return Keyed([self._deadline(at_us)]) if isinstance(item, Text | Control) else _NOTHING
        if before == (echo.read, False, False):
            return _NOTHING
        return Keyed(self._went_well(at_us))

    def _take_behind_return(self, item: Item, at_us: int) -> Keyed:
        """The machine prints before the new line that answers RETURN: only a broadcast may do so."""
        echo = self._attempt.echo
        begins = not echo.aside
        if not echo.take(item, self._attempt.sent):
            more = "after RETURN the machine showed more than was typed"
            return self._came_back_wrong(echo.came_back, final=more)
        return self._broadcast_goes_on(item, at_us, begins=begins)

    def _broadcast_goes_on(self, item: Item, at_us: int, *, begins: bool) -> Keyed:
        """Each line of a broadcast gets the full time again, and a slow line more (`overdue`)."""
        self._broadcast_us = at_us
        ended = isinstance(item, Control) and item.code == _LF
        return Keyed([self._deadline(at_us)]) if ended or begins else _NOTHING

    @property
    def _broadcast_until_us(self) -> int:
        """When a broadcast that is being printed will have been silent for as long as an echo can take."""
        return self._broadcast_us + self._typing.echo_within_us if self._attempt.echo.aside else 0

    def _went_well(self, at_us: int) -> list[Command]:
        """Everything has come back right so far: continues typing."""
        if not self._attempt.came_back_whole:
            self._phase = "typing"
            return self._type_next(at_us)
        self._phase = "checking"
        return [self._deadline(at_us)]

    def _echo_overdue(self, at_us: int) -> Keyed:
        echo = self._attempt.echo
        if (goes_on_us := self._broadcast_until_us) > at_us:
            return Keyed([Arm(name=DEADLINE, due_us=goes_on_us)])
        if echo.unsure and echo.quiet():
            return Keyed(self._went_well(at_us))
        if echo.unsure or self._phase == "typing" or echo.aside:
            return self._came_back_wrong(echo.came_back)
        return Keyed(self._look_again(at_us))

    def _take_look(self, item: Item, at_us: int) -> Keyed:
        look = self._attempt.look
        assert look is not None
        was_whole = look.whole
        if not look.take(item):
            return self._looked_wrong()
        return Keyed([self._deadline(at_us)]) if look.whole or was_whole else _NOTHING

    def _look_overdue(self, at_us: int) -> Keyed:
        look = self._attempt.look
        assert look is not None
        return Keyed(self._type_return(at_us)) if look.whole else self._looked_wrong()

    def _looked_wrong(self) -> Keyed:
        look = self._attempt.look
        assert look is not None
        taken = ""
        if look.may_be_taken:
            taken = "the machine was asked to show the line again, but may have taken the command instead"
            self.return_sent = True
        return self._came_back_wrong(look.came_back, final=taken)

    def _came_back_wrong(self, came_back: str, final: str = "") -> Keyed:
        """Cancels the command. `final`: why it must not be typed again; empty if it can be.

        It isn't cancelled if the machine has thrown it away itself and printed its prompt again.
        """
        self.thrown_away = self._phase in ("typing", "checking") and self._attempt.echo.prompt_behind
        returned = self._phase == "awaiting new line"
        garbled = self._attempt.garbled(came_back, thrown_away=self.thrown_away, returned=returned)
        self._signs.add(self._attempt.sign_of_local_echo(came_back))
        if not final and self._attempt.number == MOST_ATTEMPTS:
            final = f"it came back wrong {MOST_ATTEMPTS} times, so it is not typed again"
        commands: list[Command] = [Drop(name=DEADLINE), Tell(fact=garbled)]
        if final and len(self._signs) == 1:
            commands += [Tell(fact=local_echo(sign)) for sign in self._signs if sign]
        if self.thrown_away:
            self._stop()
        else:
            commands += self._stop_and_cancel(came_back)
        if self.half_standing:
            final = f"{final}; {self.half_standing}" if final else self.half_standing
        return Keyed(commands, Failed(final) if final else TypingEnd.CANCELLED)
