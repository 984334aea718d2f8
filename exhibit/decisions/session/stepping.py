"""Runs one step of a script, from waiting for its prompt to the end of its wait.

The table in `states` has its states and the moves between them.
"""

from __future__ import annotations

from collections.abc import Mapping

from exhibit.decisions.commands import Arm, Command, Drop, Tell
from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.console.outcomes import Back, Done, Failed, Skipped, Stepped, TypingEnd
from exhibit.decisions.console.typing_console import TypingConsole
from exhibit.decisions.decider import HELD_BACK
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import (
    CheckPack,
    GiveCaption,
    HandsOn,
    Pause,
    PressKey,
    ReadDisplay,
    StepByHand,
    TypeCommand,
    TypeSecret,
    Wait,
)
from exhibit.decisions.session import late
from exhibit.decisions.session.at_console import LISTEN, NOTHING, STEP, AtConsole, limit
from exhibit.decisions.session.by_hand import ByHand, mounted
from exhibit.decisions.session.script_run import ScriptRun, at_of, until_of
from exhibit.decisions.session.states import WAITS_ON, Progress, State
from exhibit.facts import kinds


class Stepping:
    """Runs one step at a time. Once a method has returned how the step ended, begin the next one."""

    def __init__(
        self, machine: Machine, console: TypingConsole, at_console: AtConsole, progress: Progress
    ) -> None:
        self._machine = machine
        self._console = console
        self._watched = console.watched
        self._at_console = at_console
        self._progress = progress
        self._begun: ScriptRun | None = None
        self._seen_since_asked: list[kinds.PatternSeen] | None = None
        """The known lines printed since a person was asked to do a step; None if nobody was asked."""
        self._was: State = "waiting"
        """The state in which the step was late and a person was asked what to do."""
        self._goes_on_by_prompt = False
        """The step was late before it typed: if its prompt comes after all, it continues by itself."""
        self._by_hand = ByHand(machine)
        self._done_by_hand: int | None = None
        """The number of the step that a person confirmed, until anything is typed; None if there is none."""
        self._was_too_early = False
        """The machine has shown that the step by hand that begins now was done too early the first time."""

    # -- from outside -------------------------------------------------------------------------

    def begin(self, run: ScriptRun, at_us: int) -> Stepped:
        """Begins the step at which this run of a script is."""
        self._begun, self._goes_on_by_prompt = run, False
        step = run.step
        seen, self._seen_since_asked = self._seen_since_asked, None
        self._lateness = late.Lateness(step)
        self._at_console.begin_step(run, self._lateness)
        started = Tell(fact=kinds.StepStarted(**run.where, tidying=run.tidying))
        if run.index == 0:
            self._done_by_hand = None
        match step:
            case HandsOn() | CheckPack():
                self._progress.go("a person is asked")
                self._seen_since_asked = []
                asked = kinds.HandsOnAsked(
                    **run.where,
                    words=step.words,
                    caution=step.caution,
                    panel=list(step.panel) if isinstance(step, HandsOn) else [],
                    late=self._lateness.for_a_person,
                )
                again, self._was_too_early = self._was_too_early, False
                too_early = [Tell(fact=self._by_hand.shown_too_early(step))] if again else []
                return Stepped([started, limit(self._run, at_us), Tell(fact=asked), *too_early])
            case Pause():
                self._progress.go("a pause begins")
                return Stepped([started, Arm(name=STEP, due_us=at_us + step.pause_us)])
            case GiveCaption():
                self._progress.go("nothing to wait for")
                return Stepped([started], Done())
            case Wait() | ReadDisplay():
                self._progress.go("a wait begins")
                come = self._come_already(step, seen or [])
                listens = self._at_console.listen_for_damage(at_us) if come.end is None else []
                return come.after(started, limit(self._run, at_us), *listens)
            case TypeCommand() | TypeSecret() | PressKey():
                self._progress.go("a prompt is wanted")
                return self._at_console.want_prompt(at_us).after(started, limit(self._run, at_us))

    def saw(self, fact: kinds.AnyFact, at_us: int) -> Stepped:
        """Something known was printed, or is showing on the console."""
        match fact:
            case kinds.PatternSeen():
                if self._seen_since_asked is not None:
                    self._seen_since_asked.append(fact)
                return self._came(fact.pattern, fact.line, fact.fields)
            case kinds.LandmarkReached() | kinds.InterruptionSeen() if self._state == "at prompt":
                return self._at_console.act_or_wait(at_us)  # behind an interruption a display shows again
            case kinds.LandmarkReached() if self._prompt_came_after_all(fact.landmark):
                return self._go_on_by_prompt(at_us)
            case kinds.LandmarkReached() if self._state == "typing":
                return self._at_console.type_again(fact.landmark, at_us)
            case kinds.LandmarkReached():
                refused = self._refused(fact, at_us)
                return self._reached(fact) if refused is None else refused
        return NOTHING

    def keyed(self, end: TypingEnd | Failed | None, at_us: int) -> Stepped:
        """The typing has taken an item or a deadline. `end`: how the typing of a command ended, if it did."""
        if self._at_console.xon_came():
            return self._go_on_after_xon(at_us)
        return self._at_console.typing_ended(end) if self._state == "typing" else NOTHING

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> Stepped:
        """Something happened that isn't printed text: a deadline passed, a person answered, typing failed."""
        match fact:
            case kinds.DeadlinePassed(name="step") if self._state != "late":
                return self._time_is_up(at_us)
            case kinds.DeadlinePassed(name="listen") if self._reads:
                return self._at_console.paint_again(at_us)
            case kinds.DeadlinePassed(name="listen"):
                return self._at_console.listened(at_us) if self._state == "at prompt" else NOTHING
            case kinds.RequestMade(
                request="confirm" | "not yet" | "refuse" | "too early" | "didn't", step=step
            ):
                asked = self._run.step if self._asks(step) else None
                return Stepped([Tell(fact=self._by_hand.answer_to(fact, asked))])
            case kinds.RequestMade(request="wait on" | "leave out", step=step):
                return Stepped([Tell(fact=late.answer_to(fact, self._asks_what_then(step)))])
            case kinds.RequestMade(request="it is the prompt", step=step):
                line = self._watched.current_line()
                return Stepped([Tell(fact=late.vouched(fact, self._why_not_here(step, at_us), line))])
            case kinds.PromptVouched(step=step) if not self._why_not_here(step, at_us):
                self._progress.go(WAITS_ON[self._was])
                return self._at_console.type_here(at_us)
            case kinds.HandsOnConfirmed(step=step, by=by) if self._asks(step):
                asked_about_date = self._at_console.asks_about_date
                return self._date_agreed(by, at_us) if asked_about_date else self._confirmed(by)
            case kinds.HandsOnPutOff(step=step) if self._asks(step):
                self._by_hand.note(fact)
                return self._put_off(at_us)
            case kinds.HandsOnRefused(step=step, why=why) if self._asks(step):
                refused = "that it can't be done"
                if self._at_console.asks_about_date:
                    refused = "that the machine may not be given this date"
                return _failed(f"a person said {refused}{_because(why)}")
            case kinds.LateAnswered(step=step, answer="wait on") if self._asks_what_then(step):
                return self._wait_on(at_us)
            case kinds.LateAnswered(step=step, by=by) if self._asks_what_then(step):
                return Stepped((), Skipped(f"it was late, and {by} said to leave it out"))
            case kinds.TypingFailed(why=why) if self._has_typed and why != HELD_BACK:
                return _failed(f"what was typed could not be sent: {why}")
        return NOTHING

    def give_up_typing(self, at_us: int) -> list[Command]:
        """Cancels a half-typed command."""
        return self._at_console.give_up(at_us)

    def note_unanswered(self) -> None:
        """The step is given up: notes whether its RETURN was sent, so that its answer can still come."""
        if self._may_be_answered:
            self._run.give_up_unanswered()

    def _go_on_after_xon(self, at_us: int) -> Stepped:
        """XON came, so the step can now type what it had to hold back."""
        standing = self._watched.standing
        if self._state == "typing" and standing is not None:
            return self._at_console.type_again(standing.landmark, at_us)
        if standing is not None and self._prompt_came_after_all(standing.landmark):
            return self._go_on_by_prompt(at_us)
        return self._at_console.want_prompt(at_us) if self._state == "at prompt" else NOTHING

    def typed(self) -> None:
        """Something was typed, so what the machine prints next needn't be about the last step by hand."""
        self._done_by_hand = None

    def shown_too_early(self, trouble: str, at_us: int) -> Stepped:
        """The machine shows this trouble: perhaps that the step by hand was done too early, so it asks again.

        The step is the running one, or the last one if nothing has been typed since it was confirmed.
        """
        if self._begun is None or self._run.tidying:
            return NOTHING
        index = self._run.index if self._place == "asking" else None
        for number in (index, self._done_by_hand):
            step = self._run.steps[number] if number is not None else None
            if not isinstance(step, StepByHand) or trouble not in step.too_early_shows:
                continue
            if number == index:
                return Stepped([Tell(fact=self._by_hand.shown_too_early(step))])
            given_up = self.give_up_typing(at_us) if self._state == "typing" else []
            self._progress.go("a step by hand was done too early")
            self._done_by_hand, self._was_too_early = None, True
            return Stepped(given_up, Back(number))
        return NOTHING

    # -- a person's answers -------------------------------------------------------------------

    def _confirmed(self, by: str) -> Stepped:
        """A person has done the step."""
        self._progress.go("a person confirmed")
        self._done_by_hand = self._run.index
        facts = mounted(self._run.step, self._machine, by)
        return Stepped([Tell(fact=fact) for fact in facts], Done())

    def _put_off(self, at_us: int) -> Stepped:
        """A person has yet to do the step. If it is late, this also answers what to do about that."""
        if self._state == "late":
            self._progress.go(WAITS_ON["asking"])
        return Stepped([self._at_console.time_for_a_person(at_us)])

    def _date_agreed(self, by: str, at_us: int) -> Stepped:
        """A person agrees to the date. If the step is late, this also answers what to do about that."""
        answered = kinds.LateAnswered(step=self._run.step.name, answer="wait on", by=by)
        also = [Tell(fact=answered)] if self._state == "late" else []
        return self._at_console.agree_to_date(at_us).after(*also)

    # -- waiting ------------------------------------------------------------------------------

    def _come_already(self, step: Wait | ReadDisplay, seen: list[kinds.PatternSeen]) -> Stepped:
        """Ends the wait at once if what it waits for is showing, or came while a person did the step before.

        A frame that was read before the step began doesn't count: the step waits for a new one.
        """
        for fact in reversed(seen):
            if fact.pattern in until_of(step):
                return self._came(fact.pattern, fact.line, fact.fields)
        standing = self._watched.standing
        if standing is None or (isinstance(step, ReadDisplay) and standing.landmark == step.display):
            return NOTHING
        return self._reached(standing)

    def _reached(self, landmark: kinds.LandmarkReached) -> Stepped:
        elsewhere = self._state == "waiting" and landmark.landmark not in until_of(self._run.step)
        if elsewhere and isinstance(self._run.step, ReadDisplay) and self._run.skipped_elsewhere:
            return Stepped((), Skipped(self._run.skip_at(landmark.landmark)))
        return self._came(landmark.landmark, landmark.line, landmark.fields)

    def _refused(self, landmark: kinds.LandmarkReached, at_us: int) -> Stepped | None:
        """The machine asks for the secret again, or for the sign-on before it; None if it doesn't."""
        run, step, name = self._run, self._run.step, landmark.landmark
        if self._state != "waiting" or not isinstance(step, TypeSecret) or name in step.until:
            return None
        before = run.steps[run.index - 1] if run.index else None
        signs_on = isinstance(before, TypeCommand) and name in before.at and set(step.at) <= {*before.until}
        times = run.tried_again.get(step.name, 0) + 1
        if step.late.then != "again" or times > step.late.times or not (name in step.at or signs_on):
            return None
        run.tried_again[step.name] = times
        refused = Tell(fact=kinds.SecretRefused(**run.where, landmark=name, times=times))
        if name in step.at:
            self._progress.go("the command is to be typed again")
            return self._at_console.act_or_wait(at_us).after(refused, limit(run, at_us))
        self._progress.go("a secret was refused, and its sign-on comes first")
        return Stepped([refused], Back())

    def _came(self, name: str, line: str, fields: Mapping[str, str]) -> Stepped:
        if self._place != "waiting" or name not in until_of(self._run.step):
            return NOTHING
        self._progress.go("it came")
        self._run.came(fields)
        matched = kinds.StepMatched(**self._run.where, name=name, line=line, fields=dict(fields))
        return Stepped([Tell(fact=matched)], Done())

    # -- when its time is up ------------------------------------------------------------------

    def _time_is_up(self, at_us: int) -> Stepped:
        if self._state == "pausing":
            self._progress.go("the pause is over")
            return Stepped((), Done())
        standing, last_lines = self._watched.standing, self._watched.last_rows()
        then = self._lateness.decide(self._state, standing.landmark if standing else "")
        if then == "stop" and self._state != "asking" and self._console.blocked_without_limit:
            return Stepped([limit(self._run, at_us)])  # the machine says itself that it is busy, or asleep
        overdue = late.overdue(
            self._run,
            self._state,
            last_lines,
            then,
            blocked_by_xoff=self._at_console.waits_for_xon,
            cancelled=self._at_console.cancelled,
        )
        why = f"{' or '.join(overdue.waited_for)} did not come in time"
        return self._what_then(then, why, at_us).after(Tell(fact=overdue))

    def _what_then(self, then: kinds.WhatThen, why: str, at_us: int) -> Stepped:
        if then == "stop":
            return Stepped((), Failed(why, may_be_answered=self._may_be_answered))
        if then == "wait on":
            return Stepped([self._at_console.time_for_a_person(at_us)])
        if then == "again":
            self._progress.go("the command is to be typed again")
            return self._at_console.act_or_wait(at_us).after(limit(self._run, at_us))
        self.note_unanswered()
        given_up = self.give_up_typing(at_us)
        if then == "leave out":
            return Stepped(given_up, Skipped(why))
        # While a person thinks, nothing is left half typed, and nothing is typed unless the prompt comes.
        self._was = self._state
        self._goes_on_by_prompt = self._state == "at prompt" and bool(at_of(self._run.step))
        if self._state == "typing":
            self._was = "waiting" if self._console.return_sent else "at prompt"
        self._progress.go("a person is asked what to do")
        return Stepped([*given_up, Drop(name=LISTEN)])

    def _wait_on(self, at_us: int) -> Stepped:
        self._progress.go(WAITS_ON[self._was])
        wanted = self._at_console.want_prompt(at_us) if self._was == "at prompt" else NOTHING
        return wanted.after(limit(self._run, at_us))

    def _prompt_came_after_all(self, landmark: str) -> bool:
        return self._state == "late" and self._goes_on_by_prompt and landmark in at_of(self._run.step)

    def _go_on_by_prompt(self, at_us: int) -> Stepped:
        """The step's prompt came while a person was being asked, so no answer is needed any more."""
        self._progress.go("its prompt came after all")
        goes_on = kinds.LateAnswered(step=self._run.step.name, answer="wait on", by=MACHINE)
        return self._at_console.act_or_wait(at_us).after(Tell(fact=goes_on), limit(self._run, at_us))

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
        """The state of the step; if it is late, the state in which it was late."""
        return self._was if self._state == "late" else self._state

    @property
    def _reads(self) -> bool:
        """Whether the step waits for a frame of a display."""
        return self._state == "waiting" and isinstance(self._run.step, ReadDisplay)

    @property
    def _has_typed(self) -> bool:
        """Whether the running step has typed. The cancel key after a failed step isn't typed by a step."""
        return self._state == "typing" or (self._state == "waiting" and isinstance(self._run.step, PressKey))

    @property
    def _may_be_answered(self) -> bool:
        """Whether the running step has typed its RETURN, so that its answer can still come."""
        types = isinstance(self._run.step, TypeCommand | TypeSecret)
        return types and self._place in ("typing", "waiting") and self._console.return_sent

    def _asks(self, step: str) -> bool:
        return self._begun is not None and self._place == "asking" and self._run.step.name == step

    def _why_not_here(self, step: str, at_us: int) -> str:
        """Why a late step must not type where the console is, although a person says so; empty if it may."""
        if not (self._asks_what_then(step) and self._was == "at prompt"):
            return f"nobody is being asked for the prompt of the step {step} now"
        return self._at_console.why_not_here(at_us)

    def _asks_what_then(self, step: str) -> bool:
        return self._state == "late" and self._run.step.name == step


def _failed(why: str) -> Stepped:
    return Stepped((), Failed(why))


def _because(why: str) -> str:
    return f": {why}" if why else ""
