"""What a recording leaves open at the machine, folded from its facts for the recording that follows.

    left = LeftOpen(folder)
    for entry in recording:
        left.take(entry.fact)
    left.as_fact("whimbrel-2026-11-25T09-30-00.exhibit")

The bridge records a fact before it acts. So the recording of a killed bridge is complete; but if the computer
lost its power, the last second may be missing.
"""

from __future__ import annotations

from typing import Final

import msgspec

from exhibit.decisions.decider import HELD_BACK
from exhibit.decisions.machine.description import Typing
from exhibit.decisions.machine.filling import numbers_named
from exhibit.decisions.machine.script import HOME, AnyStep, Folder, TypeCommand
from exhibit.decisions.session.script_run import at_of, until_of
from exhibit.decisions.wear.doubts import BROKE_OFF, Doubts, doubt_of
from exhibit.facts import kinds

NOTHING: Final = kinds.LastRecordingRead(
    recording="",
    closed=True,
    may_lack=False,
    line_lost=False,
    half_typed="",
    unanswered="",
    question="",
    display="",
    script="",
    step="",
    returned=False,
    numbers={},
    put_away=[],
    in_doubt=[],
)
SECRET: Final = "****"
"""Stands for a secret, whatever its length."""
LONGEST_HALF: Final = 1000
"""How many characters of a half-typed command to keep."""

A_PERSON: Final = "a person"
"""Stands for whoever typed at the machine's own terminal, where no script waits for an answer."""
BY: Final = "the way home"
"""The `by` of ScriptStarted when homing runs the tidy-up of an unfinished script."""

BY_HAND: Final = (
    kinds.LastRecordingRead,
    kinds.TypedByHand,
    kinds.BytesMissed,
    kinds.LandmarkReached,
    kinds.RecordingClosed,
)
"""The facts of a recording without scripts that matter if a person's typing was heard in it."""

_Known = tuple[kinds.LastRecordingRead, kinds.InDoubt | None, bool, bool, bool, bool]


