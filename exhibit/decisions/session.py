"""Runs one script, a step at a time: facts in, commands out.

Where it can stand, and what moves it on, is the table in `session_states`.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from typing import Final

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
    Script,
    TypeCommand,
    TypeSecret,
    Wait,
)
from exhibit.decisions.script_run import ScriptRun, at_of, until_of
from exhibit.decisions.session_states import TRANSITIONS, State
from exhibit.decisions.typable import text_of, why_not
from exhibit.decisions.watcher import Watcher
from exhibit.facts import kinds
from exhibit.facts.errors import ScriptError

STEP: Final = "step"
SCRIPT: Final = "script"
LISTEN: Final = "listen"
"""The names of the session's deadlines."""
_AT_REST: Final = ("idle", "failed", "line lost")


class Session:
    """One script at a time on one machine."""

    def __init__(
        self,
        machine: Machine,
        watcher: Watcher,
        displays: Displays,
        keying: Keying,
        secrets: Mapping[str, str],
        wall_at: Callable[[int], datetime.datetime],
    ) -> None:
        self._machine = machine
        self._watcher = watcher
        self._displays = displays
        self._keying = keying
        self._secrets = secrets
        self._wall_at = wall_at
        self._begun: ScriptRun | None = None
        self._stop_asked = False
        self.state: State = "idle"

    # -- from outside -------------------------------------------------------------------------

    def start(self, script: Script, by: str, round_number: int, at_us: int) -> list[Command]:
        """Starts a script. The session must be idle."""
        self._go("script started")
        self._begun = ScriptRun(script)
        self._stop_asked = False
        started = kinds.ScriptStarted(script=script.name, title=script.title, by=by, round=round_number)
        return [
            Tell(fact=started),
            Arm(name=SCRIPT, due_us=at_us + script.within_us),
            *self._begin_step(at_us),
        ]

    def stop(self, why: str, at_us: int) -> list[Command]:
        """Ends the script, which is then tidied up after. Nothing happens while no script runs."""
        if self.state == "line lost":
            self._run.untidy.append("the line to the machine is away")
            return self._over()
        if self.state in _AT_REST:
            return []
        self._stop_asked = True
        if not self._run.tidying:
            return self._end_early("stopped", why, at_us)
        self._run.end("stopped", why)
        return []

    def fail_at_rest(self, why: str) -> list[Command]:
        """No script may be started any more. Nothing happens while one runs."""
        if self.state != "idle":
            return []
        self._go("over, and a person must look")
        return [Tell(fact=kinds.SessionFailed(why=why, last_lines=self._watcher.last_lines()))]

    def saw(self, fact: kinds.AnyFact, at_us: int) -> list[Command]:
        """Something that we know was printed, or stands on the console."""
        match fact:
            case kinds.PatternSeen():
                if self._begun is not None and self._begun.tidying:
                    self._begun.came_late(fact.pattern, fact.fields)
                return self._came(fact.pattern, fact.line, fact.fields, at_us)
            case kinds.LandmarkReached() if self.state == "at prompt":
                return self._act_or_wait(at_us)
            case kinds.LandmarkReached() if self.state == "typing":
                return self._type_again(fact.landmark, at_us)
            case kinds.LandmarkReached():
                return self._reached(fact, at_us)
        return []

    def keyed(self, at_us: int) -> list[Command]:
        """The keying may have come to an end: goes on from there."""
        if self.state != "typing":
            return []
        match self._keying.state:
            case "cancelled":
                self._watcher.end_typing(cancelled=True)
            case "confirmed":
                self._watcher.end_typing(cancelled=False)
                self._go("the machine took it")
            case "failed":
                self._watcher.end_typing(cancelled=True)
                return self._fail(self._keying.why, at_us)
        return []

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[Command]:
        """Something happened that isn't printed text: a deadline, a person, the line, the disc."""
        match fact:
            case kinds.DeadlinePassed(name="step"):
                return self._step_deadline(at_us)
            case kinds.DeadlinePassed(name="listen"):
                return self._listened(at_us)
            case kinds.DeadlinePassed(name="script"):
                return self._give_up_script("the whole script took longer than its limit", at_us)
            case kinds.RecordNearlyFull():
                return self._give_up_script("the disc for the recordings is full", at_us)
            case kinds.RequestMade(request="confirm" | "refuse"):
                return [Tell(fact=answer_to(fact, self._asks(fact.step)))]
            case kinds.HandsOnConfirmed(step=step, by=by) if self._asks(step):
                return self._confirmed(by, at_us)
            case kinds.HandsOnRefused(step=step, why=why) if self._asks(step):
                return self._fail(f"a person said that it can't be done: {why}", at_us)
            case kinds.TypingFailed(why=why) if self._has_typed:
                return self._fail(f"the line did not take what was typed: {why}", at_us)
            case kinds.LineLost(why=why):
                return self._line_lost(why)
            case kinds.LineOpened() if self.state == "line lost":
                self._go("the line came back")
                return self._tidy_up(at_us)
        return []

    # -- steps --------------------------------------------------------------------------------

    @property
    def _run(self) -> ScriptRun:
        assert self._begun is not None, "no script was begun"
        return self._begun

    def _go(self, move: str) -> None:
        self.state = TRANSITIONS[self.state, move]

    def _begin_step(self, at_us: int) -> list[Command]:
        run = self._run
        if run.at_end:
            return self._over() if run.tidying else self._tidy_up(at_us)
        step = run.step
        begun: list[Command] = [Tell(fact=kinds.StepStarted(**run.where, tidying=run.tidying))]
        match step:
            case HandsOn() | CheckPack():
                self._go("a person is asked")
                asked = kinds.HandsOnAsked(**run.where, words=step.words, caution=step.caution)
                return [*begun, Arm(name=STEP, due_us=at_us + step.within_us), Tell(fact=asked)]
            case Pause():
                self._go("a pause begins")
                return [*begun, Arm(name=STEP, due_us=at_us + step.pause_us)]
            case GiveCaption():
                self._go("nothing to wait for")
                return [*begun, *self._step_done(at_us)]
            case Wait() | ReadDisplay():
                self._go("a wait begins")
                begun.append(Arm(name=STEP, due_us=at_us + step.within_us))
                return begun + self._standing_already(step, at_us)
            case _:
                self._go("a prompt is wanted")
                begun.append(Arm(name=STEP, due_us=at_us + step.within_us))
                if not at_of(step):
                    begun.append(self._listen(at_us))
                return begun + self._act_or_wait(at_us)

    def _standing_already(self, step: Wait | ReadDisplay, at_us: int) -> list[Command]:
        """A frame that was read before the step began isn't the one that is waited for."""
        standing = self._standing
        if standing is None or (isinstance(step, ReadDisplay) and standing.landmark == step.display):
            return []
        return self._reached(standing, at_us)

    def _act_or_wait(self, at_us: int) -> list[Command]:
        """Types what the step says if its prompt stands; else goes on waiting for it."""
        run, standing = self._run, self._standing
        step = run.step
        if standing is None:
            return []
        if run.tidying and run.was_done():
            return self._leave_out("it was done before", at_us)
        if standing.landmark not in at_of(step):
            if run.left_out_elsewhere:
                return self._leave_out(run.leave_out_at(standing.landmark), at_us)
            return []
        if isinstance(step, PressKey):
            return self._press(step)
        try:
            text = text_of(step, self._machine, self._secrets, run.seen, self._wall_at(at_us))
        except NotKnownYet as missing:
            if run.tidying:
                return self._leave_out(run.leave_out_unknown(str(missing)), at_us)
            return self._fail(f"the machine never gave {missing}", at_us)
        except ScriptError as error:
            return self._fail(str(error), at_us)
        refused = why_not(text, self._machine) if isinstance(step, TypeCommand) else ""
        if refused:
            told = kinds.TypingRefused(command=text, why=refused)
            return [Tell(fact=told), *self._fail(refused, at_us)]
        self._go("the prompt stands")
        self._watcher.begin_typing()
        typed = self._keying.begin(text, at_us, by=run.by, secret=isinstance(step, TypeSecret))
        return typed + self.keyed(at_us)

    def _type_again(self, landmark: str, at_us: int) -> list[Command]:
        """After the cancel key something stands on the console: the prompt, one hopes."""
        if self._keying.state != "cancelled":
            return []
        if landmark not in at_of(self._run.step):
            return self._fail(f"after the cancel key, {landmark} stood on the console", at_us)
        self._watcher.begin_typing()
        return self._keying.again(at_us)

    def _press(self, step: PressKey) -> list[Command]:
        self._go("a key is pressed")
        self._watcher.forget_line()
        self._displays.gone()
        return [Drop(name=LISTEN), *self._keying.press(self._machine.keys[step.key], self._run.by)]

    def _listen(self, at_us: int) -> Arm:
        """That nothing we know stands is only known when nothing was printed for a while."""
        return Arm(name=LISTEN, due_us=at_us + self._machine.typing.echo_within_us)

    def _listened(self, at_us: int) -> list[Command]:
        if self.state != "at prompt" or not isinstance(self._run.step, PressKey) or at_of(self._run.step):
            return []
        if self._standing is not None or self._watcher.settle_due_us() is not None:
            return [self._listen(at_us)]
        if at_us < self._watcher.heard_us + self._machine.typing.echo_within_us:
            return [self._listen(self._watcher.heard_us)]
        return self._press(self._run.step)

    def _reached(self, landmark: kinds.LandmarkReached, at_us: int) -> list[Command]:
        elsewhere = self.state == "waiting" and landmark.landmark not in until_of(self._run.step)
        if elsewhere and isinstance(self._run.step, ReadDisplay) and self._run.left_out_elsewhere:
            return self._leave_out(self._run.leave_out_at(landmark.landmark), at_us)
        return self._came(landmark.landmark, landmark.line, landmark.fields, at_us)

    def _came(self, name: str, line: str, fields: Mapping[str, str], at_us: int) -> list[Command]:
        if self.state != "waiting" or name not in until_of(self._run.step):
            return []
        self._go("it came")
        self._run.came(fields)
        matched = kinds.StepMatched(**self._run.where, name=name, line=line, fields=dict(fields))
        return [Tell(fact=matched), *self._step_done(at_us)]

    def _confirmed(self, by: str, at_us: int) -> list[Command]:
        facts = mounted(self._run.step, self._machine, by)
        self._go("a person confirmed")
        return [*(Tell(fact=fact) for fact in facts), *self._step_done(at_us)]

    def _step_done(self, at_us: int) -> list[Command]:
        ended = kinds.StepEnded(**self._run.where)
        return [Tell(fact=ended), *self._next_step(at_us)]

    def _next_step(self, at_us: int) -> list[Command]:
        self._run.index += 1
        return [Drop(name=STEP), Drop(name=LISTEN), *self._begin_step(at_us)]

    def _leave_out(self, why: str, at_us: int) -> list[Command]:
        self._go("left out")
        left_out = kinds.StepLeftOut(**self._run.where, why=why)
        return [Tell(fact=left_out), *self._next_step(at_us)]

    # -- when it doesn't go as written --------------------------------------------------------

    def _step_deadline(self, at_us: int) -> list[Command]:
        if self.state == "pausing":
            self._go("the pause is over")
            return self._step_done(at_us)
        if self.state in _AT_REST:
            return []
        step = self._run.step
        waited_for = {
            "at prompt": list(at_of(step)) or ["quiet"],
            "typing": ["the echo of what was typed"],
            "asking": ["a person to confirm"],
        }.get(self.state, list(until_of(step)))
        overdue = kinds.StepOverdue(
            **self._run.where,
            waited_for=waited_for,
            within_us=getattr(step, "within_us", 0),
            last_lines=self._watcher.last_lines(),
        )
        why = f"{' or '.join(waited_for)} did not come in time"
        return [Tell(fact=overdue), *self._fail(why, at_us)]

    def _fail(self, why: str, at_us: int) -> list[Command]:
        failed = kinds.StepFailed(**self._run.where, why=why)
        if not self._run.tidying:
            return [Tell(fact=failed), *self._end_early("failed", why, at_us)]
        # The rest of the tidy-up is tried all the same: each step of it stands by itself.
        self._run.untidy.append(f"the step {self._run.step.name} failed, because {why}")
        self._go("the step failed")
        return [Tell(fact=failed), *self._give_up_typing(), *self._next_step(at_us)]

    def _give_up_script(self, why: str, at_us: int) -> list[Command]:
        """The script can't go on. A tidy-up that has begun isn't disturbed, but a person must look then."""
        if self.state in _AT_REST:
            return []
        if not self._run.tidying:
            return self._fail(why, at_us)
        self._run.end("failed", why)
        return []

    def _end_early(self, outcome: kinds.Outcome, why: str, at_us: int) -> list[Command]:
        self._note_unanswered()
        self._go("the step failed")
        self._run.end(outcome, why)
        drops: list[Command] = [Drop(name=STEP), Drop(name=LISTEN), Drop(name=SCRIPT)]
        return [*drops, *self._give_up_typing(), *self._tidy_up(at_us)]

    def _give_up_typing(self) -> list[Command]:
        if self._watcher.typing:
            self._watcher.end_typing(cancelled=True)
        return self._keying.give_up()

    def _note_unanswered(self) -> None:
        if self.state in ("typing", "waiting") and self._keying.return_sent:
            self._run.give_up_unanswered()

    def _line_lost(self, why: str) -> list[Command]:
        if self.state in _AT_REST:
            return []
        self._note_unanswered()
        failed = kinds.StepFailed(**self._run.where, why=f"the line went away: {why}")
        self._go("the line went away")
        self._run.end("failed", "the line went away")
        lost: list[Command] = [Tell(fact=failed), Drop(name=STEP), Drop(name=LISTEN), Drop(name=SCRIPT)]
        if not self._stop_asked:
            return lost
        # Whoever asked for a stop doesn't expect that something is typed when the line comes back.
        self._run.untidy.append("the line to the machine is away")
        return [*lost, *self._over()]

    def _tidy_up(self, at_us: int) -> list[Command]:
        run = self._run
        run.begin_tidy_up()
        begun = kinds.TidyUpStarted(script=run.script.name, why=run.why or "the script is done")
        return [Tell(fact=begun), *self._begin_step(at_us)]

    def _over(self) -> list[Command]:
        """The script and its tidy-up are over. What could not be tidied makes it a failure."""
        run = self._run
        if run.untidy:
            run.outcome = "failed"
            run.why = "; ".join([*([run.why] if run.why else []), *run.untidy])
        tidy = not run.untidy
        ended = kinds.ScriptEnded(script=run.script.name, outcome=run.outcome, tidy=tidy, why=run.why)
        commands = [Drop(name=SCRIPT), Tell(fact=ended), *self._keying.rest()]
        if run.outcome != "failed":
            self._go("done and tidy")
            return commands
        self._go("over, and a person must look")
        failed = kinds.SessionFailed(why=run.why, last_lines=self._watcher.last_lines())
        return [*commands, Tell(fact=failed)]

    # -- small questions ----------------------------------------------------------------------

    @property
    def _has_typed(self) -> bool:
        """Whether the step that runs has typed; the cancel key after a step that failed isn't of it."""
        return self.state == "typing" or (self.state == "waiting" and isinstance(self._run.step, PressKey))

    def _asks(self, step: str) -> bool:
        return self.state == "asking" and self._run.step.name == step

    @property
    def _standing(self) -> kinds.LandmarkReached | None:
        return self._watcher.standing or self._displays.standing
