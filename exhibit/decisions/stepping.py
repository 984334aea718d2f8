"""Runs one step of a script: from where it may act to what it waits for.

Where it can stand, and what moves it on, is the table in `session_states`.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from typing import Final, Literal

from exhibit.decisions.by_hand import answer_to, mounted
from exhibit.decisions.commands import Arm, Command, Drop, Tell
from exhibit.decisions.displays import Displays
from exhibit.decisions.filling import NotKnownYet
from exhibit.decisions.keying import Keying
from exhibit.decisions.machine import Machine
from exhibit.decisions.script import (
    CheckPack,
    GiveCaption,
    HandsOn,
    Pause,
    PressKey,
    ReadDisplay,
    TypeCommand,
    TypeSecret,
    Wait,
)
from exhibit.decisions.script_run import ScriptRun, at_of, until_of
from exhibit.decisions.session_states import Progress
from exhibit.decisions.typable import text_of, why_not
from exhibit.decisions.watcher import Watcher
from exhibit.facts import kinds
from exhibit.facts.errors import ScriptError

STEP: Final = "step"
LISTEN: Final = "listen"
"""The names of a step's deadlines."""


class Stepping:
    """Takes one step at a time.

    `over` says how the step ended that was begun last, and is empty while it goes on. Whoever began it
    takes over then, and empties it; at "failed", `why` says why.
    """

    def __init__(
        self,
        machine: Machine,
        watcher: Watcher,
        displays: Displays,
        keying: Keying,
        secrets: Mapping[str, str],
        wall_at: Callable[[int], datetime.datetime],
        progress: Progress,
    ) -> None:
        self._machine = machine
        self._watcher = watcher
        self._displays = displays
        self._keying = keying
        self._secrets = secrets
        self._wall_at = wall_at
        self._progress = progress
        self._begun: ScriptRun | None = None
        self.over: Literal["", "done", "left out", "failed"] = ""
        self.why = ""

    # -- from outside -------------------------------------------------------------------------

    def begin(self, run: ScriptRun, at_us: int) -> list[Command]:
        """Begins the step at which this run of a script is."""
        self._begun, self.over, self.why = run, "", ""
        step = run.step
        begun: list[Command] = [Tell(fact=kinds.StepStarted(**run.where, tidying=run.tidying))]
        match step:
            case HandsOn() | CheckPack():
                self._progress.go("a person is asked")
                asked = kinds.HandsOnAsked(**run.where, words=step.words, caution=step.caution)
                return [*begun, Arm(name=STEP, due_us=at_us + step.within_us), Tell(fact=asked)]
            case Pause():
                self._progress.go("a pause begins")
                return [*begun, Arm(name=STEP, due_us=at_us + step.pause_us)]
            case GiveCaption():
                self._progress.go("nothing to wait for")
                return [*begun, *self._done()]
            case Wait() | ReadDisplay():
                self._progress.go("a wait begins")
                begun.append(Arm(name=STEP, due_us=at_us + step.within_us))
                return begun + self._standing_already(step)
            case _:
                self._progress.go("a prompt is wanted")
                begun.append(Arm(name=STEP, due_us=at_us + step.within_us))
                if not at_of(step):
                    begun.append(self._listen(at_us))
                return begun + self._act_or_wait(at_us)

    def saw(self, fact: kinds.AnyFact, at_us: int) -> list[Command]:
        """Something that we know was printed, or stands on the console."""
        match fact:
            case kinds.PatternSeen():
                return self._came(fact.pattern, fact.line, fact.fields)
            case kinds.LandmarkReached() if self._state == "at prompt":
                return self._act_or_wait(at_us)
            case kinds.LandmarkReached() if self._state == "typing":
                return self._type_again(fact.landmark, at_us)
            case kinds.LandmarkReached():
                return self._reached(fact)
        return []

    def keyed(self, at_us: int) -> list[Command]:
        """The keying may have come to an end: goes on from there."""
        if self._state != "typing":
            return []
        match self._keying.state:
            case "cancelled":
                self._watcher.end_typing(cancelled=True)
            case "confirmed":
                self._watcher.end_typing(cancelled=False)
                self._progress.go("the machine took it")
            case "failed":
                self._watcher.end_typing(cancelled=True)
                return self._failed(self._keying.why)
        return []

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[Command]:
        """Something happened that isn't printed text: a deadline passed, a person answered, typing failed."""
        match fact:
            case kinds.DeadlinePassed(name="step"):
                return self._overdue()
            case kinds.DeadlinePassed(name="listen"):
                return self._listened(at_us)
            case kinds.RequestMade(request="confirm" | "refuse"):
                return [Tell(fact=answer_to(fact, self._asks(fact.step)))]
            case kinds.HandsOnConfirmed(step=step, by=by) if self._asks(step):
                facts = mounted(self._run.step, self._machine, by)
                self._progress.go("a person confirmed")
                return [*(Tell(fact=fact) for fact in facts), *self._done()]
            case kinds.HandsOnRefused(step=step, why=why) if self._asks(step):
                return self._failed(f"a person said that it can't be done: {why}")
            case kinds.TypingFailed(why=why) if self._has_typed:
                return self._failed(f"the line did not take what was typed: {why}")
        return []

    def give_up_typing(self) -> list[Command]:
        """Throws away what is half typed."""
        if self._watcher.typing:
            self._watcher.end_typing(cancelled=True)
        return self._keying.give_up()

    def note_unanswered(self) -> None:
        """The step is given up: its RETURN may have gone out."""
        if self._state in ("typing", "waiting") and self._keying.return_sent:
            self._run.give_up_unanswered()

    # -- typing -------------------------------------------------------------------------------

    def _act_or_wait(self, at_us: int) -> list[Command]:
        """Types what the step says if its prompt stands; else goes on waiting for it."""
        run, standing = self._run, self._standing
        step = run.step
        if standing is None:
            return []
        if run.tidying and run.was_done():
            return self._leave_out("it was done before")
        if standing.landmark not in at_of(step):
            if run.left_out_elsewhere:
                return self._leave_out(run.leave_out_at(standing.landmark))
            return []
        if isinstance(step, PressKey):
            return self._press(step)
        try:
            text = text_of(step, self._machine, self._secrets, run.seen, self._wall_at(at_us))
        except NotKnownYet as missing:
            if run.tidying:
                return self._leave_out(run.leave_out_unknown(str(missing)))
            return self._failed(f"the machine never gave {missing}")
        except ScriptError as error:
            return self._failed(str(error))
        refused = why_not(text, self._machine) if isinstance(step, TypeCommand) else ""
        if refused:
            told = kinds.TypingRefused(command=text, why=refused)
            return [Tell(fact=told), *self._failed(refused)]
        self._progress.go("the prompt stands")
        self._watcher.begin_typing()
        typed = self._keying.begin(text, at_us, by=run.by, secret=isinstance(step, TypeSecret))
        return typed + self.keyed(at_us)

    def _type_again(self, landmark: str, at_us: int) -> list[Command]:
        """After the cancel key something stands on the console: the prompt, one hopes."""
        if self._keying.state != "cancelled":
            return []
        if landmark not in at_of(self._run.step):
            return self._failed(f"after the cancel key, {landmark} stood on the console")
        self._watcher.begin_typing()
        return self._keying.again(at_us)

    def _press(self, step: PressKey) -> list[Command]:
        self._progress.go("a key is pressed")
        self._watcher.forget_line()
        self._displays.gone()
        return [Drop(name=LISTEN), *self._keying.press(self._machine.keys[step.key], self._run.by)]

    def _listen(self, at_us: int) -> Arm:
        """That nothing we know stands is only known when nothing was printed for a while."""
        return Arm(name=LISTEN, due_us=at_us + self._machine.typing.echo_within_us)

    def _listened(self, at_us: int) -> list[Command]:
        if self._state != "at prompt" or not isinstance(self._run.step, PressKey) or at_of(self._run.step):
            return []
        if self._standing is not None or self._watcher.settle_due_us() is not None:
            return [self._listen(at_us)]
        if at_us < self._watcher.heard_us + self._machine.typing.echo_within_us:
            return [self._listen(self._watcher.heard_us)]
        return self._press(self._run.step)

    # -- waiting ------------------------------------------------------------------------------

    def _standing_already(self, step: Wait | ReadDisplay) -> list[Command]:
        """A frame that was read before the step began isn't the one that is waited for."""
        standing = self._standing
        if standing is None or (isinstance(step, ReadDisplay) and standing.landmark == step.display):
            return []
        return self._reached(standing)

    def _reached(self, landmark: kinds.LandmarkReached) -> list[Command]:
        elsewhere = self._state == "waiting" and landmark.landmark not in until_of(self._run.step)
        if elsewhere and isinstance(self._run.step, ReadDisplay) and self._run.left_out_elsewhere:
            return self._leave_out(self._run.leave_out_at(landmark.landmark))
        return self._came(landmark.landmark, landmark.line, landmark.fields)

    def _came(self, name: str, line: str, fields: Mapping[str, str]) -> list[Command]:
        if self._state != "waiting" or name not in until_of(self._run.step):
            return []
        self._progress.go("it came")
        self._run.came(fields)
        matched = kinds.StepMatched(**self._run.where, name=name, line=line, fields=dict(fields))
        return [Tell(fact=matched), *self._done()]

    def _overdue(self) -> list[Command]:
        if self._state == "pausing":
            self._progress.go("the pause is over")
            return self._done()
        step = self._run.step
        waited_for = {
            "at prompt": list(at_of(step)) or ["quiet"],
            "typing": ["the echo of what was typed"],
            "asking": ["a person to confirm"],
        }.get(self._state, list(until_of(step)))
        overdue = kinds.StepOverdue(
            **self._run.where,
            waited_for=waited_for,
            within_us=getattr(step, "within_us", 0),
            last_lines=self._watcher.last_lines(),
        )
        return [Tell(fact=overdue), *self._failed(f"{' or '.join(waited_for)} did not come in time")]

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
    def _state(self) -> str:
        return self._progress.state

    @property
    def _has_typed(self) -> bool:
        """Whether the step that runs has typed; the cancel key after a step that failed isn't of it."""
        return self._state == "typing" or (self._state == "waiting" and isinstance(self._run.step, PressKey))

    def _asks(self, step: str) -> bool:
        return self._state == "asking" and self._run.step.name == step

    @property
    def _standing(self) -> kinds.LandmarkReached | None:
        return self._watcher.standing or self._displays.standing
