"""What a step does at the console: waits for its prompt, then types its command or presses its key."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from typing import Final, Literal

from exhibit.decisions.commands import Arm, Command, Drop, Tell
from exhibit.decisions.console.outcomes import Failed, Keyed, Skipped, Stepped, TypingEnd
from exhibit.decisions.console.typing_console import TypingConsole
from exhibit.decisions.machine.calendars import DateInDoubt
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.filling import NotKnownYet
from exhibit.decisions.machine.script import PressKey, ReadDisplay, TypeCommand, TypeSecret
from exhibit.decisions.session.late import Lateness
from exhibit.decisions.session.script_run import ScriptRun, at_of, within_of
from exhibit.decisions.session.states import Progress
from exhibit.decisions.session.typable import text_of, why_not
from exhibit.facts import kinds
from exhibit.facts.errors import ScriptError
from exhibit.facts.units import MIN_US

STEP: Final = "step"
LISTEN: Final = "listen"
"""The names of a step's deadlines."""
ASKED_US: Final = 10 * MIN_US
"""How long a person has to say whether a date may be typed."""
NOTHING: Final = Stepped(())


class _CannotType(Exception):
    """The step's command can't be typed. `facts`: what to record about that besides the step's failure."""

    def __init__(self, why: str, facts: list[Command] | None = None, *, not_known_yet: bool = False) -> None:
        super().__init__(why)
        self.facts = facts or []
        self.not_known_yet = not_known_yet
        """The command names a number that the machine hasn't printed yet."""


