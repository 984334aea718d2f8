"""Types a command so that nothing is sent which the machine didn't take as meant.

Up to `window` characters are on their way at a time; the echo of the first of them is awaited before the next
one is typed. RETURN goes out only behind a command that came back right and behind which nothing else
came, and counts as taken when the machine answers it with a new line. Where the machine has a key
that makes it show its line again, the whole line is looked at once more before RETURN: two faults that
hid each other in the echo would have to do so a third time.

A command that came back wrong is thrown away with the machine's cancel key and typed again when its prompt
stands again, at most twice. What was once tried in vain is typed one character at a time: the
machine may have been too busy to take several.

A secret must not come back at all. From its first character on, whatever the machine prints is
withheld from the record, and from the decisions too, which only learn that something came.
"""

from __future__ import annotations

from typing import Final, Literal

from exhibit.decisions.commands import Arm, Command, Drop, Tell, Type
from exhibit.decisions.console.echo import Echo, SecondLook
from exhibit.decisions.console.flow import MACHINE, Flow
from exhibit.decisions.console.local_echo import local_echo, sign_in
from exhibit.decisions.display.wire import Control, FlowGo, FlowStop, Item, Text
from exhibit.decisions.machine.description import Machine
from exhibit.facts.kinds import EchoSign, TypingConfirmed, TypingGarbled

MOST_ATTEMPTS: Final = 3
DEADLINE: Final = "echo"
_LF: Final = 10
LONGEST_PAUSES: Final = 8
"""A machine that falls behind is given up to so many times the pause between two characters."""

State = Literal[
    "idle",
    "typing",
    "pacing",
    "checking",
    "looking",
    "awaiting new line",
    "cancelled",
    "confirmed",
    "failed",
]
_BUSY: Final = ("typing", "pacing", "checking", "looking", "awaiting new line")


