"""Runs one script, a step at a time: facts in, commands out.

Where it can stand, and what moves it on, is the table in `session_states`.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from typing import Final

from exhibit.decisions.commands import Arm, Command, Drop, Tell, Type
from exhibit.decisions.displays import Displays
from exhibit.decisions.filling import NotKnownYet, fill
from exhibit.decisions.keying import Keying
from exhibit.decisions.machine import Machine
from exhibit.decisions.script import (
    AnyStep,
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
from exhibit.decisions.session_states import TRANSITIONS, State
from exhibit.decisions.watcher import Watcher
from exhibit.facts import kinds
from exhibit.facts.errors import ScriptError

STEP, SCRIPT = "step", "script"
"""The names of the session's deadlines."""
NOTHING_WAITS: Final = ("idle", "failed", "line lost")


class Session:
    """One script at a time on one machine. `outcome` is that of the script that ended last."""

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
        self._script: Script | None = None
        self._index = 0
        self._tidying = False
        self._tidy = True
        self._why = ""
        self._seen: dict[str, Mapping[str, str]] = {}
        self.state: State = "idle"
        self.outcome: kinds.Outcome = "done"

    # -- from outside -------------------------------------------------------------------------

    def start(self, script: Script, by: str, round_number: int, at_us: int) -> list[Command]:
        """Starts a script. The session must be idle."""
        self._go("script started")
        self._script = script
        self._index = 0
        self._tidying, self._tidy = False, True
        self._why, self.outcome = "", "done"
        self._seen = {}
        started = kinds.ScriptStarted(script=script.name, title=script.title, by=by, round=round_number)
        return [
            Tell(fact=started),
            Arm(name=SCRIPT, due_us=at_us + script.within_us),
            *self._begin_step(at_us),
        ]

    def stop(self, why: str, at_us: int) -> list[Command]:
        """Ends the script, which is then tidied up after. Nothing happens while no script runs."""
        if self.state in NOTHING_WAITS or self._tidying:
            return []
        return self._end_early("stopped", why, at_us)

    def saw(self, fact: kinds.AnyFact, at_us: int) -> list[Command]:
        """Something that we know was printed, or stands on the console."""
        if isinstance(fact, kinds.PatternSeen):
            return self._came(fact.pattern, fact.line, fact.fields, at_us)
        if isinstance(fact, kinds.LandmarkReached):
            if self.state == "at prompt":
                return self._act_or_wait(at_us)
            if self.state == "typing" and self._keying.state == "cancelled":
                if fact.landmark in _at(self._step):
                    self._watcher.forget_line()
                    self._watcher.echoing = True
                    return self._keying.again(at_us)
                return self._fail(f"after the cancel key, {fact.landmark} stood on the console", at_us)
            return self._came(fact.landmark, fact.line, fact.fields, at_us)
        return []

    def keyed(self, at_us: int) -> list[Command]:
        """The keying may have come to an end: goes on from there."""
        if self.state != "typing":
            return []
        if self._keying.state == "cancelled":
            self._watcher.echoing = False
        elif self._keying.state == "confirmed":
            self._watcher.echoing = False
            self._go("the machine took it")
        elif self._keying.state == "failed":
            self._watcher.echoing = False
            return self._fail(self._keying.why, at_us)
        return []

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[Command]:
        """Something happened that isn't printed text: a deadline, a person, the line."""
        match fact:
            case kinds.DeadlinePassed(name="step"):
                return self._step_deadline(at_us)
            case kinds.DeadlinePassed(name="script") if not self._tidying:
                return self.give_up("the whole script took longer than its limit", at_us)
            case kinds.RequestMade(request="confirm" | "refuse"):
                return [Tell(fact=self._answer(fact))]
            case kinds.HandsOnConfirmed(step=step, by=by) if self._asks(step):
                return self._confirmed(by, at_us)
            case kinds.HandsOnRefused(step=step, why=why) if self._asks(step):
                return self._fail(f"a person said that it can't be done: {why}", at_us)
            case kinds.TypingFailed(why=why):
                return self.give_up(f"the line did not take what was typed: {why}", at_us)
            case kinds.RecordNearlyFull():
                return self.give_up("the disc for the recordings is full", at_us)
            case kinds.LineLost(why=why):
                return self._line_lost(why)
            case kinds.LineOpened() if self.state == "line lost":
                self._go("the line came back")
                return self._tidy_up(at_us)
        return []

    def _answer(self, made: kinds.RequestMade) -> kinds.AnyFact:
        if not self._asks(made.step):
            why = f"nobody is being asked for the step {made.step} now"
            return kinds.RequestRefused(request=made.request, why=why)
        if made.request == "confirm":
            return kinds.HandsOnConfirmed(step=made.step, by=made.by)
        return kinds.HandsOnRefused(step=made.step, by=made.by, why=made.why)

    def give_up(self, why: str, at_us: int) -> list[Command]:
        """The step that runs fails, whatever it is."""
        if self.state in NOTHING_WAITS:
            return []
        return self._fail(why, at_us)

    # -- steps --------------------------------------------------------------------------------

    @property
    def _running(self) -> Script:
        assert self._script is not None, "no script runs"
        return self._script

    @property
    def _steps(self) -> tuple[AnyStep, ...]:
        return self._running.tidy_up if self._tidying else self._running.steps

    @property
    def _step(self) -> AnyStep:
        return self._steps[self._index]

    def _go(self, move: str) -> None:
        self.state = TRANSITIONS[self.state, move]

    def _begin_step(self, at_us: int) -> list[Command]:
        if self._index == len(self._steps):
            return self._all_done() if self._tidying else self._tidy_up(at_us)
        step = self._step
        where = {"script": self._running.name, "step": step.name}
        begun: list[Command] = [Tell(fact=kinds.StepStarted(**where, tidying=self._tidying))]
        match step:
            case HandsOn() | CheckPack():
                self._go("a person is asked")
                asked = kinds.HandsOnAsked(**where, words=step.words, caution=step.caution)
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
                if isinstance(step, Wait) and self._standing() in step.until:
                    begun += self._came(self._standing(), "", {}, at_us)
                return begun
            case _:
                self._go("a prompt is wanted")
                begun.append(Arm(name=STEP, due_us=at_us + step.within_us))
                return begun + self._act_or_wait(at_us)

    def _act_or_wait(self, at_us: int) -> list[Command]:
        """Types what the step says if its prompt stands; else goes on waiting for it."""
        step = self._step
        standing = self._standing()
        if standing not in (_at(step) or ("",)):
            if self._tidying and standing:
                return self._leave_out(f"the console stands at {standing}", at_us)
            return []
        try:
            text = self._what_to_type(step, at_us)
        except NotKnownYet as missing:
            if self._tidying:
                return self._leave_out(f"the machine never gave {missing}", at_us)
            return self._fail(f"the machine never gave {missing}", at_us)
        except ScriptError as error:
            return self._fail(str(error), at_us)
        if isinstance(step, PressKey):
            self._go("a key is pressed")
            self._watcher.forget_line()
            return [Type(data=self._machine.keys[step.key], by=self._by)]
        refused = self._never(text) if isinstance(step, TypeCommand) else ""
        if refused:
            told = Tell(fact=kinds.TypingRefused(command=text, why=refused))
            return [told, *self._fail(refused, at_us)]
        self._go("the prompt stands")
        self._watcher.forget_line()
        self._watcher.echoing = True
        return self._keying.begin(text, at_us, secret=isinstance(step, TypeSecret))

    def _what_to_type(self, step: AnyStep, at_us: int) -> str:
        if isinstance(step, TypeCommand):
            return fill(step.command, self._seen, self._machine.calendars, self._wall_at(at_us))
        if isinstance(step, TypeSecret):
            return self._secrets[step.secret]
        return ""

    def _never(self, command: str) -> str:
        """Why this command must not be typed, nor any beginning of it; empty when it may."""
        for length in range(1, len(command) + 1):
            for never in self._machine.never:
                if never.match(command[:length]) is not None:
                    return f"the machine's folder says never to type {never.text}"
        return ""

    def _came(self, name: str, line: str, fields: Mapping[str, str], at_us: int) -> list[Command]:
        if self.state != "waiting" or name not in _until(self._step):
            return []
        step = self._step
        self._go("it came")
        self._seen[step.name] = fields
        matched = kinds.StepMatched(
            script=self._running.name, step=step.name, name=name, line=line, fields=dict(fields)
        )
        return [Tell(fact=matched), *self._step_done(at_us)]

    def _confirmed(self, by: str, at_us: int) -> list[Command]:
        step = self._step
        self._go("a person confirmed")
        commands: list[Command] = []
        if isinstance(step, CheckPack):
            pack = self._machine.packs[step.pack]
            mounted = kinds.PackMounted(
                label=pack.label, drive=pack.drive, may_be_written=pack.may_be_written, by=by
            )
            commands.append(Tell(fact=mounted))
        return commands + self._step_done(at_us)

    def _step_done(self, at_us: int) -> list[Command]:
        ended = kinds.StepEnded(script=self._running.name, step=self._step.name)
        self._index += 1
        return [Drop(name=STEP), Tell(fact=ended), *self._begin_step(at_us)]

    def _leave_out(self, why: str, at_us: int) -> list[Command]:
        self._go("left out")
        left_out = kinds.StepLeftOut(script=self._running.name, step=self._step.name, why=why)
        self._index += 1
        return [Drop(name=STEP), Tell(fact=left_out), *self._begin_step(at_us)]

    # -- when it doesn't go as written --------------------------------------------------------

    def _step_deadline(self, at_us: int) -> list[Command]:
        if self.state == "pausing":
            self._go("the pause is over")
            return self._step_done(at_us)
        if self.state in NOTHING_WAITS:
            return []
        step = self._step
        waited_for = {
            "at prompt": list(_at(step)),
            "typing": ["the echo of what was typed"],
            "asking": ["a person to confirm"],
        }.get(self.state, list(_until(step)))
        overdue = kinds.StepOverdue(
            script=self._running.name,
            step=step.name,
            waited_for=waited_for,
            within_us=getattr(step, "within_us", 0),
            last_lines=self._watcher.last_lines(),
        )
        why = f"{' or '.join(waited_for)} did not come in time"
        return [Tell(fact=overdue), *self._fail(why, at_us)]

    def _fail(self, why: str, at_us: int) -> list[Command]:
        failed = kinds.StepFailed(script=self._running.name, step=self._step.name, why=why)
        if not self._tidying:
            return [Tell(fact=failed), *self._end_early("failed", why, at_us)]
        # The rest of the tidy-up is tried all the same: each step of it stands by itself.
        self._tidy = False
        self._go("the step failed")
        self._index += 1
        return [Tell(fact=failed), Drop(name=STEP), *self._give_up_typing(), *self._begin_step(at_us)]

    def _end_early(self, outcome: kinds.Outcome, why: str, at_us: int) -> list[Command]:
        self._go("the step failed")
        self.outcome, self._why = outcome, why
        return [Drop(name=STEP), Drop(name=SCRIPT), *self._give_up_typing(), *self._tidy_up(at_us)]

    def _give_up_typing(self) -> list[Command]:
        unfinished = self._keying.unfinished
        commands = self._keying.forget()
        self._watcher.echoing = False
        if unfinished:
            self._watcher.forget_line()
            commands.append(Type(data=self._machine.typing.cancel, by=self._by))
        return commands

    def _line_lost(self, why: str) -> list[Command]:
        if self.state in NOTHING_WAITS:
            return []
        failed = kinds.StepFailed(
            script=self._running.name, step=self._step.name, why=f"the line went away: {why}"
        )
        self._go("the line went away")
        self._watcher.echoing = False
        if not self._tidying:
            self.outcome, self._why = "failed", "the line went away"
        return [Tell(fact=failed), Drop(name=STEP), Drop(name=SCRIPT), *self._keying.forget()]

    def _tidy_up(self, at_us: int) -> list[Command]:
        self._tidying, self._index = True, 0
        why = self._why or "the script is done"
        begun = kinds.TidyUpStarted(script=self._running.name, why=why)
        return [Tell(fact=begun), *self._begin_step(at_us)]

    def _all_done(self) -> list[Command]:
        if not self._tidy:
            self._why = self._why or "the tidy-up could not be done"
            if self.outcome == "done":
                self.outcome = "failed"
        ended = kinds.ScriptEnded(
            script=self._running.name, outcome=self.outcome, tidy=self._tidy, why=self._why
        )
        commands: list[Command] = [Drop(name=SCRIPT), Tell(fact=ended)]
        if self.outcome == "failed" or not self._tidy:
            self._go("over, and a person must look")
            failed = kinds.SessionFailed(why=self._why, last_lines=self._watcher.last_lines())
            return [*commands, Tell(fact=failed)]
        self._go("done and tidy")
        return commands

    # -- small questions ----------------------------------------------------------------------

    @property
    def _by(self) -> str:
        return f"script {self._running.name}"

    def _asks(self, step: str) -> bool:
        return self.state == "asking" and self._step.name == step

    def _standing(self) -> str:
        return self._watcher.standing or self._displays.standing


def _at(step: AnyStep) -> tuple[str, ...]:
    return step.at if isinstance(step, TypeCommand | TypeSecret | PressKey) else ()


def _until(step: AnyStep) -> tuple[str, ...]:
    if isinstance(step, TypeCommand | TypeSecret | PressKey | Wait):
        return step.until
    return (step.display,) if isinstance(step, ReadDisplay) else ()
