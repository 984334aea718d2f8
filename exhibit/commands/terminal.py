"""The terminal that started a run: prints what happens, and sends the person's answers to the bridge."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Final, TextIO

from exhibit.bridge.request_door import Answer, Request, ask
from exhibit.commands.answers import meaning
from exhibit.commands.open_question import ANSWERS, Kind, OpenQuestion
from exhibit.commands.saying import ENGLISH, Say, Sentence
from exhibit.commands.told import BY, GO_ON, Told
from exhibit.decisions.machine.description import Site
from exhibit.facts import kinds
from exhibit.output.terminal import put, put_over

TOO_SOON_S = 1.0
"""Real seconds. Nobody can read a step and do it in so short a time: RETURN was pressed twice."""
AGAIN_AFTER_S = 1.0
"""Real seconds. The open question is printed again when nothing else was printed for this long."""
SAYS_AGAIN_AFTER_S = 60.0
"""Real seconds. Who has read nothing new for so long wonders whether anything is going on."""
_NOT_REACHED: Final = (Sentence("the bridge did not answer"), Sentence("the bridge is not running"))
"""Why a request reached nobody. Every other reason comes from the bridge, as it is recorded."""


class Whereabouts:
    """What is going on, for somebody who asks or has read nothing new for a while; all in real seconds."""

    def __init__(self) -> None:
        self._title: kinds.Words = {}
        self._step = ""
        self._since_s = self._rests_until_s = 0.0
        self._heard_s: float | None = None
        self.waits = False
        """A script is running, and at one of its steps."""

    def note(self, entry: kinds.Entry, now_s: float, rate: float) -> None:
        """Takes the next fact, at `now_s` of a steady clock. `rate`: how fast the recording's time runs."""
        match entry.fact:
            case kinds.BytesReceived() | kinds.BytesWithheld():
                self._heard_s = now_s
            case kinds.ScriptStarted(title=title):
                self._title, self._step, self._rests_until_s = title, "", 0.0
            case kinds.StepStarted(step=step):
                self._step, self._since_s, self.waits = step, now_s, True
            case kinds.ScriptEnded() | kinds.SessionFailed():
                self._step, self.waits = "", False
            case kinds.SessionResting(until_us=until_us) if until_us:
                self._rests_until_s = now_s + (until_us - entry.at_us) / rate / 1_000_000

    def lines(self, say: Say, now_s: float, due_s: float | None) -> list[str]:
        """What is going on, line by line. `due_s`: when the step's time is up."""
        if self._step:
            now = say(
                "  Now: {title}, at the step {step} for {seconds} s.",
                title=say.words(self._title),
                step=self._step,
                seconds=f"{now_s - self._since_s:.0f}",
            )
            if due_s is not None and due_s > now_s:
                now += " " + say("It has another {seconds} s.", seconds=f"{due_s - now_s:.0f}")
        elif self._rests_until_s > now_s:
            now = say("  Now: a break of another {seconds} s.", seconds=f"{self._rests_until_s - now_s:.0f}")
        else:
            now = say("  Now: no script is running.")
        if self._heard_s is None:
            return [now, say("  Nothing has come from the machine yet.")]
        heard = f"{now_s - self._heard_s:.0f}"
        return [now, say("  Something last came from the machine {seconds} s ago.", seconds=heard)]