class LeftOpen:
    """`now` is what is open after the facts taken so far."""

    def __init__(self, folder: Folder) -> None:
        machine = folder.machine
        self._machine = machine
        self._mask = 0xFF if machine.eighth_bit == "data" else 0x7F
        self._exercisers = machine.exercisers
        self._doubts = Doubts()
        self._asked: kinds.InDoubt | None = None
        """The job whose command was typed last, until the recording itself says what became of it."""
        self._asks = {prompt.name for prompt in machine.prompts if prompt.kind != "command"}
        self._displays = {display.name for display in machine.displays}
        self._puts_away = {
            script.name: {
                step.name: {named for named, _ in numbers_named(step.command)}
                for step in (*script.steps, *script.tidy_up)
                if isinstance(step, TypeCommand) and numbers_named(step.command)
            }
            for script in folder.scripts.values()
        }
        """By script and step: the steps whose numbers the command names, usually of jobs that it stops."""
        self._steps = {
            script.name: {
                step.name: steps[place:]
                for steps in (script.steps, script.tidy_up)
                for place, step in enumerate(steps)
            }
            for script in folder.scripts.values()
        }
        """By script and step: the step and those that follow it."""
        if folder.way_home is not None:
            ways = folder.way_home.ways.values()
            self._steps[HOME] = {step.name: way[place:] for way in ways for place, step in enumerate(way)}
        self._under_way: tuple[AnyStep, ...] = ()
        """The last step that was begun, and those that follow it."""
        self._answered_it = False
        """That step has typed a RETURN."""
        self._cancelled = False
        """The last key typed was the cancel key, so a prompt that appears next has nothing typed after it."""
        self._returned_by_hand = False
        """A person ended a line at the terminal. The next prompt shows that the machine took it."""
        self._silent = False
        """The machine was recognised by its silence, and nothing has been typed since."""
        self._unsure = False
        """The last recording's end may be missing, and the console hasn't been seen to be clear since."""
        self._opened = False
        """The first fact has been taken, which says what was in doubt before."""
        self._before: _Known | None = None
        """What was known before the last fact, if that says that a byte is typed: it may be held back yet."""
        self.now = msgspec.structs.replace(NOTHING, closed=False)

    @property
    def half_possible(self) -> bool:
        """Whether the console may have part of a command on it, or a RETURN may be unanswered."""
        return self.half_known or self._unsure

    @property
    def half_known(self) -> bool:
        """Whether the recording says that one of these is so."""
        return bool(self.now.half_typed or self.now.unanswered)

    @property
    def question_possible(self) -> bool:
        """Whether a question may have appeared since without having been recorded.

        It could be what the running step waited for, or the prompt at which the next one types.
        """
        if not self._under_way:
            return False
        first, has_typed = self._under_way[0], self._answered_it
        come = set(until_of(first)) if has_typed or not at_of(first) else set()
        to_type = self._under_way[1:] if has_typed else self._under_way
        come |= set(next((at_of(step) for step in to_type if at_of(step)), ()))
        return bool(come & self._asks)

    @property
    def typing(self) -> Typing:
        """How the machine takes what is typed at the prompt or display that appeared last."""
        return self._machine.typing_for(self.now.prompt)

    def as_fact(self, recording: str, *, may_lack: bool = False) -> kinds.LastRecordingRead:
        """What the recording of this name leaves open, once all of its facts have been taken.

        `may_lack`: its end may not have reached the disc.
        """
        return msgspec.structs.replace(
            self.now,
            recording=recording,
            may_lack=may_lack or self._unsure,
            in_doubt=[
                *(doubt.for_later(why=BROKE_OFF) for doubt in self._doubts.all),
                *([self._asked] if self._asked else []),
            ],
        )

    def take(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """Takes the next fact."""
        if isinstance(fact, kinds.TypingFailed) and fact.why == HELD_BACK and self._before is not None:
            self._known, self._before = self._before, None
            return
        self._before = self._known if _is_one_byte(fact) else None
        self._follow_jobs(fact)
        match fact:
            case kinds.StepStarted(script=script, step=step):
                self._begin_step(script, step, returned=False)
            case kinds.ScriptEnded():
                self._under_way = ()
            case kinds.LastRecordingRead(script=script, step=step, returned=returned):
                self._begin_step(script, step, returned=returned)
        match fact:
            case kinds.LastRecordingRead():
                self.now = msgspec.structs.replace(fact, closed=False, day=None)
                self._unsure = fact.may_lack
            case kinds.PlaceRecognised(line=""):
                self._silent = True
            case kinds.PlaceSought(line_clear=True):
                self._change(half_typed="", unanswered="")
                self._unsure = False
            case kinds.BytesTyped(bytes=text) if text and text == kinds.to_text(self.typing.show_again):
                pass  # showing the line again changes nothing on it
            case kinds.SecretTyped(by=by):
                self._typed("" if self.now.half_typed.endswith(SECRET) else SECRET, by)
            case kinds.BytesTyped(bytes="", secret=False):
                self._unsure = True  # by a person at the keyboard, and nothing tells what
            case kinds.BytesTyped():
                self._typed("*" * fact.count if fact.secret else fact.bytes, fact.by)
            case kinds.TypedByHand():
                for character in "*" * fact.count if fact.secret else fact.bytes:
                    plain = chr(ord(character) & self._mask)
                    self._typed(plain, A_PERSON)
                    self._returned_by_hand = plain == kinds.to_text(self.typing.return_key)
            case kinds.TypingConfirmed():
                self._change(unanswered="")
            case kinds.TypingGarbled(thrown_away=True):
                self._change(half_typed="")
            case kinds.LandmarkReached(landmark=name):
                self._stands(name)
            case kinds.ScriptStarted(script=script, by=by) if script != HOME and by != BY:
                self._change(script=script, step="", returned=False, numbers={}, put_away=[])
            case kinds.StepStarted(script=script) if script == self.now.script:
                # A tidy-up must not hide that the step before it may have started a job.
                if not (fact.tidying and self.now.returned):
                    self._change(step=fact.step, returned=False)
            case kinds.StepMatched(script=script) if script == self.now.script:
                self._matched(fact)
            case kinds.StepEnded(script=script, step=step) if script == self.now.script:
                self._ended(step)
            case kinds.ScriptEnded(script=script) if script == self.now.script:
                if fact.tidy or fact.outcome == "done":  # done, but for a doubt of an earlier pass
                    self._change(script="", step="", returned=False, numbers={}, put_away=[])
            case kinds.LineOpened():
                self._change(line_lost=False)
            case kinds.LineLost():
                self._change(line_lost=True)
            case kinds.RecordingClosed():
                self._change(closed=True)

    @property
    def _known(self) -> _Known:
        """All that a byte changes that is typed."""
        answered, cancelled = self._answered_it, self._cancelled
        return self.now, self._asked, answered, cancelled, self._silent, self._unsure

    @_known.setter
    def _known(self, known: _Known) -> None:
        self.now, self._asked, self._answered_it, self._cancelled, self._silent, self._unsure = known

    def take_by_hand(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """Takes the next fact of a later recording, in which only a person typed."""
        match fact:
            case kinds.LastRecordingRead():  # what he left open before midnight
                self._change(half_typed=fact.half_typed, unanswered=fact.unanswered)
                self._change(question=fact.question, display=fact.display, prompt=fact.prompt)
                self._unsure |= fact.may_lack
            case kinds.BytesMissed() if fact.typed:
                self._unsure = True
            case kinds.TypedByHand() | kinds.LandmarkReached():
                self.take(fact)

    def _follow_jobs(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """Follows which jobs may be running: those in doubt, and those that the tidy-up must stop."""
        self._doubts.note(fact)
        match fact:
            case kinds.RecordingOpened(use_before=before) if before is not None:
                self._doubts = Doubts(doubt_of(job) for job in before.in_doubt)
            case kinds.LastRecordingRead(in_doubt=jobs):
                self._asked = next((job for job in jobs if not job.asked), None)
                if not self._opened:
                    self._doubts = Doubts(doubt_of(job) for job in jobs if job.asked)
            case kinds.JobAsked() | kinds.ExerciserBegun() | kinds.JobInDoubt():
                self._asked = None
            case kinds.ExerciserEnded(exerciser=name, job=job) if job:
                self._job_ended(name, job)
        self._opened |= isinstance(fact, kinds.RecordingOpened)

    def _job_ended(self, exerciser: str, job: str) -> None:
        """The machine printed that this job has ended, whatever made it do so."""
        rules = next((one for one in self._exercisers if one.name == exerciser), None)
        begins = self._steps.get(self.now.script, {})
        remaining = {
            step: fields
            for step, fields in self.now.numbers.items()
            if rules is None
            or fields.get(rules.job) != job
            or not any(rules.begun in until_of(one) for one in begins.get(step, ())[:1])
        }
        self._change(numbers=remaining)

    def _begin_step(self, script: str, step: str, *, returned: bool) -> None:
        self._under_way = self._steps.get(script, {}).get(step, ())
        self._answered_it = returned

    def _change(self, **changes: object) -> None:
        self.now = msgspec.structs.replace(self.now, **changes)

    def _typed(self, text: str, by: str) -> None:
        woken, self._silent = self._silent, False
        if (by == BY or woken) and self._is_no_part(text):
            self._cancelled = False
            return
        cancel, end = kinds.to_text(self.typing.cancel), kinds.to_text(self.typing.return_key)
        if self.now.display:  # a status display acts on the key at once, so no typed text remains
            self._change(display="")
            self._cancelled = bool(cancel) and text == cancel
            return
        typed = (self.now.half_typed + text)[-LONGEST_HALF:]
        self._cancelled = bool(cancel) and typed.endswith(cancel)
        if self._cancelled:
            self._change(half_typed=typed.removesuffix(cancel))
        elif typed.endswith(end):
            command = typed.removesuffix(end)
            returned = self.now.returned or (bool(self.now.script) and by not in (BY, A_PERSON))
            self._answered_it = True
            if by != A_PERSON:  # a job of his is never recorded as asked for, begun or in doubt
                self._asked = self._job_of(command, by)
            self._change(half_typed="", unanswered=command, question="", returned=returned)
        else:
            self._change(half_typed=typed)

    def _is_no_part(self, text: str) -> bool:
        """Whether this key, a nudge or one that wakes the machine, can't be part of a command."""
        keys = (kinds.to_text(key) for key in (self.typing.cancel, self.typing.return_key))
        return len(text) == 1 and not "!" <= text <= "~" and text not in keys and not self.now.display

    def _job_of(self, command: str, by: str) -> kinds.InDoubt | None:
        """The job that this command starts, if it starts one."""
        typed = self.typing.folded(command.strip())
        fitting = [one.name for one in self._exercisers if one.typed.match(typed) is not None]
        if not fitting:
            return None
        return kinds.InDoubt(asked=0, exercisers=fitting, command=typed, by=by, why=BROKE_OFF)

    def _stands(self, name: str) -> None:
        question = name if name in self._asks else ""
        display = name if name in self._displays else ""
        self._change(question=question, display=display, prompt=name)
        if self._returned_by_hand:
            self._change(unanswered="")
            self._returned_by_hand = False
        # A prompt that the machine doesn't print anew after the cancel key doesn't show that it took the key.
        if self._cancelled and self.typing.after_cancel == "prompt":
            self._change(half_typed="", unanswered="")
            self._unsure = False

    def _matched(self, fact: kinds.StepMatched) -> None:
        named = set().union(*self._puts_away.get(fact.script, {}).values())
        if fact.step in named and fact.fields:
            self._change(numbers={**self.now.numbers, fact.step: fact.fields})
        if fact.step == self.now.step:
            self._change(returned=False)

    def _ended(self, step: str) -> None:
        puts_away = self._puts_away.get(self.now.script, {})
        if step not in puts_away:
            return
        put_away = [*self.now.put_away, step]
        remaining = {
            name: fields
            for name, fields in self.now.numbers.items()
            if any(name in named and other not in put_away for other, named in puts_away.items())
        }
        self._change(put_away=put_away, numbers=remaining)


def _is_one_byte(fact: kinds.AnyFact | kinds.UnknownFact) -> bool:
    """Whether this fact says that a byte is typed: one, or the first of a secret's part."""
    return isinstance(fact, kinds.SecretTyped) or (isinstance(fact, kinds.BytesTyped) and fact.count == 1)
