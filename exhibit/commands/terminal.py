"""The terminal that started a run: prints what happens, and sends the person's answers to the bridge."""

from __future__ import annotations

import re
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Final, Literal, TextIO

from exhibit.bridge.request_door import Answer, Request, ask
from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.machine.description import Site
from exhibit.decisions.machine.script import SILENT
from exhibit.decisions.session.late import ECHO, QUIET
from exhibit.facts import kinds

BY = "the person at the terminal"
TOO_SOON_S = 1.0
"""Real seconds. Nobody can read a step and do it in so short a time: RETURN was pressed twice."""
LANGUAGE = "en"
_NO: Final = re.compile(r"(?:no|n)(?:\b[\s,:;.-]+(.*)|)", re.IGNORECASE)
"""A no, with the reason for it in group 1 if there is one."""
_WHEN_LATE: Final[dict[kinds.WhatThen, list[str]]] = {
    "wait on": ["  It gets the same time again, once."],
    "again": ["  Its prompt is showing, so its command is typed again."],
    "leave out": ["  It is left out."],
    "stop": [],
    "ask": [
        "  WHAT NOW? Look at the machine. Nothing is typed until you answer:",
        '    "wait on" gives the step its time again, "leave out" goes on with the next step,',
        '    "stop" ends the script.',
    ],
}
"""What happens to a step that is late."""
_BY_ITSELF: Final = (
    "  But if what it waits for arrives after all, the script goes on by itself, and can type again."
)
_GO_ON: Final = 'Look at the machine. When it is safe, type "go on", or press Ctrl-C here to end.'
_FROM_COLD: Final = (
    "To start from cold instead, have it shut down in its own order, by its keyholder; "
    "then press Ctrl-C here and start again."
)
_HOW_TO_ANSWER: Final = 'Answer "yes" or "no"; after "no" you can say why.'
_TOO_SOON: Final = (
    '  That "yes" came less than a second after the question, so nothing was confirmed.\n'
    "  Read the question first, then answer."
)
_KEY_WITHOUT_ANSWER: Final = (
    "  Nothing answered the harmless key. If the machine is on, "
    "it may take that key as the answer to its next question."
)
_KEYS: Final = {"nudge": "harmless key", "cancel": "cancel key"}


def in_words(words: kinds.Words) -> str:
    """These words in the terminal's language, or else in the first language that they have."""
    return words.get(LANGUAGE) or next(iter(words.values()), "")


