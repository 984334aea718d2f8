"""Runs one script, step after step, and tidies up after it whatever happens: facts in, commands out.

`stepping` runs a single step. The table in `states` has the states of a session.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from typing import Final, Literal

from exhibit.decisions.commands import Arm, Command, Drop, Tell
from exhibit.decisions.console.local_echo import WHY as ECHO_IS_LOCAL
from exhibit.decisions.console.outcomes import Back, Done, Failed, Skipped, Stepped, TypingEnd
from exhibit.decisions.console.typing_console import TypingConsole
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import Script
from exhibit.decisions.session.at_console import LISTEN, STEP, AtConsole
from exhibit.decisions.session.script_run import SCRIPT_DONE, ScriptRun, until_of
from exhibit.decisions.session.states import Progress, State
from exhibit.decisions.session.stepping import Stepping
from exhibit.decisions.wear.doubts import Doubt
from exhibit.decisions.wear.job_watch import JobWatch
from exhibit.facts import kinds

SCRIPT: Final = "script"
"""The name of the whole script's deadline."""
_AT_REST: Final = ("idle", "failed", "line lost")
_LINE_AWAY: Final = "the machine is not connected"


class Session:
    """One script at a time on one machine."""

    def __init__(
        self,
        machine: Machine,
        console: TypingConsole,
        secrets: Mapping[str, str],
        wall_at: Callable[[int], datetime.datetime],
        jobs: JobWatch,
    ) -> None:
        self._jobs = jobs
        self._asked_before = 0
        """The number of the last job that was asked for before the script was started."""
        self._known: set[int] = set()
        """The jobs that what was printed last settles, though it hasn't been recorded yet."""
        self._machine = machine
        self._cancels = {typing.cancel for typing in machine.typings if typing.cancel}
        """The cancel keys of all places."""
        self._ends_scripts = {trouble.name for trouble in machine.troubles if trouble.ends_script}
        self._lines = machine.lines
        self._console = console
        self._progress = Progress()
        at_console = AtConsole(machine, console, self._progress, secrets, wall_at)
        self._stepping = Stepping(machine, console, at_console, self._progress)
        self._begun: ScriptRun | None = None
        self._stop_asked = False
        self.goes_on_after: kinds.WentOnAfter | Literal[""] = ""
        """The failure that ended the last script, if all was tidied up and the rounds can go on after it."""
        self.by_hand = False
        """A person has the keyboard, so what the machine prints is about what that person types."""
        self._key = b""
        self._key_us: int | None = None
        """When the first key was typed that has brought nothing so far; None if there is none."""

    @property
    def state(self) -> State:
        """The state of the session."""
        return self._progress.state

    @property
    def at_rest(self) -> bool:
        """Whether no step is running."""
        return self._progress.state in _AT_REST

    @property
    def tidying(self) -> bool:
        """Whether a tidy-up is running."""
        return not self.at_rest and self._run.tidying

    # -- from outside -------------------------------------------------------------------------

    def start(self, script: Script, by: str, round_number: int, at_us: int, step: str = "") -> list[Command]:
        """Starts a script, at `step` if it goes on where it was broken off. The session must be idle."""
        return [*self._begin(ScriptRun(script, step), by, round_number, at_us), *self._begin_step(at_us)]

    def tidy_up_after(
        self, script: Script, by: str, left_open: kinds.LastRecordingRead, at_us: int
    ) -> list[Command]:
        """Runs the tidy-up of an unfinished script, with the numbers that the machine gave then."""
        begun = self._begin(ScriptRun(script), by, 0, at_us)
        self._run.resume(left_open)
        return [*begun, *self._tidy_up(at_us)]

    def _begin(self, run: ScriptRun, by: str, number: int, at_us: int) -> list[Command]:
        self._progress.go("script started")
        self._begun, script = run, run.script
        self._stop_asked = False
        self._asked_before, self._known = self._jobs.doubts.next - 1, set()
        self.goes_on_after, self._key_us = "", None
        started = kinds.ScriptStarted(
            script=script.name, title=script.title, by=by, round=number, from_step=run.from_step
        )
        return [Tell(fact=started), Arm(name=SCRIPT, due_us=at_us + script.within_us)]

    def clear(self) -> None:
        """A person has looked after a failure: scripts can be started again. The session must have failed."""
        self._progress.go("a person cleared it")

    def stop(self, why: str, at_us: int) -> list[Command]:
        """Ends the script and starts its tidy-up. Does nothing while no script runs."""
        if self.state == "line lost":
            self._run.untidy.append(_LINE_AWAY)
            return self._over()
        if self.at_rest:
            return []
        self._stop_asked = True
        if not self._run.tidying:
            return self._end_early("stopped", why, at_us)
        self._run.end("stopped", why)
        return []

    def hands_off(self, why: str, left_open: kinds.LastRecordingRead, at_us: int) -> list[Command]:
        """Types nothing more at all, not even a tidy-up or the cancel key. A person must look then."""
        left = self._console.leave_standing(left_open, at_us)
        if self.state in ("idle", "failed"):
            return [*left, *self.fail_at_rest(why)]
        self._run.end("failed", why)
        tidying = self._run.tidying
        self._run.untidy.append("the tidy-up was not finished" if tidying else "nothing was tidied up")
        if self.state == "line lost":
            return [*left, *self._over()]
        self._stepping.note_unanswered()
        failed = Tell(fact=kinds.StepFailed(**self._run.where, why=why))
        self._progress.go("the step failed")
        return [*left, failed, Drop(name=STEP), Drop(name=LISTEN), *self._over()]

    def fail_at_rest(self, why: str) -> list[Command]:
        """Fails between two scripts, so that none can be started. Does nothing while one runs."""
        if self.state != "idle":
            return []
        self._progress.go("over, and a person must look")
        return [Tell(fact=kinds.SessionFailed(why=why, last_lines=self._console.watched.last_rows()))]

    def also_seen(self, fields: Mapping[str, Mapping[str, str]]) -> None:
        """Adds, by step, fields that the machine printed when homing pressed the key of that step."""
        self._run.seen |= {step: given for step, given in fields.items() if step not in self._run.seen}

    def give_up_line(self, why: str) -> list[Command]:
        """The line is back, but it isn't known how to continue: ends the script as it is."""
        self._run.untidy.append(why)
        return self._over()

    def saw(self, fact: kinds.AnyFact, at_us: int) -> list[Command]:
        """Something known was printed, or is showing on the console."""
        for job in self._jobs.seen(at_us, fact):
            if isinstance(job, kinds.ExerciserBegun | kinds.JobDoubtOver):
                self._known.add(job.asked)
        if isinstance(fact, kinds.TroubleRaised):
            if fact.trouble in self._ends_scripts:
                return self._trouble(fact, at_us)
            if self.at_rest:
                return []
            return self._follow(self._stepping.shown_too_early(fact.trouble, at_us), at_us)
        late = self._came_late(fact)
        if self.at_rest:
            return late
        return [*late, *self._follow(self._stepping.saw(fact, at_us), at_us)]

    def _came_late(self, fact: kinds.AnyFact) -> list[Command]:
        """During a tidy-up: perhaps this is what a step waited for that was given up."""
        if self._begun is None or not self._begun.tidying or self.at_rest:
            return []
        match fact:
            case kinds.PatternSeen(pattern=name, line=line, fields=fields):
                step = self._begun.came_late(name, fields)
            case kinds.LandmarkReached(landmark=name, line=line, fields=fields):
                step = self._begun.came_late(name, fields)
            case _:
                return []
        script = self._begun.script.name
        return [Tell(fact=kinds.AnsweredLate(script=script, step=step, name=name, line=line))] if step else []

    def keyed(self, end: TypingEnd | Failed | None, at_us: int) -> list[Command]:
        """The typing has taken an item or a deadline. `end`: how the typing of a command ended, if it did."""
        return self._follow(self._stepping.keyed(end, at_us), at_us)

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[Command]:
        """Something happened that isn't printed text: a deadline, a person, the line, the disc."""
        match fact:
            case kinds.ExerciserBegun(job=job) if self._begun is not None:
                self._begun.job_began(job)
            case kinds.ExerciserEnded(job=job) if self._begun is not None:
                self._begun.job_ended(job)
        match fact:
            case kinds.BytesTyped(bytes=text):
                self._stepping.typed()
                self._note_typed(text, at_us)
                return []
            case kinds.SecretTyped():
                self._stepping.typed()
                return []
            case kinds.LineOpened() if self.state == "line lost":
                self._progress.go("the line came back")
                return self._tidy_up(at_us)
            case kinds.LocalEchoFound(sign="too soon") if self.state == "idle":
                return self.fail_at_rest(ECHO_IS_LOCAL)
            case (
                kinds.DeadlinePassed()
                | kinds.LineLost()
                | kinds.RecordNearlyFull()
                | kinds.LocalEchoFound(sign="too soon")
            ) if self.at_rest:
                return []
            case kinds.DeadlinePassed(name="script") if self._may_last:
                return [Arm(name=SCRIPT, due_us=at_us + self._run.script.within_us)]
            case kinds.DeadlinePassed(name="script"):
                return self._give_up_script("the whole script took longer than its limit", at_us)
            case kinds.RecordNearlyFull():
                return self._give_up_script("the disc for the recordings is full", at_us)
            case kinds.LineLost(why=why):
                return self._line_lost(why)
            case kinds.LocalEchoFound(sign="too soon"):
                return self._give_up_script(ECHO_IS_LOCAL, at_us)
        return self._follow(self._stepping.note(fact, at_us), at_us)

    # -- from step to step --------------------------------------------------------------------

    @property
    def _run(self) -> ScriptRun:
        assert self._begun is not None, "no script was begun"
        return self._begun

    def _begin_step(self, at_us: int) -> list[Command]:
        if self._run.at_end:
            again = self._run.tidying and self._run.tidies_again()
            if again:
                return self._tidy_up(at_us, "a job may still be running, so the tidy-up is tried once more")
            return self._over() if self._run.tidying else self._tidy_up(at_us)
        return self._follow(self._stepping.begin(self._run, at_us), at_us)

    def _follow(self, stepped: Stepped, at_us: int) -> list[Command]:
        """The step's commands and, if it has ended, those of what follows."""
        match stepped.end:
            case None:
                return [*stepped.commands]
            case Failed(why):
                overdue = any(_tells_overdue(command) for command in stepped.commands)
                return [
                    *stepped.commands,
                    *self._fail(why, at_us, overdue=overdue, may_be_answered=stepped.end.may_be_answered),
                ]
            case Skipped(why):
                overdue = any(_tells_overdue(command) for command in stepped.commands)
                if overdue and self._run.tidying and self._is_silent(at_us):
                    return [*stepped.commands, *self._fail(why, at_us, overdue=True)]
                self._progress.go("left out")
                ended: kinds.AnyFact = kinds.StepLeftOut(**self._run.where, why=why)
            case Back(to):
                self._run.index = self._run.index - 1 if to is None else to
                return [*stepped.commands, Drop(name=STEP), Drop(name=LISTEN), *self._begin_step(at_us)]
            case Done():
                ended = kinds.StepEnded(**self._run.where)
        return [*stepped.commands, Tell(fact=ended), *self._next_step(at_us)]

    def _next_step(self, at_us: int) -> list[Command]:
        self._run.index += 1
        return [Drop(name=STEP), Drop(name=LISTEN), *self._begin_step(at_us)]

    # -- when something goes wrong ------------------------------------------------------------

    def _trouble(self, fact: kinds.TroubleRaised, at_us: int) -> list[Command]:
        """Fails the running step. Between two scripts, fails the session: a person must look."""
        why = f"something was wrong: {next(iter(fact.words.values()), fact.line).rstrip('.')}"
        if self.state == "idle":
            return self.fail_at_rest(why) if self._begun is not None and not self.by_hand else []
        if self.at_rest or self._is_waited_for(fact.line):
            return []
        return self._fail(why, at_us)

    @property
    def _may_last(self) -> bool:
        """Whether the script may take longer than its limit: the machine says itself that it is busy."""
        return self.state not in ("late", "asking") and self._console.blocked_without_limit

    def _is_waited_for(self, line: str) -> bool:
        """Whether the step waits for this very line: for example, that a job has already ended."""
        names = until_of(self._run.step) if self.state == "waiting" else ()
        lines = (known for known in self._lines if known.name in names and not known.below)
        return any(known.pattern.match(line) is not None for known in lines)

    def _fail(
        self, why: str, at_us: int, *, overdue: bool = False, may_be_answered: bool = False
    ) -> list[Command]:
        """The running step failed. `may_be_answered`: it typed its RETURN, so only the answer may be late."""
        failed = kinds.StepFailed(**self._run.where, why=why)
        if not self._run.tidying:
            after: kinds.WentOnAfter | Literal[""] = "late answer" if may_be_answered else ""
            return [Tell(fact=failed), *self._end_early("failed", why, at_us, after)]
        self._run.fail_tidying(why)
        if may_be_answered:
            self._run.await_answer()
        self._progress.go("the step failed")
        commands = [Tell(fact=failed), *self._stepping.give_up_typing(at_us)]
        if overdue and self._is_silent(at_us):
            # Nobody answers, so the other steps would only wait, each for its whole time.
            self._run.leave_untried("the cancel key" if self._key in self._cancels else "a key")
            return [*commands, Drop(name=STEP), Drop(name=LISTEN), *self._over()]
        return [*commands, *self._next_step(at_us)]

    def _note_typed(self, text: str, at_us: int) -> None:
        """These bytes were typed; empty for a secret."""
        key = kinds.to_bytes(text)
        if self._begun is not None and self._begun.tidying and key not in self._cancels:
            self._begun.answer_is_over()
        nudges = {typing.nudge for typing in self._machine.typings}
        if not key or key not in {*self._cancels, *nudges, *self._machine.keys.values()}:
            return
        if self._key_us is None or self._console.watched.heard_us >= self._key_us:
            self._key, self._key_us = key, at_us

    def _is_silent(self, at_us: int) -> bool:
        """Whether nothing at all has come since a key was typed, for longer than an answer takes."""
        if self._key_us is None or self._console.watched.heard_us >= self._key_us:
            return False
        return at_us - self._key_us >= self._machine.typing.answer_within_us

    def _give_up_script(self, why: str, at_us: int) -> list[Command]:
        """The script can't continue. A tidy-up that has begun is finished, then a person must look."""
        if not self._run.tidying:
            return self._fail(why, at_us)
        self._run.end("failed", why)
        return []

    def _end_early(
        self, outcome: kinds.Outcome, why: str, at_us: int, after: kinds.WentOnAfter | Literal[""] = ""
    ) -> list[Command]:
        self._stepping.note_unanswered()
        self._progress.go("the step failed")
        self._run.end(outcome, why, after)
        if after:
            self._run.await_answer()
        drops: list[Command] = [Drop(name=STEP), Drop(name=LISTEN), Drop(name=SCRIPT)]
        return [*drops, *self._stepping.give_up_typing(at_us), *self._tidy_up(at_us)]

    def _line_lost(self, why: str) -> list[Command]:
        self._stepping.note_unanswered()
        failed = kinds.StepFailed(**self._run.where, why=f"the line was lost: {why}")
        self._progress.go("the line was lost")
        self._run.end("failed", "the line was lost", "line lost")
        lost: list[Command] = [Tell(fact=failed), Drop(name=STEP), Drop(name=LISTEN), Drop(name=SCRIPT)]
        if not self._stop_asked:
            return lost
        # After a stop nobody expects anything to be typed when the line comes back.
        self._run.untidy.append(_LINE_AWAY)
        return [*lost, *self._over()]

    # -- the end ------------------------------------------------------------------------------

    def _tidy_up(self, at_us: int, why: str = "") -> list[Command]:
        run = self._run
        run.begin_tidy_up()
        begun = kinds.TidyUpStarted(script=run.script.name, why=why or run.why or SCRIPT_DONE)
        return [Tell(fact=begun), *self._begin_step(at_us)]

    def _over(self) -> list[Command]:
        """The script and its tidy-up are over. If anything could not be tidied up, the script has failed."""
        run, half_standing = self._run, self._console.half_standing
        if half_standing and not any(half_standing in why for why in (run.why, *run.untidy)):
            run.untidy.append(half_standing)
        doubted = [job for job in self._jobs.doubts.all if job.by == run.by and job.asked not in self._known]
        run.untidy += [_may_run(job) for job in doubted if job.asked > self._asked_before]
        whys = [*([run.why] if run.why else []), *run.untidy]
        run.outcome = "failed" if run.untidy else run.outcome
        # What was in doubt before has already been reported; it doesn't make this run fail.
        run.why = "; ".join([*whys, *(_may_run(job) for job in doubted if job.asked <= self._asked_before)])
        tidy = not run.untidy and not doubted
        ended = kinds.ScriptEnded(script=run.script.name, outcome=run.outcome, tidy=tidy, why=run.why)
        commands = [Drop(name=SCRIPT), Tell(fact=ended), *self._console.rest()]
        if run.outcome == "failed" and run.can_go_on:
            # Whether they do go on is decided by `programme`, which otherwise fails the session.
            self.goes_on_after = run.can_go_on
            self._progress.go("failed, but tidy")
            return commands
        if run.outcome != "failed":
            self._progress.go("done and tidy")
            return commands
        self._progress.go("over, and a person must look")
        failed = kinds.SessionFailed(why=run.why, last_lines=self._console.watched.last_rows())
        return [*commands, Tell(fact=failed)]


def _may_run(job: Doubt) -> str:
    number = f"job {job.job}" if job.job else "a job whose number isn't known"
    return f"{number}, which {job.command} starts, may be running"


def _tells_overdue(command: Command) -> bool:
    return isinstance(command, Tell) and isinstance(command.fact, kinds.StepOverdue)
