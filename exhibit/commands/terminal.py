"""The person at the terminal that started a run: told what goes on, asked for the hands-on steps."""

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

_NO: Final = re.compile(r"(?:no|n)(?:\b[\s,:;.-]+(.*)|)", re.IGNORECASE)
"""No, and perhaps why."""
BY = "the person at the terminal"
TOO_SOON_S = 1.0
"""Real seconds. Nobody has read a step and done it in so short a time: the RETURN was pressed twice."""
LANGUAGE = "en"
_NOW: Final[dict[kinds.WhatThen, list[str]]] = {
    "wait on": ["  It is given the same time again, once."],
    "again": ["  Its prompt stands, so its command is typed again."],
    "leave out": ["  It is left out."],
    "stop": [],
    "ask": [
        "  WHAT NOW? Look at the machine. Nothing is typed until you say",
        '    "wait on": its time begins again; "leave out": the next step is begun; or "stop".',
    ],
}
"""What becomes of a step that is late."""
_BY_ITSELF: Final = "  But if what it waits for comes after all, the script goes on by itself, and may type."


_GO_ON: Final = 'Look at the machine. When it is safe, type "go on"; or press Ctrl-C here to end.'
_ANSWER: Final = 'Answer "yes" when it is done; "no" when it can\'t be done, and why, if you like.'
_TOO_SOON: Final = (
    '  That "yes" came less than a second after the question, so nothing was confirmed.\n'
    "  Take your time: read it, then answer."
)
_KEPT: Final = (
    "  Nothing answered the harmless key. Should it be on, what it asks next may take that key for an answer."
)
_KEYS: Final = {"nudge": "harmless key", "cancel": "cancel key"}


def in_words(words: kinds.Words) -> str:
    """These words in the terminal's language, or in the first there is."""
    return words.get(LANGUAGE) or next(iter(words.values()), "")