class Terminal:
    """Prints in plain words what a recording reports, and sends what the person types to the bridge.

    "yes", "not yet", "too early", "it didn't" and "can't" answer the step that is being asked about. "wait
    on" and "leave out" decide what happens to a step that is late, and "it is the prompt" has it type at a
    line that isn't recognised. "stop" ends the scripts. "go on" says after a failure that somebody has
    looked. "let go" releases typing that the machine has stopped with XOFF. "no job is running" ends the
    doubt about jobs that may have begun without the machine saying so. The open question stays last.
    """

    def __init__(
        self,
        door: Path,
        site: Site,
        out: TextIO = sys.stdout,
        steady_s: Callable[[], float] = time.monotonic,
        number: Callable[[str, str], str] = lambda script, step: "",
        say: Say = ENGLISH,
    ) -> None:
        """`door`: the socket at which the bridge takes requests. `steady_s`: a clock, in seconds.

        `number`: gives a hands-on step's number, by script and step. `say`: speaks the folder's language.
        """
        self._door = door
        self._site = site
        self._out = out
        self._steady_s = steady_s
        self._say = say
        self._told = Told(say, number)
        self._asked_at_s = 0.0
        self._rate = 1.0
        self._due_s: float | None = None
        """When the running step's time is up, on the steady clock."""
        self._where = Whereabouts()
        self._why_not = ""
        """The reason that the person gave with a "no" to a hands-on step."""
        self._lock = threading.RLock()
        """Held while something is printed: facts and answers come in threads of their own."""
        self._printed_s = 0.0
        self._last_line = ""
        """The line of the open question, if it is the last thing here; empty if something else is."""

    def show_cautions(self, *, typing: bool = True) -> None:
        """Prints what must be known beside the machine. `typing`: scripts will type at it."""
        say = self._say
        self._print(say("If anybody is in danger: {words}", words=say.words(self._site.mains_stop)))
        self._print(say("Keyholder: {words}", words=say.words(self._site.keyholder)))
        for words in (
            self._site.rules,
            self._site.two_people,
            self._site.risk_assessment,
            self._site.fire_watch,
        ):
            self._print(*([say.words(words)] if words else []))
        if typing:
            self._print(
                say('To end the script, type "stop" and press RETURN: it first stops what it started.')
            )
        else:
            self._print(say("Watch only: this program types nothing at the machine. Press Ctrl-C to end."))
        self._print(say("That is not the mains stop."), "")

    def listen(self, source: TextIO = sys.stdin) -> None:
        """Reads the person's lines from `source`, in a thread of its own, until there are no more."""
        threading.Thread(target=self._listen, args=(source,), name="terminal", daemon=True).start()

    def answer(self, line: str) -> None:
        """Acts on a line that the person typed."""
        with self._lock:  # the person's own line is the last one now
            self._printed_s, self._last_line = self._steady_s(), ""
        say, told = self._say, self._told
        means, reason = meaning(line, german=say.german)
        match means:
            case "stop" | "hands off":
                self._request(Request(request=means, by=BY))
            case "let go":
                self._request(Request(request="let go", by=BY))
            case "no job is running":
                self._request(Request(request="no job", by=BY))
            case "go on":
                self._request(Request(request="clear", by=BY))
            case "open" | "close" | "away" | "back" | "round now" | "here":
                self._request(Request(request=means, by=BY))
            case "quiet":
                self._request(Request(request="quiet", by=BY, minutes=int(reason)))
            case "wait on" | "leave out" if told.late_step:
                self._request(Request(request=means, by=BY, step=told.late_step))
            case "it is the prompt" if told.late_step and told.may_be_prompt:
                self._request(Request(request="it is the prompt", by=BY, step=told.late_step))
            case _ if told.late_step and not told.asked_step:
                self._print(say('Answer "wait on", "leave out" or "stop".'))
            case _ if told.failed and not told.asked_step:
                stopped = say("The scripts have stopped, and there is no question to answer.")
                self._print(f"{stopped} {say(GO_ON)}")
            case _ if not told.asked_step:
                self._print_where()
                self._print(say('There is no question to answer. To stop the typing, type "stop".'))
            case "yes" if self._steady_s() - self._asked_at_s < TOO_SOON_S:
                too_soon = say(
                    '  That "yes" came less than a second after the question, so nothing was confirmed.\n'
                    "  Read the question first, then answer."
                )
                self._print(*too_soon.split("\n"))
            case "yes":
                self._request(Request(request="confirm", by=BY, step=told.asked_step))
            case "not yet" | "too early":
                self._request(Request(request=means, by=BY, step=told.asked_step))
            case "it didn't":
                self._request(Request(request="didn't", by=BY, step=told.asked_step))
            case "can't":
                self._refuse(reason or self._why_not)
            case "no" if told.asked_about_date:
                self._refuse(reason)
            case "no":
                self._why_not = reason
                which = say(
                    '  Not yet, or can\'t it be done? "not yet" gives the step its time again, as often '
                    'as you like.\n  "can\'t" and why, such as "can\'t, the lamp stays dark", ends the '
                    "script: what it started on the\n  machine is stopped, and then nothing more is "
                    "typed until somebody has looked."
                )
                self._print(*which.split("\n"))
            case _:
                self._print(f"  {say(ANSWERS[self._kind or 'hands-on'])}")

    def report(self, entry: kinds.Entry) -> None:
        """Prints what this fact means for the person, if it means anything."""
        match entry.fact:
            case kinds.RecordingOpened(rate=rate):
                self._rate = rate
            case kinds.DeadlineArmed(name="step", due_us=due_us):
                self._due_s = self._steady_s() + (due_us - entry.at_us) / self._rate / 1_000_000
            case kinds.HandsOnAsked():
                # The time first: the thread that reads answers looks at the time only once a step is set.
                self._asked_at_s = self._steady_s()
                self._why_not = ""
        self._where.note(entry, self._steady_s(), self._rate)
        asks = isinstance(entry.fact, kinds.HandsOnAsked | kinds.StepOverdue | kinds.SessionFailed)
        with self._lock:
            for line in self._told.lines(entry):
                self._print(line)
            if asks:
                self._show_last_line()

    def look(self) -> None:
        """Call this a few times a second: keeps the open question last, with the time that is left.

        In a long wait without a question it says again and again what is going on.
        """
        with self._lock:
            if self._kind is None:
                if self._where.waits and self._steady_s() - self._printed_s >= SAYS_AGAIN_AFTER_S:
                    self._print_where()
                return
            if self._last_line:
                self._renew_last_line()
            elif self._steady_s() - self._printed_s >= AGAIN_AFTER_S:
                self._ask_again()

    # -- the open question --------------------------------------------------------------------

    @property
    def _kind(self) -> Kind | None:
        """What kind of question is open; None if there is none."""
        told = self._told
        if told.asked_step:
            return "late hands-on" if told.late_step else "date" if told.asked_about_date else "hands-on"
        return "late" if told.late_step else "failed" if told.failed and not told.ending else None

    @property
    def _question(self) -> OpenQuestion | None:
        kind = self._kind
        if kind is None:
            return None
        told = self._told
        if told.asked_step:
            return OpenQuestion(kind=kind, words=told.asked_words, number=told.asked_number, say=self._say)
        words = self._say("the step {step}", step=told.late_step) if told.late_step else ""
        return OpenQuestion(kind=kind, words=words, say=self._say)

    def _left_us(self) -> int | None:
        """The real time that is left to answer; None if there is no limit."""
        if self._due_s is None or not self._told.asked_step or self._told.late_step:
            return None
        return round((self._due_s - self._steady_s()) * 1_000_000)

    def _print_where(self) -> None:
        for line in self._where.lines(self._say, self._steady_s(), self._due_s):
            self._print(line)

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
            put_over(line, self._out)
            self._last_line = line

    def _request(self, request: Request) -> None:
        answer: Answer = ask(self._door, request)
        if not answer.accepted:
            why = self._say(answer.why) if answer.why in _NOT_REACHED else answer.why
            self._print(self._say("  That was not done: {why}.", why=why))

    def _refuse(self, why: str) -> None:
        self._request(Request(request="refuse", by=BY, step=self._told.asked_step, why=why))

    def _listen(self, source: TextIO) -> None:
        for line in source:
            self.answer(line)

    def _print(self, *lines: str) -> None:
        with self._lock:
            put(*lines, to=self._out)
            self._printed_s, self._last_line = self._steady_s(), ""
