"""What each fact means for the person at the terminal, in sentences; and what that person is being asked."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from exhibit.commands.day.told_day import told_of_the_day
from exhibit.commands.saying import ENGLISH, Say, Sentence
from exhibit.commands.told_machine import ToldOfMachine, as_sentence, either
from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.decider import THIS_COMPUTER
from exhibit.decisions.machine.script import CLOSING, SILENT
from exhibit.decisions.panel.sentences import in_languages
from exhibit.decisions.session.late import ECHO, PROMPT_AGAIN, QUIET
from exhibit.decisions.session.script_run import SCRIPT_DONE
from exhibit.facts import kinds

BY = "the person at the terminal"
GO_ON: Final = Sentence('Look at the machine. When it is safe, type "go on", or press Ctrl-C here to end.')
_WHEN_LATE: Final[dict[kinds.WhatThen, list[Sentence]]] = {
    "wait on": [Sentence("  It gets the same time again, once.")],
    "again": [Sentence("  Its prompt is showing, so its command is to be typed again.")],
    "leave out": [Sentence("  It is to be left out.")],
    "stop": [],
    "ask": [
        Sentence("  WHAT NOW? Look at the machine. No command is typed until you answer:"),
        Sentence('    "wait on" gives the step its time again, "leave out" goes on with the next step,'),
        Sentence('    "stop" ends the script.'),
    ],
}
"""What happens to a step that is late."""
_KEYS: Final = {
    "nudge": Sentence("  The harmless key was typed, so that the machine shows what state it is in."),
    "cancel": Sentence("  The cancel key was typed, so that the machine shows what state it is in."),
}


class Told:
    """Puts facts into sentences. Its attributes say what the person is being asked."""

    def __init__(
        self, say: Say = ENGLISH, number: Callable[[str, str], str] = lambda script, step: ""
    ) -> None:
        """`number`: gives a hands-on step's number, by script and step."""
        self._say = say
        self._number = number
        self.asked_step = ""
        """The hands-on step that is being asked about; empty if none is."""
        self.asked_words = self.asked_number = ""
        self.asked_about_date = False
        self.late_step = ""
        """The late step about which the person is being asked; empty if there is none."""
        self.may_be_prompt = False
        """The late step waits for a prompt, so the person can say that it is showing."""
        self.failed = False
        self.ending = False
        """Somebody other than the person here has asked for the run to end."""
        self._machine = ToldOfMachine(say)
        self._line_lost = False
        self._tidy_up_reason = ""
        """Why a tidy-up has started, until its first step does."""
        self._nudged = False
        self._by_the_day = False
        """The scripts are run by the day: a stop ends a script, but neither the day nor the run."""

    def lines(self, entry: kinds.Entry) -> list[str]:
        """What this fact means for the person, line by line; empty if it means nothing."""
        if isinstance(entry.fact, kinds.LineLost | kinds.LineOpened):
            self._line_lost = isinstance(entry.fact, kinds.LineLost)
        if isinstance(entry.fact, kinds.RecordingOpened):  # perhaps of another bridge than before
            self.asked_step = self.late_step = ""
            self.failed = False
        if isinstance(entry.fact, kinds.DayTurned):
            self._by_the_day = True
        lines = self._machine.lines(entry) or self._of_the_scripts(entry.fact)
        if self.failed and not self.ending and isinstance(entry.fact, kinds.LineOpened):
            lines.append(f"  {self._say(GO_ON)}")
        return lines

    # -- the scripts, and the questions to the person

    def _of_the_scripts(self, fact: kinds.AnyFact | kinds.UnknownFact) -> list[str]:
        say = self._say
        match fact:
            case kinds.ScriptStarted(round=0):
                return [say.words(fact.title)]
            case kinds.ScriptStarted(round=number):
                return [say("{title}, round {number}", title=say.words(fact.title), number=number)]
            case kinds.ScriptRefused(script=script, why=why, until_us=0):
                return [say("  The script {script} can't run now: {why}.", script=script, why=why)]
            case kinds.ScriptRefused(script=script, why=why):
                return [say("  The script {script} must wait: {why}.", script=script, why=why)]
            case kinds.ScriptLeftOut(script=script, why=why):
                return [say("  The script {script} isn't needed: {why}.", script=script, why=why)]
            case kinds.HandsOnAsked():
                return self._asked(fact)
            case kinds.HandsOnPutOff(by=by, words=words):
                self.late_step = ""
                shown = [say("  The machine shows that it was done too early.")] if by == MACHINE else []
                return [
                    *shown,
                    *([f"  {say.words(words)}"] if words else []),
                    say("  It has its time again."),
                ]
            case kinds.HandsOnConfirmed() | kinds.HandsOnRefused():
                self.asked_step = self.late_step = ""
            case kinds.CaptionShown(kind="seen"):
                return [f"  {say.words(fact.words)}"]
            case kinds.StepOverdue():
                return self._overdue(fact)
            case kinds.LateAnswered(by=by) if by == MACHINE:
                self.late_step = ""
                return [
                    say("  What the step waited for has arrived after all, so the script goes on by itself.")
                ]
            case kinds.PromptVouched(step=step):
                self.late_step = ""
                return [
                    say(
                        "  The step {step} types there, because a person says that it is its prompt.",
                        step=step,
                    )
                ]
            case kinds.SecretRefused(step=step, times=times):
                return [
                    say(
                        "  The machine did not take the secret of the step {step}. Attempt {number}.",
                        step=step,
                        number=times + 1,
                    )
                ]
            case kinds.LateAnswered() | kinds.StepMatched() | kinds.StepLeftOut():
                self.late_step = ""
            case kinds.AnsweredLate(step=step, line=line):
                return [
                    say("  The answer to the step {step} came late: {line}", step=step, line=line.strip()),
                    say("  It is not repeated."),
                ]
            case kinds.RoundsWentOn(why=why, times=times, most=most):
                return [
                    say("  This round could not be finished: {why}", why=as_sentence(why)),
                    say(
                        "  Everything that it had started was stopped, so the rounds go on by themselves: "
                        "{times} of at most {most} times today.",
                        times=times,
                        most=most,
                    ),
                ]
            case kinds.DayTurned():
                self.ending = False
                return told_of_the_day(fact, say, BY)
            case kinds.RequestMade(request="stop", by=by) if by != BY and (
                by == THIS_COMPUTER or not self._by_the_day
            ):
                self.ending = True
            case kinds.TidyUpStarted(why=why):
                self.asked_step = self.late_step = ""
                self._tidy_up_reason = "" if why == SCRIPT_DONE else why
            case kinds.StepStarted(tidying=True) if self._tidy_up_reason:
                why, self._tidy_up_reason = self._tidy_up_reason, ""
                return [say("  Stopping what was started: {why}", why=as_sentence(why))]
            case kinds.ScriptEnded(outcome="done"):
                return [say("  Done.")]
            case kinds.ScriptEnded(outcome="stopped") if self._by_the_day:
                return [say("  Stopped. If the machine is on, it stays on.")]
            case kinds.ScriptEnded(outcome="stopped", script=script):
                shut_down = say(
                    "  If its closing doesn't follow by itself, run it to shut it down: --script closing."
                )
                return [
                    say("  Stopped. If the machine is on, it stays on."),
                    shut_down
                    if script != CLOSING
                    else say("  The closing is not finished. Have its keyholder do the rest at the machine."),
                ]
        return self._of_the_way_home(fact)

    def _of_the_way_home(self, fact: kinds.AnyFact | kinds.UnknownFact) -> list[str]:
        say = self._say
        match fact:
            case kinds.PlaceSought():
                return [say("  Listening, to find out what state the machine is in.")]
            case kinds.KeySent(key=key):
                self._nudged = key == "nudge"
                return [say(_KEYS[key])]
            case kinds.PlaceRecognised(place=place, line=line):
                nudged, self._nudged = self._nudged, False
                if line:
                    return [say("  The machine is at: {place}.", place=place)]
                silent = (
                    say("  The machine is silent: it may be off, or waiting for somebody.")
                    if place == SILENT
                    else say("  The machine is silent, as it is at: {place}.", place=place)
                )
                unanswered = say(
                    "  Nothing answered the harmless key. If the machine is on, "
                    "it may take that key as the answer to its next question."
                )
                return [silent, *([unanswered] if nudged else [])]
            case kinds.PersonAsked(rows=rows):
                return [
                    say("  The program doesn't know how to go on. The machine's display last showed:"),
                    *self._framed(rows),
                ]
            case kinds.SessionCleared():
                self.failed = False
                return [say("Going on. The program first finds out what state the machine is in.")]
            case kinds.SessionFailed(why=why):
                self.failed = True
                stopped = say("The scripts have stopped: {why}", why=as_sentence(why))
                if self.ending:
                    return [
                        stopped,
                        say("Nothing more is typed. Look at the machine: jobs may still be running there."),
                    ]
                return [
                    stopped,
                    say(
                        "Nothing more is typed at the machine, and nothing arrives from it "
                        "until it is connected again."
                    )
                    if self._line_lost
                    else say("Nothing more is typed at the machine; it is still mirrored and recorded."),
                    say(GO_ON),
                    say(
                        "To start from cold instead: if the machine is up, have it shut down in its own "
                        "order, by its keyholder. Then press Ctrl-C here and start again."
                    ),
                ]
        return []

    def _asked(self, fact: kinds.HandsOnAsked) -> list[str]:
        say = self._say
        self.asked_words = say.words(fact.words)
        self.asked_number = self._number(fact.script, fact.step)
        self.asked_about_date = not fact.caution
        self.asked_step = fact.step
        if not fact.caution:  # a question, such as whether a date is acceptable
            return [f"  {self.asked_words}"]
        return [
            say("  CAUTION: {caution}", caution=say.words(fact.caution)),
            say("  PLEASE: {words}", words=self.asked_words),
            *(f"    {number}. {words}" for number, words in enumerate(self._acts(fact), 1)),
            say("  Done, or already so?"),
            say('  If you did it too early, type "too early"; if nothing came of it, type "it didn\'t".'),
        ]

    def _acts(self, fact: kinds.HandsOnAsked) -> list[str]:
        """What to do at the machine's front, act by act."""
        return [self._say.words(in_languages(act, list(fact.words))) for act in fact.panel]

    def _overdue(self, fact: kinds.StepOverdue) -> list[str]:
        say = self._say
        self.asked_step = self.asked_step if fact.then in ("wait on", "ask") else ""
        self.late_step = fact.step if fact.then == "ask" else ""
        self.may_be_prompt = bool(self.late_step) and fact.at_prompt
        lines = [
            say(
                "  The step {step} took too long: it waited up to {seconds} s for {what}. "
                "The console last showed:",
                step=fact.step,
                seconds=f"{fact.within_us / 1_000_000:g}",
                what=either(fact.waited_for, say),
            ),
            *self._framed(fact.last_lines),
            *(say(sentence) for sentence in _WHEN_LATE[fact.then]),
        ]
        if self.may_be_prompt:
            lines.append(
                say(
                    '    If the last line is the prompt that it waits for, "it is the prompt" '
                    "makes it type there."
                )
            )
        if self.late_step and not {ECHO, PROMPT_AGAIN, QUIET} & {*fact.waited_for}:
            lines.append(
                say(
                    "  But if what it waits for arrives after all, the script goes on by itself, "
                    "and can type again."
                )
            )
        return lines

    def _framed(self, rows: list[str]) -> list[str]:
        return [f"    | {row.rstrip()}" for row in rows] or [f"    | {self._say('(nothing)')}"]