class Terminal:
    """Tells in plain words what a recording tells, and answers for the person.

    Lines typed at the terminal go through `typed`: yes and no answer the step that is asked for, wait on
    and leave out say what becomes of one that is late, stop ends the scripts, and go on says after a
    failure that somebody has looked.
    """

    def __init__(
        self,
        door: Path,
        site: Site,
        out: TextIO = sys.stdout,
        steady_s: Callable[[], float] = time.monotonic,
    ) -> None:
        """`door`: where the bridge listens for requests. Tests give their own `steady_s`."""
        self._door = door
        self._out = out
        self._steady_s = steady_s
        self._asked = ""
        self._asked_s = 0.0
        self._failed = False
        self._late = ""
        """The step of which is asked what becomes of it now that it is late."""
        self._site = site
        self._putting_away = ""
        """Why a tidy-up has begun, until it has something to do."""
        self._nudged = self._ending = False

    def begin(self, *, typing: bool = True) -> None:
        """Says first what whoever stands before the machine must know; `typing`: scripts will type at it."""
        self._say(f"If anybody is in danger: {in_words(self._site.mains_stop)}")
        self._say(f"Keyholder: {in_words(self._site.keyholder)}")
        self._say(in_words(self._site.rules))
        if typing:
            self._say('Type "stop" and RETURN to end the script; what it began is put away first.')
        else:
            self._say("The machine is only watched: nothing is typed at it. Ctrl-C ends the watching.")
        self._say("Neither is the mains stop.")
        self._say("")

    def listen(self, source: TextIO = sys.stdin) -> None:
        """Reads answers from the terminal, in a thread of its own, for as long as there are any."""
        threading.Thread(target=self._listen, args=(source,), name="terminal", daemon=True).start()

    def typed(self, line: str) -> None:
        """A line was typed at the terminal."""
        word = line.strip().lower()
        if word == "stop":
            self._request(Request(request="stop", by=BY))
        elif word == "let go":
            self._request(Request(request="let go", by=BY))
        elif word == "go on":
            self._request(Request(request="clear", by=BY))
        elif self._late and word in ("wait on", "leave out"):
            request: Literal["wait on", "leave out"] = "wait on" if word == "wait on" else "leave out"
            self._request(Request(request=request, by=BY, step=self._late))
        elif self._late and not self._asked:
            self._say('Answer "wait on", "leave out" or "stop".')
        elif self._failed and not self._asked:
            self._say(f"The scripts have stopped, and nothing is being asked. {_GO_ON}")
        elif not self._asked:
            self._say('Nothing is being asked now. "stop" stops the typing.')
        elif word in ("yes", "y") and self._steady_s() - self._asked_s < TOO_SOON_S:
            self._say(_TOO_SOON)
        elif word in ("yes", "y"):
            self._request(Request(request="confirm", by=BY, step=self._asked))
        elif no := _NO.fullmatch(line.strip()):
            self._request(Request(request="refuse", by=BY, step=self._asked, why=(no[1] or "").strip(" .")))
        else:
            self._say(_ANSWER)

    def tell(self, entry: kinds.Entry) -> None:
        """Says what this fact means for the person, if it means anything."""
        for line in self._told(entry.fact):
            self._say(line)

    def _told(self, fact: kinds.AnyFact | kinds.UnknownFact) -> list[str]:
        match fact:
            case kinds.ScriptStarted(round=number):
                return [f"{in_words(fact.title)}{f', round {number}' if number else ''}"]
            case kinds.ScriptRefused(script=script, why=why, until_us=until_us):
                then = "It waits until it may." if until_us else "Not today."
                return [f"  The {script} may not go on now: {why}. {then}"]
            case kinds.HandsOnAsked():
                # In this order: another thread reads what is typed.
                self._asked_s = self._steady_s()
                self._asked = fact.step
                if not fact.caution:  # a question, such as whether a date may be told
                    return [f"  {in_words(fact.words)}", "  May it? (yes, or no and why)"]
                caution = f"  CAUTION: {in_words(fact.caution)}"
                return [
                    caution,
                    f"  PLEASE: {in_words(fact.words)}",
                    "  Is it done, or so already? (yes, or no and why)",
                ]
            case kinds.CaptionShown(kind="seen"):
                return [f"  {in_words(fact.words)}"]
            case kinds.HandsOnConfirmed() | kinds.HandsOnRefused():
                self._asked = self._late = ""
            case kinds.StepOverdue():
                return self._told_late(fact)
            case kinds.LateAnswered(by=by) if by == MACHINE:
                self._late = ""
                return ["  What it waited for has come after all, so it goes on by itself."]
            case kinds.LateAnswered() | kinds.StepMatched() | kinds.StepLeftOut():
                self._late = ""
            case kinds.TypingGarbled():
                return [f"  {fact.command} came back as {fact.came_back!r}, so it was cancelled."]
            case kinds.TypingLetGo() if fact.by != MACHINE:
                return ["  It is typed on, although the machine has not said that it may be."]
            case kinds.TroubleRaised():
                return [f"  TROUBLE: {in_words(fact.words)}", f"  {in_words(fact.do)}"]
            case kinds.RequestMade(request="stop", by=by) if by != BY:
                self._ending = True
            case kinds.LineLost():
                return [
                    f"  The line to the machine is away: {fact.why}",
                    "  It is tried again all the time. Is a cable out, or the machine off?",
                ]
            case kinds.LineOpened():
                return ["  The line to the machine is open.", *([f"  {_GO_ON}"] if self._failed else [])]
            case kinds.RecordNearlyFull():
                return ["  The disc for the recordings is full. Free some space before the next run."]
            case kinds.TidyUpStarted(why=why):
                self._asked = self._late = ""
                self._putting_away = "" if why == "the script is done" else why
            case kinds.StepStarted(tidying=True) if self._putting_away:
                why, self._putting_away = self._putting_away, ""
                return [f"  Putting away what was begun: {_sentence(why)}"]
            case kinds.ScriptEnded(outcome="done"):
                return ["  done."]
            case kinds.ScriptEnded(outcome="stopped"):
                return ["  Stopped. If the machine is on, it stays on; --script closing runs its closing."]
            case kinds.LastRecordingRead():
                return _left_open(fact)
            case kinds.PlaceSought():
                return ["  Listening where the machine stands."]
            case kinds.KeySent(key=key):
                self._nudged = key == "nudge"
                return [f"  The {_KEYS[key]} was typed, so that it shows where it stands."]
            case kinds.PlaceRecognised(place=place):
                nudged, self._nudged = self._nudged, False
                if place == SILENT:
                    heard = "  Nothing is to be heard from it: it may be off, or wait for somebody."
                    return [heard, *([_KEPT] if nudged else [])]
                return [f"  It stands at: {place}."]
            case kinds.ScriptLeftOut():
                return [f"  The script {fact.script} isn't needed: {fact.why}."]
            case kinds.LineUnreadable() | kinds.LocalEchoFound():
                return [f"  {fact.what}", f"  {fact.do}"]
            case kinds.PersonAsked():
                return [
                    "  It isn't known how to go on. When it was last heard, the machine's display showed:",
                    *_framed(fact.rows),
                ]
            case kinds.SessionCleared():
                self._failed = False
                return ["Going on: first it is found out where the machine stands."]
            case kinds.SessionFailed():
                self._failed = True
                stopped = f"The scripts have stopped: {_sentence(fact.why)}"
                if self._ending:
                    return [
                        stopped,
                        "Nothing more is typed. Look at the machine: what was begun may go on there.",
                    ]
                return [
                    stopped,
                    "Nothing more is typed at the machine; it is still mirrored and recorded.",
                    _GO_ON,
                    "To begin from cold instead, switch it off, press Ctrl-C here, and start again.",
                ]
        return []

    def _told_late(self, fact: kinds.StepOverdue) -> list[str]:
        self._asked = self._asked if fact.then in ("wait on", "ask") else ""
        self._late = fact.step if fact.then == "ask" else ""
        return [
            f"  The step {fact.step} took too long: waited for {' or '.join(fact.waited_for)}, "
            f"at most {fact.within_us / 1_000_000:g} s. The machine printed last:",
            *(f"    | {line}" for line in fact.last_lines),
            *_NOW[fact.then],
            *([_BY_ITSELF] if self._late and not {ECHO, QUIET} & {*fact.waited_for} else []),
        ]

    def _request(self, request: Request) -> None:
        answer: Answer = ask(self._door, request)
        if not answer.accepted:
            self._say(f"  That was not done: {answer.why}.")
            if self._asked:
                self._say(f"  {_ANSWER}")

    def _listen(self, source: TextIO) -> None:
        for line in source:
            self.typed(line)

    def _say(self, line: str) -> None:
        print(line, file=self._out, flush=True)


def _left_open(fact: kinds.LastRecordingRead) -> list[str]:
    """What whoever starts a run should know of the one before it."""
    lines = []
    if fact.recording and not fact.closed:
        lacks = " Its last second may lack." if fact.may_lack else ""
        lines.append(f"  The recording before this one, {fact.recording}, broke off.{lacks}")
    if fact.numbers:
        begun = (
            f"{step} ({', '.join(f'{name} {value}' for name, value in fields.items())})"
            for step, fields in fact.numbers.items()
        )
        lines.append(
            f"  The script {fact.script} of the run before may have left something going: {', '.join(begun)}."
        )
    if fact.question:
        lines.append(f"  In the run before the question {fact.question} was not answered.")
    return lines


def _sentence(why: str) -> str:
    return why if why.endswith(("?", ".", "!")) else f"{why}."


def _framed(rows: list[str]) -> list[str]:
    return [f"    | {row.rstrip()}" for row in rows] or ["    | (nothing)"]