class AtConsole:
    """The part of a step in the states "at prompt" and "typing".

    `wall_at` returns the date and time at a time on the recording's clock.
    """

    def __init__(
        self,
        machine: Machine,
        console: TypingConsole,
        progress: Progress,
        secrets: Mapping[str, str],
        wall_at: Callable[[int], datetime.datetime],
    ) -> None:
        self._machine = machine
        self._console = console
        self._watched = console.watched
        self._progress = progress
        self._secrets = secrets
        self._wall_at = wall_at
        self._begun: ScriptRun | None = None
        self._date: Literal["", "asked", "agreed"] = ""
        """Whether a person was asked about the step's date, and has agreed to it."""
        self.cancelled = False
        """The command came back wrong; it is typed again once the prompt is showing."""
        self._standing_since_us: int | None = None
        """Since when the prompt or display has been showing at which the step presses its key."""
        self.waits_for_xon = False
        """The step would type now if the machine didn't block typing."""

    def begin_step(self, run: ScriptRun, lateness: Lateness) -> None:
        """Prepares for the step at which the run is."""
        self._lateness = lateness
        self._begun, self._date, self._standing_since_us = run, "", None
        self.cancelled = self.waits_for_xon = False

    @property
    def asks_about_date(self) -> bool:
        """Whether a person was asked about the step's date, and hasn't agreed yet."""
        return self._date == "asked"

    def want_prompt(self, at_us: int) -> Stepped:
        """Waits for the step's prompt or, for a key at no particular prompt, until the line is quiet."""
        if missing := self._run.missing_for_good:
            return Stepped((), Skipped(self._run.skip_unknown(missing)))
        wanted = self.act_or_wait(at_us)
        if at_of(self._run.step):
            return wanted
        return wanted.after(Arm(name=LISTEN, due_us=at_us + self._machine.longest_echo_us))

    def act_or_wait(self, at_us: int) -> Stepped:
        """Types what the step says if its prompt is showing; otherwise keeps waiting."""
        run, standing = self._run, self._watched.standing
        step = run.step
        if standing is None:
            return NOTHING
        if run.tidying and run.was_done():
            return Stepped((), Skipped("it was done before"))
        if standing.landmark not in at_of(step):
            elsewhere = run.skipped_elsewhere
            return Stepped((), Skipped(run.skip_at(standing.landmark))) if elsewhere else NOTHING
        if self._must_wait_for_xon():
            return NOTHING
        if (doubt := self._in_doubt(standing, at_us)) is not None:
            return doubt
        return self._press_when_settled(step, at_us) if isinstance(step, PressKey) else self._type(at_us)

    def _in_doubt(self, standing: kinds.LandmarkReached, at_us: int) -> Stepped | None:
        """While the machine may keep an unanswered key: waits until it would have taken it, or fails."""
        quiet_us = self._watched.heard_us + self._console.doubt_us
        if not self._console.doubt_us or self._watched.prompt is None:
            return None
        if at_us < quiet_us:
            return Stepped([Arm(name=LISTEN, due_us=quiet_us)])
        kind = next((p.kind for p in self._machine.prompts if p.name == standing.landmark), "")
        if kind == "question" and not self._console.person_there:
            why = f"nothing answered the key that was typed before, so it may answer {standing.landmark}"
            return Stepped((), Failed(f"{why}: look at what the machine has taken, then say go on"))
        return None

    def why_not_here(self, at_us: int) -> str:
        """Why the step must not type where the console is, although a person says so; empty if it may."""
        step, standing = self._run.step, self._watched.standing
        if not isinstance(step, TypeCommand):
            return "only a command is typed at a prompt that isn't recognised, never a secret or a key"
        if standing is not None:
            return f"the console shows {standing.landmark}, which is another prompt or display"
        if not self._watched.current_line().strip():
            return "the machine has printed nothing at whose end something could be typed"
        if self._console.blocked_by_xoff:
            return "the machine blocks typing"
        return "" if self._watched.still_us <= at_us else "the machine is still printing"

    def type_here(self, at_us: int) -> Stepped:
        """A person says that the console shows the step's prompt: types there."""
        if self._run.tidying and self._run.was_done():
            return Stepped((), Skipped("it was done before"))
        return self._type(at_us, self._watched.current_line()).after(limit(self._run, at_us))

    def type_again(self, landmark: str, at_us: int) -> Stepped:
        """After the cancel key the console shows this landmark: types again if it is the step's prompt."""
        if not self.cancelled:
            return NOTHING
        if landmark not in at_of(self._run.step):
            return Stepped((), Failed(f"after the cancel key, the console showed {landmark}"))
        if self._must_wait_for_xon():
            return NOTHING
        self.cancelled = False
        return Stepped([limit(self._run, at_us), *self._console.type_again(at_us)])

    def typing_ended(self, end: TypingEnd | Failed | None) -> Stepped:
        """The typing of the step's command has ended like this; None: it continues."""
        match end:
            case TypingEnd.CONFIRMED:
                self._progress.go("the machine took it")
            case TypingEnd.CANCELLED:
                self.cancelled = True
            case Failed():
                return Stepped((), end)
        return NOTHING

    def xon_came(self) -> bool:
        """Whether the step was waiting for XON and no longer is. The caller must then have it act."""
        came = self.waits_for_xon and not self._console.blocked_by_xoff
        self.waits_for_xon &= not came
        return came

    def give_up(self, at_us: int) -> list[Command]:
        """Cancels a half-typed command."""
        self.cancelled = False
        return self._console.give_up(at_us)

    # -- a command or a secret ----------------------------------------------------------------

    def _type(self, at_us: int, at_line: str = "") -> Stepped:
        """`at_line`: types at the end of this line, for want of a known prompt."""
        try:
            typed = self._type_out(at_us, at_line)
        except DateInDoubt as doubt:
            return self._ask_about_date(doubt, at_us)
        except _CannotType as cannot:
            if cannot.not_known_yet and self._run.tidying:
                return Stepped((), Skipped(self._run.skip_unknown(f"{cannot}")))
            why = f"the machine never gave {cannot}" if cannot.not_known_yet else f"{cannot}"
            return Stepped(cannot.facts, Failed(why))
        self.cancelled = False
        self._progress.go("the prompt is showing")
        return self.typing_ended(typed.end).after(*typed.commands)

    def _type_out(self, at_us: int, at_line: str) -> Keyed:
        run, agreed = self._run, self._date == "agreed"
        step = run.step
        try:
            text = text_of(step, self._machine, self._secrets, run.seen, self._wall_at(at_us), agreed=agreed)
        except NotKnownYet as missing:
            raise _CannotType(f"{missing}", not_known_yet=True) from missing
        except DateInDoubt:
            raise
        except ScriptError as error:
            raise _CannotType(f"{error}") from error
        refused = why_not(text, self._machine, step.lifts) if isinstance(step, TypeCommand) else ""
        if refused:
            raise _CannotType(refused, [Tell(fact=kinds.TypingRefused(command=text, why=refused))])
        return self._console.type_command(
            text, at_us, by=run.by, secret=isinstance(step, TypeSecret), at_line=at_line
        )

    def _must_wait_for_xon(self) -> bool:
        """Whether typing is blocked: what is typed now would be sent later, whatever is showing by then."""
        self.waits_for_xon = self._console.blocked_by_xoff
        return self.waits_for_xon

    def _ask_about_date(self, doubt: DateInDoubt, at_us: int) -> Stepped:
        if self._run.tidying:
            return Stepped((), Failed(f"{doubt.what} A tidy-up doesn't ask anybody"))
        self._progress.go("a person is asked about the date")
        self._date = "asked"
        then = self._lateness.for_a_person
        asked = kinds.HandsOnAsked(**self._run.where, words=doubt.words, caution={}, panel=[], late=then)
        return Stepped([self.time_for_a_person(at_us), Tell(fact=asked)])

    def time_for_a_person(self, at_us: int) -> Arm:
        """The deadline for a person's answer, counted from now: the step's own, or that of a date."""
        return Arm(name=STEP, due_us=at_us + ASKED_US) if self._date == "asked" else limit(self._run, at_us)

    def agree_to_date(self, at_us: int) -> Stepped:
        """A person agrees to the date."""
        self._date = "agreed"
        self._progress.go("a person agreed to the date")
        return self.act_or_wait(at_us).after(limit(self._run, at_us))

    # -- a key --------------------------------------------------------------------------------

    def listened(self, at_us: int) -> Stepped:
        """The time to listen before a key is pressed is over."""
        step = self._run.step
        if not isinstance(step, PressKey):
            return self.act_or_wait(at_us) if self._console.doubt_us else NOTHING
        if at_of(step):
            return self.act_or_wait(at_us)
        if self._must_wait_for_xon():
            return NOTHING
        return self._press_at(self._quiet_us(at_us), step, at_us)

    def _press_when_settled(self, step: PressKey, at_us: int) -> Stepped:
        """Presses the key once nothing more is about to be printed.

        A prompt that is showing has already settled. But the rest of the output can follow a display's frame
        at once, and the key would then answer whatever that is. A display that has been painted without
        a pause for as long as an echo can take won't settle, so this doesn't wait for it.
        """
        if self._standing_since_us is None:
            self._standing_since_us = at_us
        painted_us = at_us - self._standing_since_us
        settled = self._watched.prompt is not None or painted_us >= self._machine.longest_echo_us
        return self._press_at(at_us if settled else self._watched.still_us, step, at_us)

    def _quiet_us(self, at_us: int) -> int:
        """When the line will have been quiet for so long that no known prompt can be about to settle."""
        listen_us = self._machine.longest_echo_us
        if self._watched.standing is not None or self._watched.settle_due_us is not None:
            return at_us + listen_us
        return self._watched.heard_us + listen_us

    def _press_at(self, due_us: int, step: PressKey, at_us: int) -> Stepped:
        """Presses the key if this time has come; otherwise waits for it."""
        if due_us > at_us:
            return Stepped([Arm(name=LISTEN, due_us=due_us)])
        if self._console.half_standing:
            return Stepped((), Failed(self._console.half_standing))
        self._progress.go("a key is pressed")
        pressed = self._console.press(self._machine.keys[step.key], self._run.by)
        return Stepped([Drop(name=LISTEN), *pressed])

    # -- a damaged display --------------------------------------------------------------------

    def listen_for_damage(self, at_us: int) -> list[Command]:
        """Arms the deadline after which to look whether the display that the step reads was damaged."""
        if not self._paint_key:
            return []
        return [Arm(name=LISTEN, due_us=at_us + self._machine.longest_echo_us)]

    def paint_again(self, at_us: int) -> Stepped:
        """Presses the key that has the step's display painted anew, once, if it is known but was damaged."""
        step, watched, key = self._run.step, self._watched, self._paint_key
        quiet = at_us >= watched.heard_us + self._machine.longest_echo_us
        damaged = isinstance(step, ReadDisplay) and watched.damaged_display == step.display
        if not (damaged and quiet) or self._console.blocked_by_xoff or self._console.half_standing:
            return Stepped(self.listen_for_damage(at_us))
        # Pressing it makes the display unknown until it has been painted whole, so this happens only once.
        return Stepped(self._console.press(key, self._run.by))

    @property
    def _paint_key(self) -> bytes:
        """The key that has the display painted anew that the step reads; empty if there is none."""
        name = self._run.step.display if isinstance(self._run.step, ReadDisplay) else ""
        return next((one.paint_again for one in self._machine.displays if one.name == name), b"")

    @property
    def _run(self) -> ScriptRun:
        assert self._begun is not None, "no step was begun"
        return self._begun


def limit(run: ScriptRun, at_us: int) -> Arm:
    """The deadline of the running step, counted from now."""
    return Arm(name=STEP, due_us=at_us + within_of(run.step))
