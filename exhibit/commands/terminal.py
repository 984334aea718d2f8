"""The terminal that started a run: prints what happens, and sends the person's answers to the bridge."""

from __future__ import annotations

import re
import sys
import threading
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final, Literal, TextIO

from exhibit.bridge.request_door import Answer, Request, ask
from exhibit.commands.open_question import ANSWERS, Kind, OpenQuestion
from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.machine.description import Site
from exhibit.decisions.machine.script import SILENT
from exhibit.decisions.session.late import ECHO, QUIET
from exhibit.facts import kinds
from exhibit.facts.wall_times import WallTimes

BY = "the person at the terminal"
TOO_SOON_S = 1.0
"""Real seconds. Nobody can read a step and do it in so short a time: RETURN was pressed twice."""
LANGUAGE = "en"
AGAIN_AFTER_S = 1.0
"""Real seconds. The open question is printed again when nothing else was printed for this long."""
_NO: Final = re.compile(r"(?:no|n)(?:\b[\s,:;.-]+(.*)|)", re.IGNORECASE)
_CANNOT: Final = re.compile(r"(?:can'?t|can’t|cannot)(?:\b[\s,:;.-]+(.*)|)", re.IGNORECASE)
"""A no, or that it can't be done, with the reason for it in group 1 if there is one."""
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
_PROMPT: Final = (
    '    If the last line is the prompt that it waits for, "it is the prompt" makes it type there.'
)
_BY_ITSELF: Final = (
    "  But if what it waits for arrives after all, the script goes on by itself, and can type again."
)
_GO_ON: Final = 'Look at the machine. When it is safe, type "go on", or press Ctrl-C here to end.'
_AFTER_NO: Final = (
    '  Not yet, or can\'t it be done? "not yet" gives the step its time again, as often as you like.\n'
    '  "can\'t" and why, such as "can\'t, the lamp stays dark", ends the script: what it started on the\n'
    "  machine is stopped, and then nothing more is typed until somebody has looked."
)
_PUT_OFF: Final = "  It has its time again."
_FROM_COLD: Final = (
    "To start from cold instead, have it shut down in its own order, by its keyholder; "
    "then press Ctrl-C here and start again."
)
_NO_JOB: Final = (
    '  Look at the machine. If no such job is running, or once you have stopped it, type "no job is running".'
)
_HOW_KNOWN: Final[dict[kinds.DoubtEnd, str]] = {
    "ended": "the machine printed its end ({by})",
    "not listed": "it isn't among the jobs that the machine lists ({by})",
    "a person": "{by} says so",
}
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

    "yes", "not yet" and "can't" answer the step that is being asked about. "wait on" and "leave out" decide
    what happens to a step that is late, and "it is the prompt" has it type at a line that isn't recognised.
    "stop" ends the scripts. "go on" says after a failure that somebody has looked. "let go" releases typing
    that the machine has stopped with XOFF. "no job is running" ends the doubt about jobs that may have begun
    without the machine saying so. The open question stays last.
    """

    def __init__(
        self,
        door: Path,
        site: Site,
        out: TextIO = sys.stdout,
        steady_s: Callable[[], float] = time.monotonic,
        number: Callable[[str, str], str] = lambda script, step: "",
    ) -> None:
        """`door`: the socket at which the bridge takes requests. `steady_s`: a clock, in seconds.

        `number`: gives a hands-on step's number, by script and step.
        """
        self._door = door
        self._site = site
        self._out = out
        self._steady_s = steady_s
        self._clock = WallTimes()
        self._asked_step = ""
        """The hands-on step that is being asked about; empty if none is."""
        self._asked_words = self._asked_number = ""
        self._asked_about_date = False
        self._asked_at_s = 0.0
        self._number = number
        self._rate = 1.0
        self._due_s: float | None = None
        """When the running step's time is up, on the steady clock."""
        self._why_not = ""
        """The reason that the person gave with a "no" to a hands-on step."""
        self._lock = threading.RLock()
        """Held while something is printed: facts and answers come in threads of their own."""
        self._printed_s = 0.0
        self._last_line = ""
        """The line of the open question, if it is the last thing here; empty if something else is."""
        self._may_be_prompt = False
        """The late step waits for a prompt, so the person can say that it is showing."""
        self._late_step = ""
        """The late step about which the person is being asked; empty if there is none."""
        self._failed = False
        self._clock = WallTimes()
        self._ends: dict[int, str] = {}
        """By number: when a job that the run before left in doubt was meant to end."""
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
        with self._lock:  # the person's own line is the last one now
            self._printed_s, self._last_line = self._steady_s(), ""
        word = line.strip().lower()
        if word == "stop":
            self._request(Request(request="stop", by=BY))
        elif word == "let go":
            self._request(Request(request="let go", by=BY))
        elif word.rstrip(".") == "no job is running":
            self._request(Request(request="no job", by=BY))
        elif word == "go on":
            self._request(Request(request="clear", by=BY))
        elif self._late_step and word in ("wait on", "leave out"):
            request: Literal["wait on", "leave out"] = "wait on" if word == "wait on" else "leave out"
            self._request(Request(request=request, by=BY, step=self._late_step))
        elif self._late_step and self._may_be_prompt and word == "it is the prompt":
            self._request(Request(request="it is the prompt", by=BY, step=self._late_step))
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
        elif word == "not yet":
            self._request(Request(request="not yet", by=BY, step=self._asked_step))
        elif no := _CANNOT.fullmatch(line.strip()):
            self._refuse(_reason(no) or self._why_not)
        elif no := _NO.fullmatch(line.strip()):
            if self._asked_about_date:
                self._refuse(_reason(no))
            else:
                self._why_not = _reason(no)
                self._print(_AFTER_NO)
        else:
            self._print(f"  {ANSWERS[self._kind or 'hands-on']}")

    def report(self, entry: kinds.Entry) -> None:
        """Prints what this fact means for the person, if it means anything."""
        match entry.fact:
            case kinds.RecordingOpened(wall=wall, rate=rate):
                self._rate = rate
                self._clock.set(wall, entry.at_us, rate)
                before = entry.fact.use_before
                self._ends = {job.asked: job.ends for job in before.in_doubt} if before else {}
            case kinds.ClockStepped(wall=wall):
                self._clock.set(wall, entry.at_us)
            case kinds.DeadlineArmed(name="step", due_us=due_us):
                self._due_s = self._steady_s() + (due_us - entry.at_us) / self._rate / 1_000_000
        asks = isinstance(entry.fact, kinds.HandsOnAsked | kinds.StepOverdue | kinds.SessionFailed)
        with self._lock:
            for line in self._lines_for(entry.fact):
                self._print(line)
            if asks:
                self._show_last_line()

    def look(self) -> None:
        """Call this a few times a second: keeps the open question last, with the time that is left."""
        with self._lock:
            if self._kind is None:
                return
            if self._last_line:
                self._renew_last_line()
            elif self._steady_s() - self._printed_s >= AGAIN_AFTER_S:
                self._ask_again()

    # -- the open question --------------------------------------------------------------------

    @property
    def _kind(self) -> Kind | None:
        """What kind of question is open; None if there is none."""
        if self._asked_step:
            return "late hands-on" if self._late_step else "date" if self._asked_about_date else "hands-on"
        return "late" if self._late_step else "failed" if self._failed and not self._ending else None

    @property
    def _question(self) -> OpenQuestion | None:
        kind = self._kind
        if kind is None:
            return None
        words = (
            self._asked_words
            if self._asked_step
            else f"the step {self._late_step}"
            if self._late_step
            else ""
        )
        return OpenQuestion(kind=kind, words=words, number=self._asked_number if self._asked_step else "")

    def _left_us(self) -> int | None:
        """The real time that is left to answer; None if there is no limit."""
        if self._due_s is None or not self._asked_step or self._late_step:
            return None
        return round((self._due_s - self._steady_s()) * 1_000_000)

    def _ask_again(self) -> None:
        """Prints the open question again, if there is one, because something else was printed after it."""
        question = self._question
        if question is not None:
            self._print(question.again())
            self._show_last_line()

    def _show_last_line(self) -> None:
        question = self._question
        if question is not None:
            line = question.last_line(self._left_us())
            self._print(line)
            self._last_line = line

    def _renew_last_line(self) -> None:
        """Writes the time that is left over the last line, where the terminal can; what is typed stays."""
        question = self._question
        line = question.last_line(self._left_us()) if question is not None else ""
        if line and line != self._last_line and self._out.isatty():
            # ECMA-48 has no codes for keeping the cursor's place; these are common practice (DECSC, DECRC).
            print(f"\x1b7\x1b[A\r\x1b[K{line}\x1b8", end="", file=self._out, flush=True)
            self._last_line = line

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
                self._asked_words = in_words(fact.words)
                self._asked_number = self._number(fact.script, fact.step)
                self._asked_about_date = not fact.caution
                self._why_not = ""
                if not fact.caution:  # a question, such as whether a date is acceptable
                    return [f"  {self._asked_words}"]
                return [
                    f"  CAUTION: {in_words(fact.caution)}",
                    f"  PLEASE: {self._asked_words}",
                    "  Done, or already so?",
                ]
            case kinds.HandsOnPutOff():
                self._late_step = ""
                return [_PUT_OFF]
            case kinds.CaptionShown(kind="seen"):
                return [f"  {in_words(fact.words)}"]
            case kinds.HandsOnConfirmed() | kinds.HandsOnRefused():
                self._asked_step = self._late_step = ""
            case kinds.StepOverdue():
                return self._lines_when_late(fact)
            case kinds.LateAnswered(by=by) if by == MACHINE:
                self._late_step = ""
                return ["  What the step waited for has arrived after all, so the script goes on by itself."]
            case kinds.PromptVouched(step=step):
                self._late_step = ""
                return [f"  The step {step} types there, because a person says that it is its prompt."]
            case kinds.SecretRefused(step=step, times=times):
                return [f"  The machine did not take the secret of the step {step}. Attempt {times + 1}."]
            case kinds.LateAnswered() | kinds.StepMatched() | kinds.StepLeftOut():
                self._late_step = ""
            case kinds.MachineSilent(heard_us=heard_us):
                since = f"since {self._clock.wall(heard_us)[11:19]}" if heard_us else "from it yet"
                return [
                    f"  Something was due from the machine, but nothing has been heard {since}.",
                    "  Is it on, and is the cable in place?",
                ]
            case kinds.HeardAgain(silent_us=silent_us):
                return [f"  The machine is heard again, after {silent_us / 1_000_000:.0f} s of its time."]
            case kinds.AnsweredLate(step=step, line=line):
                return [f"  The answer to the step {step} came late: {line.strip()}", "  It is not repeated."]
            case kinds.RoundsWentOn():
                return _goes_on(fact)
            case kinds.TypingGarbled():
                then = "the machine threw it away" if fact.thrown_away else "it was not sent"
                return [f"  {fact.command} came back as {fact.came_back!r}; {then}."]
            case kinds.TypingLetGo() if fact.by != MACHINE:
                return ["  The program types again, although the machine has not asked for it (XON)."]
            case kinds.JobInDoubt():
                until = self._clock.wall(fact.ends_us) if fact.ends_us else ""
                return _in_doubt(fact.exercisers, fact.command, fact.job, fact.why, until)
            case kinds.JobListed(job=job, by=by):
                return [f"  The number of a job that may be running is {job} ({by} shows it)."]
            case kinds.JobDoubtOver(how=how, by=by) if how != "refused":
                return [f"  A job that was in doubt isn't running: {_HOW_KNOWN[how].format(by=by)}."]
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
            case kinds.OtherProgramSeen():
                return [
                    f"  Another program has {fact.port} open too: {', '.join(fact.programs)}.",
                    "  If two programs read one port, each gets only part of what arrives. End that program.",
                ]
            case kinds.OtherProgramGone():
                return [f"  No other program has {fact.port} open any more."]
            case kinds.TerminalOpened(passed=passed):
                on = ", passed on to the machine" if passed else ""
                return [f"  What is typed at the machine's own terminal is heard{on} and recorded."]
            case kinds.TerminalLost(why=why):
                return [
                    f"  What is typed at the machine's own terminal is not heard any more: {_sentence(why)}"
                ]
            case kinds.TypedInVain(count=count):
                return [
                    f"  {count} characters were typed while the machine was not connected: they are lost."
                ]
            case kinds.BytesMissed():
                return [
                    f"  Not recorded, because {fact.why}: {fact.received} characters of the machine and "
                    f"{fact.typed} typed ones. They were passed on all the same."
                ]
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
                return _left_by_last_run(fact, self._ends)
            case kinds.PlaceSought():
                return ["  Listening, to find out what state the machine is in."]
            case kinds.KeySent(key=key):
                self._nudged = key == "nudge"
                return [f"  The {_KEYS[key]} was typed, so that the machine shows what state it is in."]
            case kinds.PlaceRecognised(place=place):
                nudged, self._nudged = self._nudged, False
                if not fact.line:
                    silent = "  The machine is silent: it may be off, or waiting for somebody."
                    if place != SILENT:
                        silent = f"  The machine is silent, as it is at: {place}."
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
        self._may_be_prompt = bool(self._late_step) and fact.at_prompt
        return [
            f"  The step {fact.step} took too long: it waited up to {fact.within_us / 1_000_000:g} s "
            f"for {' or '.join(fact.waited_for)}. The console last showed:",
            *_framed(fact.last_lines),
            *_WHEN_LATE[fact.then],
            *([_PROMPT] if self._may_be_prompt else []),
            *([_BY_ITSELF] if self._late_step and not {ECHO, QUIET} & {*fact.waited_for} else []),
        ]

    def _request(self, request: Request) -> None:
        answer: Answer = ask(self._door, request)
        if not answer.accepted:
            self._print(f"  That was not done: {answer.why}.")

    def _refuse(self, why: str) -> None:
        self._request(Request(request="refuse", by=BY, step=self._asked_step, why=why))

    def _listen(self, source: TextIO) -> None:
        for line in source:
            self.answer(line)

    def _print(self, line: str) -> None:
        with self._lock:
            print(line, file=self._out, flush=True)
            self._printed_s, self._last_line = self._steady_s(), ""