class Terminal:
    """Prints in plain words what a recording reports, and sends what the person types to the bridge.

    "yes" and "no" answer the step that is being asked about. "wait on" and "leave out" decide what happens
    to a step that is late. "stop" ends the scripts. "go on" says after a failure that somebody has looked.
    "let go" releases typing that the machine has stopped with XOFF.
    """

    def __init__(
        self,
        door: Path,
        site: Site,
        out: TextIO = sys.stdout,
        steady_s: Callable[[], float] = time.monotonic,
    ) -> None:
        """`door`: the socket at which the bridge takes requests. `steady_s`: a clock, in seconds."""
        self._door = door
        self._site = site
        self._out = out
        self._steady_s = steady_s
        self._asked_step = ""
        """The hands-on step that is being asked about; empty if none is."""
        self._asked_at_s = 0.0
        self._late_step = ""
        """The late step about which the person is being asked; empty if there is none."""
        self._failed = False
        self._tidy_up_reason = ""
        """Why a tidy-up has started, until its first step does."""
        self._nudged = False
        self._ending = False
        """Somebody other than the person here has asked for the run to end."""

    def show_cautions(self, *, typing: bool = True) -> None:
        """Prints what must be known beside the machine. `typing`: scripts will type at it."""
        self._print(f"If anybody is in danger: {in_words(self._site.mains_stop)}")
        self._print(f"Keyholder: {in_words(self._site.keyholder)}")
        self._print(in_words(self._site.rules))
        if typing:
            self._print('To end the script, type "stop" and press RETURN: it first stops what it started.')
        else:
            self._print("Watch only: nothing is typed at the machine. Press Ctrl-C to end.")
        self._print("That is not the mains stop.")
        self._print("")

    def listen(self, source: TextIO = sys.stdin) -> None:
        """Reads the person's lines from `source`, in a thread of its own, until there are no more."""
        threading.Thread(target=self._listen, args=(source,), name="terminal", daemon=True).start()

    def answer(self, line: str) -> None:
        """Acts on a line that the person typed."""
        word = line.strip().lower()
        if word == "stop":
            self._request(Request(request="stop", by=BY))
        elif word == "let go":
            self._request(Request(request="let go", by=BY))
        elif word == "go on":
            self._request(Request(request="clear", by=BY))
        elif self._late_step and word in ("wait on", "leave out"):
            request: Literal["wait on", "leave out"] = "wait on" if word == "wait on" else "leave out"
            self._request(Request(request=request, by=BY, step=self._late_step))
        elif self._late_step and not self._asked_step:
            self._print('Answer "wait on", "leave out" or "stop".')
        elif self._failed and not self._asked_step:
            self._print(f"The scripts have stopped, and there is no question to answer. {_GO_ON}")
        elif not self._asked_step:
            self._print('There is no question to answer. To stop the typing, type "stop".')
        elif word in ("yes", "y") and self._steady_s() - self._asked_at_s < TOO_SOON_S:
            self._print(_TOO_SOON)
        elif word in ("yes", "y"):
            self._request(Request(request="confirm", by=BY, step=self._asked_step))
        elif no := _NO.fullmatch(line.strip()):
            why = (no[1] or "").strip(" .")
            self._request(Request(request="refuse", by=BY, step=self._asked_step, why=why))
        else:
            self._print(_HOW_TO_ANSWER)

    def report(self, entry: kinds.Entry) -> None:
        """Prints what this fact means for the person, if it means anything."""
        for line in self._lines_for(entry.fact):
            self._print(line)

    def _lines_for(self, fact: kinds.AnyFact | kinds.UnknownFact) -> list[str]:
        match fact:
            case kinds.ScriptStarted(round=number):
                return [f"{in_words(fact.title)}{f', round {number}' if number else ''}"]
            case kinds.ScriptRefused(script=script, why=why, until_us=until_us):
                can_run = "must wait" if until_us else "can't run now"
                return [f"  The script {script} {can_run}: {why}."]
            case kinds.HandsOnAsked():
                # The time first: the thread that reads answers looks at the time only once a step is set.
                self._asked_at_s = self._steady_s()
                self._asked_step = fact.step
                if not fact.caution:  # a question, such as whether a date is acceptable
                    return [f"  {in_words(fact.words)}", "  Your answer? (yes, or no and why)"]
                return [
                    f"  CAUTION: {in_words(fact.caution)}",
                    f"  PLEASE: {in_words(fact.words)}",
                    "  Done, or already so? (yes, or no and why)",
                ]
            case kinds.CaptionShown(kind="seen"):
                return [f"  {in_words(fact.words)}"]
            case kinds.HandsOnConfirmed() | kinds.HandsOnRefused():
                self._asked_step = self._late_step = ""
            case kinds.StepOverdue():
                return self._lines_when_late(fact)
            case kinds.LateAnswered(by=by) if by == MACHINE:
                self._late_step = ""
                return ["  What the step waited for has arrived after all, so the script goes on by itself."]
            case kinds.LateAnswered() | kinds.StepMatched() | kinds.StepLeftOut():
                self._late_step = ""
            case kinds.TypingGarbled():
                return [f"  {fact.command} came back as {fact.came_back!r}, so it was cancelled."]
            case kinds.TypingLetGo() if fact.by != MACHINE:
                return ["  The program types again, although the machine has not asked for it (XON)."]
            case kinds.TroubleRaised():
                return [f"  TROUBLE: {in_words(fact.words)}", f"  {in_words(fact.do)}"]
            case kinds.RequestMade(request="stop", by=by) if by != BY:
                self._ending = True
            case kinds.LineLost():
                return [
                    f"  The machine is not connected: {_sentence(fact.why)}",
                    "  The program keeps trying. Has a cable come out, or is the machine off?",
                ]
            case kinds.LineOpened():
                return ["  The line to the machine is open.", *([f"  {_GO_ON}"] if self._failed else [])]
            case kinds.RecordNearlyFull():
                return ["  This computer's disc for recordings is full. Free some space before the next run."]
            case kinds.TidyUpStarted(why=why):
                self._asked_step = self._late_step = ""
                self._tidy_up_reason = "" if why == "the script is done" else why
            case kinds.StepStarted(tidying=True) if self._tidy_up_reason:
                why, self._tidy_up_reason = self._tidy_up_reason, ""
                return [f"  Stopping what was started: {_sentence(why)}"]
            case kinds.ScriptEnded(outcome="done"):
                return ["  Done."]
            case kinds.ScriptEnded(outcome="stopped"):
                return [
                    "  Stopped. If the machine is on, it stays on.",
                    "  To shut it down, run its closing: --script closing.",
                ]
            case kinds.LastRecordingRead():
                return _left_by_last_run(fact)
            case kinds.PlaceSought():
                return ["  Listening, to find out what state the machine is in."]
            case kinds.KeySent(key=key):
                self._nudged = key == "nudge"
                return [f"  The {_KEYS[key]} was typed, so that the machine shows what state it is in."]
            case kinds.PlaceRecognised(place=place):
                nudged, self._nudged = self._nudged, False
                if place == SILENT:
                    silent = "  The machine is silent: it may be off, or waiting for somebody."
                    return [silent, *([_KEY_WITHOUT_ANSWER] if nudged else [])]
                return [f"  The machine is at: {place}."]
            case kinds.ScriptLeftOut():
                return [f"  The script {fact.script} isn't needed: {fact.why}."]
            case kinds.LineUnreadable() | kinds.LocalEchoFound():
                return [f"  {fact.what}", f"  {fact.do}"]
            case kinds.LineReadable(cause=cause):
                return [f"  Text arrives on the line after all: the {cause} in machine.toml is right."]
            case kinds.PersonAsked():
                return [
                    "  The program doesn't know how to go on. The machine's display last showed:",
                    *_framed(fact.rows),
                ]
            case kinds.SessionCleared():
                self._failed = False
                return ["Going on. The program first finds out what state the machine is in."]
            case kinds.SessionFailed():
                self._failed = True
                stopped = f"The scripts have stopped: {_sentence(fact.why)}"
                if self._ending:
                    return [
                        stopped,
                        "Nothing more is typed. Look at the machine: jobs may still be running there.",
                    ]
                return [
                    stopped,
                    "Nothing more is typed at the machine; it is still mirrored and recorded.",
                    _GO_ON,
                    _FROM_COLD,
                ]
        return []

    def _lines_when_late(self, fact: kinds.StepOverdue) -> list[str]:
        self._asked_step = self._asked_step if fact.then in ("wait on", "ask") else ""
        self._late_step = fact.step if fact.then == "ask" else ""
        return [
            f"  The step {fact.step} took too long: it waited up to {fact.within_us / 1_000_000:g} s "
            f"for {' or '.join(fact.waited_for)}. The console last showed:",
            *_framed(fact.last_lines),
            *_WHEN_LATE[fact.then],
            *([_BY_ITSELF] if self._late_step and not {ECHO, QUIET} & {*fact.waited_for} else []),
        ]

    def _request(self, request: Request) -> None:
        answer: Answer = ask(self._door, request)
        if not answer.accepted:
            self._print(f"  That was not done: {answer.why}.")
            if self._asked_step:
                self._print(f"  {_HOW_TO_ANSWER}")

    def _listen(self, source: TextIO) -> None:
        for line in source:
            self.answer(line)

    def _print(self, line: str) -> None:
        print(line, file=self._out, flush=True)


def _left_by_last_run(fact: kinds.LastRecordingRead) -> list[str]:
    """What a person who starts a run should know about the run before it."""
    lines = []
    if fact.recording and not fact.closed:
        missing = " Its last second may be missing." if fact.may_lack else ""
        lines.append(f"  The recording of the run before, {fact.recording}, broke off.{missing}")
    if fact.numbers:
        jobs = ", ".join(
            f"{step} ({', '.join(f'{name} {value}' for name, value in fields.items())})"
            for step, fields in fact.numbers.items()
        )
        lines.append(f"  In the run before, the script {fact.script} may have left jobs running: {jobs}.")
    if fact.question:
        lines.append(f"  In the run before, the question {fact.question} was not answered.")
    return lines


def _sentence(why: str) -> str:
    return why if why.endswith(("?", ".", "!")) else f"{why}."


def _framed(rows: list[str]) -> list[str]:
    return [f"    | {row.rstrip()}" for row in rows] or ["    | (nothing)"]
