"""Sends the characters of a command, its RETURN and the cancel key, each when the machine allows it.

While the machine blocks typing, the next character or the cancel key waits for XON. Only `keying` imports
this: it compares what comes back, and so decides whether sending may go on.
"""

from __future__ import annotations

from typing import Literal

from exhibit.decisions.commands import ECHO, SECRET_CHARACTERS, Arm, Command, Type
from exhibit.decisions.console import half_typed
from exhibit.decisions.console.attempt import Attempt
from exhibit.decisions.console.flow import Flow
from exhibit.decisions.machine.description import Machine


class Sending:
    """What is sent of one command at a time at one machine, and what of it may stay half typed.

    `Keying` sets which command and which attempt it is, and in what phase.
    """

    def __init__(self, machine: Machine, settle_us: int, flow: Flow) -> None:
        self._usual = machine
        self._machine = machine
        """The machine as it takes what is typed at the present prompt."""
        self._typing = machine.typing
        self._settle_us = settle_us
        self._flow = flow
        self._by = ""
        self._command = ""
        self._prompt = ""
        self._secret = False
        self._attempt = Attempt(machine, "", "", 0, unechoed=False)
        self._pauses = 1
        """By how many times the pause after a character without an echo is lengthened now."""
        self.return_sent = False
        """RETURN was sent for the last command, so the machine may have taken it."""
        self._waits: Literal["", "next", "cancel"] = ""
        """What to send when XON comes: the next character, or the cancel key."""
        self.half_standing = ""
        """What stays half typed, in words for a person, because nothing is sure to have cancelled it.

        Empty if nothing does. While it isn't, no command is typed.
        """
        self.thrown_away = False
        """The machine threw the last command away and printed its prompt again, so it isn't cancelled."""
        self.unproven = False
        """The echo isn't the machine's own: from the next command on it counts for nothing."""
        self._phase: Literal["idle", "typing", "pacing", "checking", "looking", "awaiting new line"] = "idle"

    @property
    def unfinished(self) -> bool:
        """Whether the console may have part of a command on it, or a RETURN may be unanswered."""
        return self._phase != "idle" and (self._attempt.sent > 0 or self._phase == "awaiting new line")

    @property
    def blocked_by_xoff(self) -> bool:
        """Whether the machine blocks typing: it has sent XOFF, and no XON since."""
        return self._flow.blocked_by_xoff

    @property
    def cancel_waits(self) -> bool:
        """Whether the cancel key waits to be sent as soon as typing is no longer blocked."""
        return self._waits == "cancel"

    def _look_again(self, at_us: int) -> list[Command]:
        """Has the machine show the whole line again before RETURN, if it can; otherwise types RETURN."""
        if self._secret or not self._command or not self._typing.show_again:
            return self._type_return(at_us)
        self._attempt.look_again()
        self._phase = "looking"
        return [Type(data=self._typing.show_again, by=self._by), self._deadline(at_us)]

    def _type_next(self, at_us: int) -> list[Command]:
        """Sends the characters that the window allows; if no more echo is needed, continues to RETURN."""
        if self.blocked_by_xoff:
            self._waits = "next"
            return []
        if self._secret:
            return self._type_secret(at_us)
        if self._attempt.needs_no_more_echo:
            return self._look_again(at_us)
        characters = self._attempt.send_next()
        typed = [Type(data=character, by=self._by) for character in characters]
        return [*typed, self._deadline(at_us)]

    def _type_secret(self, at_us: int) -> list[Command]:
        """Types the secret's first character, then the rest of it, then RETURN."""
        part = self._attempt.next_of_secret()
        if part is None:
            return self._type_return(at_us)
        typed = Type(data=part, by=self._by, secret=True, pause_us=self._pause_us)
        # After its first character wait as long as an echo can take, to see that none comes.
        first = self._attempt.secret_parts == 1
        wait_us = self._typing.echo_within_us if first else SECRET_CHARACTERS * self._pause_us
        return [typed, Arm(name=ECHO, due_us=at_us + wait_us)]

    @property
    def _pause_us(self) -> int:
        """The pause after each character of a secret."""
        return int(max(self._typing.pause_after_us, self._machine.line.char_us)) * self._pauses

    def _type_return(self, at_us: int) -> list[Command]:
        self._phase, self.return_sent = "awaiting new line", True
        return [Type(data=self._typing.return_key, by=self._by), self._deadline(at_us)]

    def _go_on(self, at_us: int) -> list[Command]:
        """Typing is released: sends what waited for XON, or restarts the deadline that XOFF dropped."""
        waited, self._waits = self._waits, ""
        if waited == "cancel":
            return self._cancel()
        if waited == "next":
            return self._type_next(at_us)
        return [self._deadline(at_us)] if self._phase != "idle" else []

    def _deadline(self, at_us: int) -> Arm:
        wait_us, phase, attempt = self._typing.echo_within_us, self._phase, self._attempt
        settling = phase == "checking" or attempt.settles
        if phase in ("typing", "checking", "looking") and settling and not attempt.echo.aside:
            wait_us = self._settle_us
        elif phase == "pacing" and self._secret:
            wait_us = max(wait_us, SECRET_CHARACTERS * self._pause_us)
        elif phase == "pacing":
            # A machine that echoes has taken a character by the time its echo would have arrived.
            pause_us = self._typing.pause_after_us
            wait_us = (pause_us or (self._typing.echo_within_us if self.unproven else 0)) * self._pauses
        return Arm(name=ECHO, due_us=at_us + wait_us)

    def _stop_and_cancel(self, came_back: str = "") -> list[Command]:
        """Stops typing and cancels what the console may have of the command, if the machine can do that."""
        what = half_typed.part(
            self._command[: self._attempt.sent],
            came_back or self._attempt.echo.came_back,
            secret=self._secret,
            returned=self._phase == "awaiting new line",
        )
        self.thrown_away = False
        self.half_standing = half_typed.words(self._typing, what)
        self._stop()
        return self._cancel() if self._typing.cancel else []

    def _stop(self) -> None:
        self._phase, self._secret = "idle", False
        if not self.cancel_waits:
            self._waits = ""

    def _cancel(self) -> list[Command]:
        if self.blocked_by_xoff:
            self._waits = "cancel"
            return []
        return [Type(data=self._typing.cancel, by=self._by)]