def _left_by_last_run(fact: kinds.LastRecordingRead, ends: Mapping[int, str]) -> list[str]:
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
    for job in fact.in_doubt:
        if job.asked:  # the others are reported as soon as they have a number
            lines += _in_doubt(job.exercisers, job.command, job.job, job.why, ends.get(job.asked, ""))
    if fact.question:
        lines.append(f"  In the run before, the question {fact.question} was not answered.")
    return lines


def _reason(no: re.Match[str]) -> str:
    return (no[1] or "").strip(" .")


def _in_doubt(exercisers: list[str], command: str, job: str, why: str, until: str) -> list[str]:
    """What a person should know about a job of which it isn't known whether it runs."""
    number = f"Job {job}" if job else "A job whose number isn't known"
    after = f", started by {command}," if command else ""
    which = f"it may be {' or '.join(exercisers)}" if len(exercisers) > 1 else "".join(exercisers)
    ends = [f"  It was meant to end by itself by {until[11:16]} at the latest."] if until else []
    return [f"  {number}{after} may be running ({which}): {_sentence(why)}", *ends, _NO_JOB]


def _goes_on(fact: kinds.RoundsWentOn) -> list[str]:
    return [
        f"  This round could not be finished: {_sentence(fact.why)}",
        "  Everything that it had started was stopped, so the rounds go on by themselves: "
        f"{fact.times} of at most {fact.most} times today.",
    ]


def _sentence(why: str) -> str:
    return why if why.endswith(("?", ".", "!")) else f"{why}."


def _framed(rows: list[str]) -> list[str]:
    return [f"    | {row.rstrip()}" for row in rows] or ["    | (nothing)"]
