"""What a step does at the console: types its command or secret where it stands, presses its key, gives up."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping

from exhibit.decisions.commands import Command, Tell
from exhibit.decisions.console.typing_console import TypingConsole
from exhibit.decisions.machine.calendars import DateInDoubt
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.filling import NotKnownYet
from exhibit.decisions.machine.script import PressKey, TypeCommand, TypeSecret
from exhibit.decisions.session.script_run import ScriptRun
from exhibit.decisions.session.typable import text_of, why_not
from exhibit.facts import kinds
from exhibit.facts.errors import ScriptError


class CannotType(Exception):
    """What the step says can't be typed. `told`: what is told of that beside the step's failing."""

    def __init__(self, why: str, told: list[Command] | None = None, *, not_known_yet: bool = False) -> None:
        super().__init__(why)
        self.told = told or []
        self.not_known_yet = not_known_yet
        """It names a number that the machine hasn't given."""


class AtConsole:
    """Types for the steps of one machine's scripts, and knows what stands on its console."""

    def __init__(
        self,
        machine: Machine,
        console: TypingConsole,
        secrets: Mapping[str, str],
        wall_at: Callable[[int], datetime.datetime],
    ) -> None:
        self._machine = machine
        self._console = console
        self._secrets = secrets
        self._wall_at = wall_at

    @property
    def standing(self) -> kinds.LandmarkReached | None:
        """The prompt or display that stands."""
        return self._console.watched.standing

    @property
    def typing(self) -> str:
        """Where the typing of the step's text stands, as `keying` calls it."""
        return self._console.state

    @property
    def why(self) -> str:
        """Why the typing failed."""
        return self._console.why

    @property
    def held(self) -> bool:
        """Whether the machine holds up what is typed."""
        return self._console.held

    @property
    def return_sent(self) -> bool:
        """Whether the machine may have taken what was typed last."""
        return self._console.return_sent

    def last_lines(self) -> list[str]:
        """What was printed last, oldest first."""
        return self._console.watched.last_lines()

    def type_out(self, run: ScriptRun, at_us: int, *, agreed: bool) -> list[Command]:
        """Begins to type what the step says, at its prompt, which stands.

        `agreed`: a person has been asked whether its date may be told. Raises CannotType, and DateInDoubt
        where one must be asked first.
        """
        step = run.step
        try:
            text = text_of(step, self._machine, self._secrets, run.seen, self._wall_at(at_us), agreed=agreed)
        except NotKnownYet as missing:
            raise CannotType(f"{missing}", not_known_yet=True) from missing
        except DateInDoubt:
            raise
        except ScriptError as error:
            raise CannotType(f"{error}") from error
        refused = why_not(text, self._machine, step.lifts) if isinstance(step, TypeCommand) else ""
        if refused:
            raise CannotType(refused, [Tell(fact=kinds.TypingRefused(command=text, why=refused))])
        return self._console.type_command(text, at_us, by=run.by, secret=isinstance(step, TypeSecret))

    def type_anew(self, at_us: int) -> list[Command]:
        """The prompt stands once more after the cancel key: types the same from its beginning."""
        return self._console.type_again(at_us)

    def press(self, step: PressKey, by: str) -> list[Command]:
        """Presses the step's key."""
        return self._console.press(self._machine.keys[step.key], by)

    def give_up(self, at_us: int) -> list[Command]:
        """Throws away what is half typed."""
        return self._console.give_up(at_us)

    def settles_us(self, at_us: int, painted_since_us: int) -> int:
        """When what stands will have settled; at once, `at_us`, where it has, as a prompt that stands has.

        Behind an old frame more comes at once, and a key would go to what stands by then. A display that has
        been painted without a pause for as long as an echo may take never settles, and isn't waited for.
        """
        painted_us = at_us - painted_since_us
        if self._console.watched.prompt is not None or painted_us >= self._machine.typing.echo_within_us:
            return at_us
        return max(at_us, self._console.watched.still_us)

    def quiet_us(self, at_us: int) -> int:
        """When it will have been quiet for so long that nothing we know can be about to stand.

        At once, `at_us`, where it has been so already.
        """
        listen_us = self._machine.typing.echo_within_us
        if self.standing is not None or self._console.watched.settle_due_us is not None:
            return at_us + listen_us
        return max(at_us, self._console.watched.heard_us + listen_us)

    def listen_us(self, at_us: int) -> int:
        """When a step that presses its key where nothing stands has listened long enough."""
        return at_us + self._machine.typing.echo_within_us
