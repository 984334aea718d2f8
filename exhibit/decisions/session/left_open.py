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

from exhibit.decisions.machine.filling import numbers_named
from exhibit.decisions.machine.script import HOME, AnyStep, Folder, TypeCommand
from exhibit.decisions.session.script_run import at_of, until_of
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
)
SECRET: Final = "****"
"""Stands for a secret, whatever its length."""
LONGEST_HALF: Final = 1000
"""How many characters of a half-typed command to keep."""

BY: Final = "the way home"
"""The `by` of ScriptStarted when homing runs the tidy-up of an unfinished script."""


class LeftOpen:
    """`now` is what is open after the facts taken so far."""

    def __init__(self, folder: Folder) -> None:
        machine = folder.machine
        self._cancel = kinds.to_text(machine.typing.cancel)
        self._look = kinds.to_text(machine.typing.show_again)
        self._return = kinds.to_text(machine.typing.return_key)
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
        self._unsure = False
        """The last recording's end may be missing, and the console hasn't been seen to be clear since."""
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

    def as_fact(self, recording: str, *, may_lack: bool = False) -> kinds.LastRecordingRead:
        """What the recording of this name leaves open, once all of its facts have been taken.

        `may_lack`: its end may not have reached the disc.
        """
        return msgspec.structs.replace(self.now, recording=recording, may_lack=may_lack or self._unsure)

    def take(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """Takes the next fact."""
        match fact:
            case kinds.StepStarted(script=script, step=step):
                self._begin_step(script, step, returned=False)
            case kinds.ScriptEnded():
                self._under_way = ()
            case kinds.LastRecordingRead(script=script, step=step, returned=returned):
                self._begin_step(script, step, returned=returned)
        match fact:
            case kinds.LastRecordingRead():
                self.now = msgspec.structs.replace(fact, closed=False)
                self._unsure = fact.may_lack
            case kinds.BytesTyped(bytes=text) if text and text == self._look:
                pass  # showing the line again changes nothing on it
            case kinds.SecretTyped(by=by):
                self._typed("" if self.now.half_typed.endswith(SECRET) else SECRET, by)
            case kinds.BytesTyped():
                self._typed("*" * fact.count if fact.secret else fact.bytes, fact.by)
            case kinds.TypingConfirmed():
                self._change(unanswered="")
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
            case kinds.ScriptEnded(script=script, tidy=True) if script == self.now.script:
                self._change(script="", step="", returned=False, numbers={}, put_away=[])
            case kinds.LineOpened():
                self._change(line_lost=False)
            case kinds.LineLost():
                self._change(line_lost=True)
            case kinds.RecordingClosed():
                self._change(closed=True)

    def _begin_step(self, script: str, step: str, *, returned: bool) -> None:
        self._under_way = self._steps.get(script, {}).get(step, ())
        self._answered_it = returned

    def _change(self, **changes: object) -> None:
        self.now = msgspec.structs.replace(self.now, **changes)

    def _typed(self, text: str, by: str) -> None:
        if self.now.display:  # a status display acts on the key at once, so no typed text remains
            self._change(display="")
            self._cancelled = text == self._cancel
            return
        typed = (self.now.half_typed + text)[-LONGEST_HALF:]
        self._cancelled = typed.endswith(self._cancel)
        if self._cancelled:
            self._change(half_typed=typed.removesuffix(self._cancel))
        elif typed.endswith(self._return):
            command = typed.removesuffix(self._return)
            returned = self.now.returned or (bool(self.now.script) and by != BY)
            self._answered_it = True
            self._change(half_typed="", unanswered=command, question="", returned=returned)
        else:
            self._change(half_typed=typed)

    def _stands(self, name: str) -> None:
        question = name if name in self._asks else ""
        self._change(question=question, display=name if name in self._displays else "")
        if self._cancelled:
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