class Keying:
    """Types one command at a time at one machine.

    `state` says where it stands; at "confirmed" and "failed" whoever asked for the command takes
    over. At "cancelled" it waits to be told by `again` that the prompt stands once more.
    `settle_us`: how long nothing may have come behind the last echo before RETURN is typed. `flow` knows
    whether the machine holds up what is typed; it is told of what comes by `take` and `let_go` here.
    """

    def __init__(self, machine: Machine, settle_us: int, flow: Flow) -> None:
        self._machine = machine
        self._typing = machine.typing
        self._settle_us = settle_us
        self._flow = flow
        self._by = ""
        self._command = ""
        self._prompt = ""
        self._secret = False
        self._sent = 0
        """How many characters have gone out."""
        self._attempt = 0
        self._echo = Echo(machine, "", "")
        self._look: SecondLook | None = None
        self._pauses = 1
        """How many times the usual pause is left after a character that isn't echoed."""
        self.return_sent = False
        """RETURN went out behind the command that was begun last: the machine may have taken it."""
        self._waits: Literal["", "next", "cancel"] = ""
        """What goes out when XON comes: the next character, or the cancel key."""
        self._hiding = False
        self.unproven = False
        """What comes back isn't the machine's own: from the next command on it doesn't count."""
        self._unechoed = False
        self._signs: set[EchoSign | None] = set()
        """What there was of a local echo in each of the attempts."""
        self.state: State = "idle"
        self.why = ""

    @property
    def unfinished(self) -> bool:
        """Whether part of a command may stand on the console, or a RETURN that wasn't answered."""
        return self.state in _BUSY and (self._sent > 0 or self.state == "awaiting new line")

    @property
    def at_rest(self) -> bool:
        """Whether nothing is being typed, hidden or held."""
        return self.state not in _BUSY and not self._hiding and not self.held

    @property
    def held(self) -> bool:
        """Whether the machine holds up what is typed: it has sent XOFF, and no XON since."""
        return self._flow.held

    @property
    def cancel_held(self) -> bool:
        """Whether the cancel key is to go out as soon as the machine lets go."""
        return self._waits == "cancel"

    @property
    def command(self) -> str:
        """What was begun to be typed last."""
        return self._command

    @property
    def hides(self) -> bool:
        """Whether what the machine prints now might be part of a secret.

        From a secret's first character until the machine starts a new line after its RETURN or, when
        it was given up, after the cancel key. A new line that comes sooner is a broadcast's.
        """
        return self._hiding

    def begin(
        self, command: str, at_us: int, *, by: str, secret: bool = False, prompt: str = ""
    ) -> list[Command]:
        """Starts to type the command. Its prompt must stand and have settled; `prompt` is its line."""
        self._command, self._by, self._prompt = command, by, prompt
        self._secret = self._hiding = secret
        self._attempt = 0
        self._signs = set()
        self.why = ""
        if self.cancel_held:
            self._stop("failed")
            self.why = "the machine holds up what is typed, and an earlier command is still to be cancelled"
            return []
        return self.again(at_us)

    def again(self, at_us: int) -> list[Command]:
        """Types the command from its beginning: the prompt stands, nothing stands behind it.

        Nothing is typed while the cancel key is still held up: part of the command may stand there.
        """
        if self.cancel_held:
            return []
        self._attempt += 1
        self._sent = 0
        self._echo = Echo(self._machine, self._command, self._prompt)
        self._look = None
        self.return_sent = False
        self._unechoed = self._secret or self.unproven or self._typing.echo == "none"
        self.state = "pacing" if self._unechoed else "typing"
        return self._type_next(at_us)

    def press(self, key: bytes, by: str) -> list[Command]:
        """Types one key, without waiting for anything; none while the machine holds up what is typed.

        Later it would go out whenever the machine lets go, whatever stands there then.
        """
        self._by = by
        return [] if self.held else [Type(data=key, by=by)]

    def give_up(self) -> list[Command]:
        """Stops typing, with the cancel key if part of a command may stand on the console."""
        unfinished = self.unfinished
        self._stop("idle")
        return [Drop(name=DEADLINE), *(self._cancel() if unfinished else [])]

    def rest(self) -> list[Command]:
        """Nothing more is to be typed, also when XON comes; or the line went away, and nothing counts."""
        self._waits = ""
        self._stop("idle")
        return [Drop(name=DEADLINE)]

    def take(self, item: Item, at_us: int) -> list[Command]:
        """What the machine sent while the command was being typed."""
        if isinstance(item, FlowStop):
            if self.state == "pacing":
                self._pauses = min(LONGEST_PAUSES, 2 * self._pauses)
            return [*self._flow.take(item, at_us), Drop(name=DEADLINE)]
        if isinstance(item, FlowGo):
            return self.let_go(MACHINE, at_us)
        new_line = isinstance(item, Control) and item.code == _LF
        if new_line and self.state != "pacing":
            self._hiding = False
        if self.state in ("typing", "checking"):
            return self._take_echo(item, at_us)
        if self.state == "looking":
            return self._take_look(item, at_us)
        if self.state != "awaiting new line":
            return []
        if new_line:
            command = "" if self._secret else self._command
            self._stop("confirmed")
            confirmed = TypingConfirmed(command=command, attempts=self._attempt)
            return [Drop(name=DEADLINE), Tell(fact=confirmed)]
        if isinstance(item, Text) and not self._unechoed:
            more = "after RETURN the machine showed more than was typed"
            return self._came_back_wrong(self._echo.came_back + item.text, final=more)
        return []

    def withheld(self) -> list[Command]:
        """Something came that was withheld. While a secret is being typed, it is its echo."""
        if not self._secret:
            return []
        self._stop("failed")
        self.why = "the machine showed the secret that was being typed, so it was cancelled"
        return [Drop(name=DEADLINE), *self._cancel()]

    def overdue(self, at_us: int) -> list[Command]:
        """The echo deadline has passed."""
        if self.held:
            return []
        if self.state == "pacing":
            return self._type_next(at_us)
        if self.state in ("typing", "checking"):
            return self._echo_overdue(at_us)
        if self.state == "looking":
            return self._look_overdue(at_us)
        if self.state == "awaiting new line":
            self._stop("failed")
            self.why = "the machine did not answer RETURN with a new line"
            return self._cancel()
        return []

    def _take_echo(self, item: Item, at_us: int) -> list[Command]:
        echo = self._echo
        before = echo.read, echo.aside, echo.unsure
        if not echo.take(item, self._sent):
            return self._came_back_wrong(echo.came_back)
        if echo.aside:
            # Each of a broadcast's lines has its time.
            ended = isinstance(item, Control) and item.code == _LF
            return [self._deadline(at_us)] if ended or not before[1] else []
        if echo.unsure:
            return [self._deadline(at_us)] if isinstance(item, Text | Control) else []
        if before == (echo.read, False, False):
            return []
        return self._went_well(at_us)

    def _went_well(self, at_us: int) -> list[Command]:
        """What has come back so far is right: goes on typing."""
        if self._echo.read < len(self._command):
            self.state = "typing"
            return self._type_next(at_us)
        self.state = "checking"
        return [self._deadline(at_us)]

    def _echo_overdue(self, at_us: int) -> list[Command]:
        echo = self._echo
        if echo.unsure:
            return self._went_well(at_us) if echo.quiet() else self._came_back_wrong(echo.came_back)
        if self.state == "typing" or echo.aside:
            return self._came_back_wrong(echo.came_back)
        return self._look_again(at_us)

    def _look_again(self, at_us: int) -> list[Command]:
        """Looks at the whole line once more before RETURN, where that can be done."""
        if self._secret or not self._command or not self._typing.show_again:
            return self._type_return(at_us)
        self.state, self._look = "looking", SecondLook(self._machine, self._command, self._prompt)
        return [Type(data=self._typing.show_again, by=self._by), self._deadline(at_us)]

    def _take_look(self, item: Item, at_us: int) -> list[Command]:
        assert self._look is not None
        was_whole = self._look.whole
        if not self._look.take(item):
            return self._looked_wrong()
        return [self._deadline(at_us)] if self._look.whole or was_whole else []

    def _look_overdue(self, at_us: int) -> list[Command]:
        assert self._look is not None
        return self._type_return(at_us) if self._look.whole else self._looked_wrong()

    def _looked_wrong(self) -> list[Command]:
        assert self._look is not None
        taken = ""
        if self._look.may_be_taken:
            taken = "the machine was asked to show the line again, and may have taken the command instead"
            self.return_sent = True
        return self._came_back_wrong(self._look.came_back, final=taken)

    def _type_next(self, at_us: int) -> list[Command]:
        """Types as many characters as may be on their way; behind the last, where no echo comes, goes on."""
        if self.held:
            self._waits = "next"
            return []
        if self._sent == len(self._command) and (self._unechoed or not self._command):
            return self._look_again(at_us)
        behind = self._window + (self._sent if self._unechoed else self._echo.read)
        typed: list[Command] = []
        while self._sent < min(len(self._command), behind):
            data = self._command[self._sent].encode("latin-1")
            self._sent += 1
            typed.append(Type(data=data, by=self._by, secret=self._secret))
        return [*typed, self._deadline(at_us)]

    @property
    def _window(self) -> int:
        return 1 if self._unechoed or self._attempt > 1 else self._typing.window

    def _type_return(self, at_us: int) -> list[Command]:
        self.state, self.return_sent = "awaiting new line", True
        return [Type(data=self._typing.return_key, by=self._by), self._deadline(at_us)]

    def let_go(self, by: str, at_us: int) -> list[Command]:
        """XON, or a person in its stead. Nothing happens where typing isn't held up."""
        return [*self._flow.let_go(by, at_us), *self._go_on(at_us)] if self.held else []

    def _go_on(self, at_us: int) -> list[Command]:
        """Types what has waited for XON; what was being waited for has its time again."""
        waited, self._waits = self._waits, ""
        if waited == "cancel":
            return self._cancel()
        if waited == "next":
            return self._type_next(at_us)
        return [self._deadline(at_us)] if self.state in _BUSY else []

    def _deadline(self, at_us: int) -> Arm:
        wait_us = self._typing.echo_within_us
        settling = self.state == "checking" or self._echo.unsure
        if self.state == "looking":
            settling = self._look is not None and self._look.whole
        if self.state in ("typing", "checking", "looking") and settling and not self._echo.aside:
            wait_us = self._settle_us
        # The first character of a secret waits as long as an echo may take; the rest needn't.
        elif self.state == "pacing" and not (self._secret and self._sent == 1):
            # A machine that would echo has taken a character at the latest when its echo would have come.
            pause_us = self._typing.pause_after_us
            wait_us = (pause_us or (self._typing.echo_within_us if self.unproven else 0)) * self._pauses
        return Arm(name=DEADLINE, due_us=at_us + wait_us)

    def _came_back_wrong(self, came_back: str, final: str = "") -> list[Command]:
        garbled = TypingGarbled(
            command=self._command,
            expected=self._echo.expected[: self._sent],
            came_back=came_back,
            attempt=self._attempt,
            new_line=self._echo.new_line or (self._look is not None and self._look.may_be_taken),
        )
        self._signs.add(sign_in(self._command[: self._sent], self._echo.expected[: self._sent], came_back))
        failed = final or self._attempt == MOST_ATTEMPTS
        self._stop("failed" if failed else "cancelled")
        self.why = final or f"it came back wrong {MOST_ATTEMPTS} times and was cancelled each time"
        told: list[Command] = [Tell(fact=garbled)]
        if failed and len(self._signs) == 1:
            told += [Tell(fact=local_echo(sign)) for sign in self._signs if sign]
        return [Drop(name=DEADLINE), *told, *self._cancel()]

    def _stop(self, state: State) -> None:
        self.state = state
        if not self.cancel_held:
            self._waits = ""
        if state != "cancelled":
            self._secret = False

    def _cancel(self) -> list[Command]:
        if self.held:
            self._waits = "cancel"
            return []
        return [Type(data=self._typing.cancel, by=self._by)]
