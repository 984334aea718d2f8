"""Runs one step of a script: from where it may act to what it waits for.

Where it can stand, and what moves it on, is the table in `session_states`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Literal

from exhibit.decisions.commands import Arm, Command, Drop, Tell
from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.machine.calendars import DateInDoubt
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import (
    CheckPack,
    GiveCaption,
    HandsOn,
    Pause,
    PressKey,
    ReadDisplay,
    Wait,
)
from exhibit.decisions.session import late
from exhibit.decisions.session.at_console import AtConsole, CannotType
from exhibit.decisions.session.by_hand import answer_to, mounted
from exhibit.decisions.session.script_run import ScriptRun, at_of, until_of, within_of
from exhibit.decisions.session.states import WAITS_ON, Progress, State
from exhibit.facts import kinds
from exhibit.facts.units import MIN_US

STEP: Final = "step"
LISTEN: Final = "listen"
"""The names of a step's deadlines."""
ASKED_US: Final = 10 * MIN_US
"""How long a person has to say whether a date may be told."""


class Stepping:
    """Takes one step at a time.

    `over` says how the step ended that was begun last, and is empty while it goes on. Whoever began it
    takes over then, and empties it; at "failed", `why` says why.
    """

    def __init__(self, machine: Machine, console: AtConsole, progress: Progress) -> None:
        self._machine = machine
        self._console = console
        self._progress = progress
        self._begun: ScriptRun | None = None
        self._seen_since_asked: list[kinds.PatternSeen] | None = None
        """What was printed since a person was asked for the step; None where none was asked."""
        self._was: State = "waiting"
        """Where the step stood when it was late and a person was asked what to do."""
        self._goes_on_by_prompt = False
        """It has begun to type nothing, and only its prompt was wanted then: that coming ends the asking."""
        self._date: Literal["", "asked", "agreed"] = ""
        """Whether a person was asked if the step's date may be told, and has said yes."""
        self._painted_since_us: int | None = None
        """Since when the display stands at which the step presses its key."""
        self._held_up = False
        """Something would be typed now, but for the machine's XOFF."""
        self.over: Literal["", "done", "left out", "failed"] = ""
        self.why = ""

    # -- from outside -------------------------------------------------------------------------

    def begin(self, run: ScriptRun, at_us: int) -> list[Command]:
        """Begins the step at which this run of a script is."""
        self._begun, self.over, self.why, self._date, self._held_up = run, "", "", "", False
        self._painted_since_us = None
        self._goes_on_by_prompt = False
        step = run.step
        seen, self._seen_since_asked = self._seen_since_asked, None
        self._lateness = late.Lateness(step)
        begun: list[Command] = [Tell(fact=kinds.StepStarted(**run.where, tidying=run.tidying))]
        match step:
            case HandsOn() | CheckPack():
                self._progress.go("a person is asked")
                self._seen_since_asked = []
                asked = kinds.HandsOnAsked(**run.where, words=step.words, caution=step.caution)
                return [*begun, self._limit(at_us), Tell(fact=asked)]
            case Pause():
                self._progress.go("a pause begins")
                return [*begun, Arm(name=STEP, due_us=at_us + step.pause_us)]
            case GiveCaption():
                self._progress.go("nothing to wait for")
                return [*begun, *self._done()]
            case Wait() | ReadDisplay():
                self._progress.go("a wait begins")
                return [*begun, self._limit(at_us), *self._come_already(step, seen or [])]
            case _:
                self._progress.go("a prompt is wanted")
                return [*begun, self._limit(at_us), *self._want_prompt(at_us)]

    def saw(self, fact: kinds.AnyFact, at_us: int) -> list[Command]:
        """Something that we know was printed, or stands on the console."""
        match fact:
            case kinds.PatternSeen():
                if self._seen_since_asked is not None:
                    self._seen_since_asked.append(fact)
                return self._came(fact.pattern, fact.line, fact.fields)
            case kinds.LandmarkReached() if self._state == "at prompt":
                return self._act_or_wait(at_us)
            case kinds.LandmarkReached() if self._prompt_came_after_all(fact.landmark):
                return self._go_on_by_prompt(at_us)
            case kinds.LandmarkReached() if self._state == "typing":
                return self._type_again(fact.landmark, at_us)
            case kinds.LandmarkReached():
                return self._reached(fact)
        return []

    def keyed(self, at_us: int) -> list[Command]:
        """The keying may have come to an end, or the machine have let go of it: goes on from there."""
        if self._held_up and not self._console.held:
            self._held_up = False
            standing = self._console.standing
            if self._state == "typing" and standing is not None:
                return self._type_again(standing.landmark, at_us)
            if standing is not None and self._prompt_came_after_all(standing.landmark):
                return self._go_on_by_prompt(at_us)
            return self._want_prompt(at_us) if self._state == "at prompt" else []
        if self._state != "typing":
            return []
        match self._console.typing:
            case "confirmed":
                self._progress.go("the machine took it")
            case "failed":
                return self._failed(self._console.why)
        return []

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[Command]:
        """Something happened that isn't printed text: a deadline passed, a person answered, typing failed."""
        match fact:
            case kinds.DeadlinePassed(name="step"):
                return self._time_is_up(at_us)
            case kinds.DeadlinePassed(name="listen"):
                return self._listened(at_us)
            case kinds.RequestMade(request="confirm" | "refuse", step=step):
                return [Tell(fact=answer_to(fact, self._asks(step)))]
            case kinds.RequestMade(request="wait on" | "leave out", step=step):
                return [Tell(fact=late.answer_to(fact, self._asks_what_then(step)))]
            case kinds.HandsOnConfirmed(step=step, by=by) if self._asks(step) and self._date == "asked":
                return self._date_agreed(by, at_us)
            case kinds.HandsOnRefused(step=step, why=why) if self._asks(step) and self._date == "asked":
                return self._failed(
                    f"a person said that the machine may not be told this date{_because(why)}"
                )
            case kinds.HandsOnConfirmed(step=step, by=by) if self._asks(step):
                facts = mounted(self._run.step, self._machine, by)
                self._progress.go("a person confirmed")
                return [*(Tell(fact=fact) for fact in facts), *self._done()]
            case kinds.HandsOnRefused(step=step, why=why) if self._asks(step):
                return self._failed(f"a person said that it can't be done{_because(why)}")
            case kinds.LateAnswered(step=step, answer="wait on") if self._asks_what_then(step):
                return self._wait_on(at_us)
            case kinds.LateAnswered(step=step, by=by) if self._asks_what_then(step):
                return self._leave_out(f"it was late, and {by} said to leave it out")
            case kinds.TypingFailed(why=why) if self._has_typed:
                return self._failed(f"the line did not take what was typed: {why}")
        return []

    def give_up_typing(self, at_us: int) -> list[Command]:
        """Throws away what is half typed."""
        return self._console.give_up(at_us)

    def note_unanswered(self) -> None:
        """The step is given up: its RETURN may have gone out."""
        if self._place in ("typing", "waiting") and self._console.return_sent:
            self._run.give_up_unanswered()

    # -- typing -------------------------------------------------------------------------------

    def _want_prompt(self, at_us: int) -> list[Command]:
        """That nothing we know stands, for a key without a place, is only known after a while of quiet."""
        listen_us = self._console.listen_us(at_us)
        listen = [] if at_of(self._run.step) else [Arm(name=LISTEN, due_us=listen_us)]
        return [*listen, *self._act_or_wait(at_us)]

    def _act_or_wait(self, at_us: int) -> list[Command]:
        """Types what the step says if its prompt stands; else goes on waiting for it."""
        run, standing = self._run, self._console.standing
        step = run.step
        if standing is None:
            return []
        if run.tidying and run.was_done():
            return self._leave_out("it was done before")
        if standing.landmark not in at_of(step):
            if run.left_out_elsewhere:
                return self._leave_out(run.leave_out_at(standing.landmark))
            return []
        # What is begun while the machine holds it up would go out whenever, and wherever it then stands.
        self._held_up = self._console.held
        if self._held_up:
            return []
        if isinstance(step, PressKey):
            return self._press_when_settled(step, at_us)
        try:
            typed = self._console.type_out(run, at_us, agreed=self._date == "agreed")
        except DateInDoubt as doubt:
            return self._ask_about_date(doubt, at_us)
        except CannotType as cannot:
            if cannot.not_known_yet and run.tidying:
                return self._leave_out(run.leave_out_unknown(f"{cannot}"))
            why = f"the machine never gave {cannot}" if cannot.not_known_yet else f"{cannot}"
            return [*cannot.told, *self._failed(why)]
        self._progress.go("the prompt stands")
        return typed + self.keyed(at_us)

    def _ask_about_date(self, doubt: DateInDoubt, at_us: int) -> list[Command]:
        if self._run.tidying:
            return self._failed(f"{doubt.what} In a tidy-up nobody is asked")
        self._progress.go("a person is asked about the date")
        self._date = "asked"
        asked = kinds.HandsOnAsked(**self._run.where, words=doubt.words, caution={})
        return [Arm(name=STEP, due_us=at_us + ASKED_US), Tell(fact=asked)]

    def _date_agreed(self, by: str, at_us: int) -> list[Command]:
        """A person says that the date may be typed. If the step is late, this answers that question too."""
        answered = kinds.LateAnswered(step=self._run.step.name, answer="wait on", by=by)
        also: list[Command] = [Tell(fact=answered)] if self._state == "late" else []
        self._date = "agreed"
        self._progress.go("the date may be told")
        return [*also, self._limit(at_us), *self._act_or_wait(at_us)]

    def _type_again(self, landmark: str, at_us: int) -> list[Command]:
        """After the cancel key something stands on the console: the prompt, one hopes."""
        if self._console.typing != "cancelled":
            return []
        if landmark not in at_of(self._run.step):
            return self._failed(f"after the cancel key, {landmark} stood on the console")
        self._held_up = self._console.held
        if self._held_up:
            return []
        return [self._limit(at_us), *self._console.type_anew(at_us)]

    def _press_when_settled(self, step: PressKey, at_us: int) -> list[Command]:
        self._painted_since_us = at_us if self._painted_since_us is None else self._painted_since_us
        settles_us = self._console.settles_us(at_us, self._painted_since_us)
        return [Arm(name=LISTEN, due_us=settles_us)] if settles_us > at_us else self._press(step)

    def _press(self, step: PressKey) -> list[Command]:
        self._progress.go("a key is pressed")
        return [Drop(name=LISTEN), *self._console.press(step, self._run.by)]

    def _listened(self, at_us: int) -> list[Command]:
        step = self._run.step
        if self._state != "at prompt" or not isinstance(step, PressKey):
            return []
        if at_of(step):
            return self._act_or_wait(at_us)
        self._held_up = self._console.held
        if self._held_up:
            return []
        quiet_us = self._console.quiet_us(at_us)
        return [Arm(name=LISTEN, due_us=quiet_us)] if quiet_us > at_us else self._press(step)

    # -- waiting ------------------------------------------------------------------------------

    def _come_already(self, step: Wait | ReadDisplay, seen: list[kinds.PatternSeen]) -> list[Command]:
        """What stands, and what was printed since a person was asked for the step before, needn't come again.

        A frame that was read before the step began isn't the one that is waited for.
        """
        for fact in reversed(seen):
            if fact.pattern in until_of(step):
                return self._came(fact.pattern, fact.line, fact.fields)
        standing = self._console.standing
        if standing is None or (isinstance(step, ReadDisplay) and standing.landmark == step.display):
            return []
        return self._reached(standing)

    def _reached(self, landmark: kinds.LandmarkReached) -> list[Command]:
        elsewhere = self._state == "waiting" and landmark.landmark not in until_of(self._run.step)
        if elsewhere and isinstance(self._run.step, ReadDisplay) and self._run.left_out_elsewhere:
            return self._leave_out(self._run.leave_out_at(landmark.landmark))
        return self._came(landmark.landmark, landmark.line, landmark.fields)

    def _came(self, name: str, line: str, fields: Mapping[str, str]) -> list[Command]:
        if self._place != "waiting" or name not in until_of(self._run.step):
            return []
        self._progress.go("it came")
        self._run.came(fields)
        matched = kinds.StepMatched(**self._run.where, name=name, line=line, fields=dict(fields))
        return [Tell(fact=matched), *self._done()]

    # -- when its time is up ------------------------------------------------------------------

    def _time_is_up(self, at_us: int) -> list[Command]:
        if self._state == "pausing":
            self._progress.go("the pause is over")
            return self._done()
        standing = self._console.standing
        then = self._lateness.decide(self._state, standing.landmark if standing else "")
        overdue = late.overdue(self._run, self._state, self._console.last_lines(), then, held=self._held_up)
        why = f"{' or '.join(overdue.waited_for)} did not come in time"
        return [Tell(fact=overdue), *self._what_then(then, why, at_us)]

    def _what_then(self, then: kinds.WhatThen, why: str, at_us: int) -> list[Command]:
        if then == "stop":
            return self._failed(why)
        if then == "wait on":
            return [self._limit(at_us)]
        if then == "again":
            self._progress.go("the command is to be typed again")
            return [self._limit(at_us), *self._act_or_wait(at_us)]
        self.note_unanswered()
        given_up = self.give_up_typing(at_us)
        if then == "leave out":
            return [*given_up, *self._leave_out(why)]
        # Nothing is half typed, nor typed at all, while a person thinks, until what is awaited comes.
        self._was = self._state
        self._goes_on_by_prompt = self._state == "at prompt" and bool(at_of(self._run.step))
        if self._state == "typing":
            self._was = "waiting" if self._console.return_sent else "at prompt"
        self._progress.go("a person is asked what to do")
        return [*given_up, Drop(name=LISTEN)]

    def _wait_on(self, at_us: int) -> list[Command]:
        self._progress.go(WAITS_ON[self._was])
        wanted = self._want_prompt(at_us) if self._was == "at prompt" else []
        return [self._limit(at_us), *wanted]

    def _prompt_came_after_all(self, landmark: str) -> bool:
        return self._state == "late" and self._goes_on_by_prompt and landmark in at_of(self._run.step)

    def _go_on_by_prompt(self, at_us: int) -> list[Command]:
        """The prompt at which it types came while a person was asked: nothing needs to be said any more."""
        self._progress.go("its prompt came after all")
        goes_on = kinds.LateAnswered(step=self._run.step.name, answer="wait on", by=MACHINE)
        return [Tell(fact=goes_on), self._limit(at_us), *self._act_or_wait(at_us)]

    def _limit(self, at_us: int) -> Arm:
        return Arm(name=STEP, due_us=at_us + within_of(self._run.step))

    # -- the end of a step --------------------------------------------------------------------

    def _done(self) -> list[Command]:
        self.over = "done"
        return [Tell(fact=kinds.StepEnded(**self._run.where))]

    def _leave_out(self, why: str) -> list[Command]:
        self._progress.go("left out")
        self.over = "left out"
        return [Tell(fact=kinds.StepLeftOut(**self._run.where, why=why))]

    def _failed(self, why: str) -> list[Command]:
        self.over, self.why = "failed", why
        return []

    # -- small questions ----------------------------------------------------------------------

    @property
    def _run(self) -> ScriptRun:
        assert self._begun is not None, "no step was begun"
        return self._begun

    @property
    def _state(self) -> State:
        return self._progress.state

    @property
    def _place(self) -> State:
        """Where the step stands, or stood when a person was asked what to do."""
        return self._was if self._state == "late" else self._state

    @property
    def _has_typed(self) -> bool:
        """Whether the step that runs has typed; the cancel key after a step that failed isn't of it."""
        return self._state == "typing" or (self._state == "waiting" and isinstance(self._run.step, PressKey))

    def _asks(self, step: str) -> bool:
        return self._begun is not None and self._place == "asking" and self._run.step.name == step

    def _asks_what_then(self, step: str) -> bool:
        return self._state == "late" and self._run.step.name == step


def _because(why: str) -> str:
    return f": {why}" if why else ""
