"""Every statement about the machine at the terminal, where it is true and where it must not be said."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from exhibit.facts import kinds
from exhibit.facts.use_before import InDoubt, UseBefore
from tests.commands.said import sentences
from tests.decisions.heron import opened
from tests.statements.told_cases import (
    ENDED,
    LOST,
    OPEN,
    STARTED,
    TIDYING,
    Said,
    Statement,
    doubt,
    failed,
    garbled,
    hands_on,
    is_said,
    late,
    left,
    passing,
    stopped,
    told,
    where,
)

SILENT = kinds.MachineSilent(heard_us=30_000_000, due_us=31_000_000, due="typing")
SILENT_FROM_THE_FIRST = kinds.MachineSilent(heard_us=0, due_us=31_000_000, due="typing")
AT_READY = kinds.PlaceRecognised(place="signed-out", line="READY:")
NUDGED, CANCELLED = kinds.KeySent(key="nudge", why=""), kinds.KeySent(key="cancel", why="")
ASLEEP, NOT_HEARD = (
    kinds.PlaceRecognised(place="asleep", line=""),
    kinds.PlaceRecognised(place="silent", line=""),
)
HEARD = kinds.BytesReceived(bytes="X", first_us=0)
STEP = kinds.StepStarted(script="round", step="load")
DUE = kinds.DeadlineArmed(name="step", due_us=180_000_000)
RESTING = kinds.SessionResting(until_us=60_000_000)
CLEARED = kinds.SessionCleared(by="a docent")
ENDS = kinds.RequestMade(request="stop", by="this computer", why="asked to end")
BEFORE = InDoubt(
    asked=1, exercisers=["shuttle"], command="BEGIN", by="", why="x", ends="2026-11-25T09:04:00+00:00"
)


def over(how: kinds.DoubtEnd) -> kinds.JobDoubtOver:
    return kinds.JobDoubtOver(asked=1, how=how, by="jobs")


def refused(until_us: int) -> kinds.ScriptRefused:
    return kinds.ScriptRefused(script="round", limit="rest", why="the museum closes", until_us=until_us)


def readable(cause: str) -> kinds.LineReadable:
    return kinds.LineReadable(cause=cause)


def missed() -> kinds.BytesMissed:
    return kinds.BytesMissed(received=3, typed=1, why="this program did not keep up")


def turned(phase: str, by: str = "the opening", why: str = "") -> Said:
    return told(kinds.DayTurned(phase=phase, by=by, why=why))  # type: ignore[arg-type]


TROUBLE = kinds.TroubleRaised(trouble="x", line="", words={"en": "Fire."}, do={})


def trouble(**changes: Any) -> kinds.TroubleRaised:
    return msgspec.structs.replace(TROUBLE, **changes)


STATEMENTS = [
    # -- silence
    Statement(
        "  Something was due from the machine, but nothing has been heard since {time}.",
        told(SILENT),
        told(SILENT_FROM_THE_FIRST),
    ),
    Statement(
        "  Something was due from the machine, but nothing has been heard from it yet.",
        told(SILENT_FROM_THE_FIRST),
        told(SILENT),
    ),
    Statement(
        "  The machine is heard again, after {seconds} s of its time.",
        told(SILENT, kinds.HeardAgain(silent_us=12_000_000)),
        told(SILENT, kinds.LineLost(why="unplugged")),
    ),
    Statement(
        "  The machine is silent: it may be off, or waiting for somebody.", told(NOT_HEARD), told(ASLEEP)
    ),
    Statement("  The machine is silent, as it is at: {place}.", told(ASLEEP), told(NOT_HEARD)),
    Statement(
        "  Nothing answered the harmless key. If the machine is on, it may take that key as the answer to "
        "its next question.",
        told(NUDGED, NOT_HEARD),
        told(NUDGED, AT_READY, NOT_HEARD),
    ),
    # -- where it is
    Statement("  The machine is at: {place}.", told(AT_READY), told(ASLEEP)),
    Statement(
        "  Listening, to find out what state the machine is in.", told(kinds.PlaceSought(why="")), told(OPEN)
    ),
    Statement(
        "  The harmless key was typed, so that the machine shows what state it is in.",
        told(NUDGED),
        told(CANCELLED),
    ),
    Statement(
        "  The cancel key was typed, so that the machine shows what state it is in.",
        told(CANCELLED),
        told(NUDGED),
    ),
    Statement(
        "  The program doesn't know how to go on. The machine's display last showed:",
        told(kinds.PersonAsked(why="", rows=["HALTED"])),
        told(AT_READY),
    ),
    Statement("(nothing)", told(late("stop", last_lines=[])), told(late("stop"))),
    Statement(
        "Going on. The program first finds out what state the machine is in.",
        told(failed(), CLEARED),
        told(failed(), OPEN),
    ),
    # -- the line
    Statement("  The machine is not connected: {why}", told(LOST), told(OPEN)),
    Statement(
        "  The program keeps trying. Has a cable come out, or is the machine off?", told(LOST), told(SILENT)
    ),
    Statement("  The line to the machine is open.", told(LOST, OPEN), told(LOST)),
    Statement(
        "  Text arrives on the line after all: the speed in machine.toml is right.",
        told(readable("speed")),
        told(readable("parity")),
    ),
    Statement(
        "  Text arrives on the line after all: the parity in machine.toml is right.",
        told(readable("parity")),
        told(kinds.LineUnreadable(cause="parity", what="It is no text.", do="Look at it.")),
    ),
    Statement(
        "  Another program has {port} open too: {programs}.",
        told(kinds.OtherProgramSeen(port="/dev/x", programs=["a"])),
        told(kinds.OtherProgramGone(port="/dev/x")),
    ),
    Statement(
        "  Another program opened {port} and closed it again at once.",
        told(kinds.OtherProgramSeen(port="/dev/x", programs=["a program that closed it again at once"])),
        told(kinds.OtherProgramSeen(port="/dev/x", programs=["a"])),
    ),
    Statement(
        "  No other program has {port} open any more.",
        told(kinds.OtherProgramGone(port="/dev/x")),
        told(kinds.OtherProgramSeen(port="/dev/x", programs=["a"])),
    ),
    # -- what is typed
    Statement(
        "  {command} came back as {came_back}; it was not sent.",
        told(garbled()),
        told(garbled(new_line=True)),
    ),
    Statement(
        "  {command} came back as {came_back}; the machine may have taken it all the same.",
        told(garbled(new_line=True)),
        told(garbled()),
    ),
    Statement(
        "  {command} came back as {came_back}; the machine may have taken it all the same.",
        told(garbled(returned=True)),
        told(garbled(thrown_away=True)),
    ),
    Statement(
        "  {command} came back as {came_back}; the machine threw it away.",
        told(garbled(thrown_away=True)),
        told(garbled(new_line=True)),
    ),
    Statement(
        "  The program may type again, although the machine has not asked for it (XON).",
        told(kinds.TypingLetGo(by="a docent", held_us=1)),
        told(kinds.TypingLetGo(by="the machine", held_us=1)),
    ),
    Statement(
        "  The machine did not take the secret of the step {step}. Attempt {number}.",
        told(kinds.SecretRefused(script="round", step="say", landmark="word", times=1)),
        told(kinds.StepMatched(script="round", step="say", name="desk", line="")),
    ),
    Statement(
        "  What is typed at the machine's own terminal is heard and recorded.",
        told(kinds.TerminalOpened(line="/dev/x", passed=False)),
        told(kinds.TerminalLost(why="unplugged")),
    ),
    Statement(
        "  What is typed at the machine's own terminal is heard, passed on to the machine and recorded.",
        told(kinds.TerminalOpened(line="/dev/x", passed=True)),
        told(kinds.TerminalOpened(line="/dev/x", passed=False)),
    ),
    Statement(
        "  What is typed at the machine's own terminal is not heard any more: {why}",
        told(kinds.TerminalLost(why="unplugged")),
        told(kinds.TerminalOpened(line="/dev/x", passed=False)),
    ),
    Statement(
        "  {count} characters were typed while the machine was not connected: they are lost.",
        told(LOST, kinds.TypedInVain(count=3)),
        told(missed()),
    ),
    Statement(
        "  Not recorded, because {why}: {received} characters of the machine and {typed} typed ones. They "
        "were passed on all the same.",
        told(missed()),
        told(LOST, kinds.TypedInVain(count=3)),
    ),
    # -- jobs
    Statement("Job {job}", told(doubt(job="7")), told(doubt())),
    Statement("A job whose number isn't known", told(doubt()), told(doubt(job="7"))),
    Statement("{job}, started by {command},", told(doubt()), told(doubt(command=""))),
    Statement("it may be {exercisers}", told(doubt(exercisers=["a", "b"])), told(doubt())),
    Statement("or", told(doubt(exercisers=["a", "b"])), told(AT_READY)),
    Statement("  {job} may be running ({which}): {why}", told(doubt()), told(over("ended"))),
    Statement(
        "  It was meant to end by itself by {time} at the latest.",
        told(doubt(ends_us=60_000_000)),
        told(doubt()),
    ),
    Statement(
        "  It was meant to end by itself by {time} at the latest.",
        told(opened(use_before=UseBefore(at="", in_doubt=[BEFORE])), left(in_doubt=[BEFORE])),
        told(left(in_doubt=[BEFORE])),
    ),
    Statement(
        "  The number of a job that may be running is {job} ({by} shows it).",
        told(doubt(), kinds.JobListed(asked=1, job="7", by="board.jobs")),
        told(doubt(), over("not listed")),
    ),
    Statement(
        "  A job that was in doubt isn't running: {how}.",
        told(doubt(), over("ended")),
        told(kinds.JobAsked(asked=1, exercisers=["a"], command="", by="", ends_us=0), over("refused")),
    ),
    Statement("the machine printed its end ({by})", told(over("ended")), told(over("a person"))),
    Statement(
        "it isn't among the jobs that the machine lists ({by})", told(over("not listed")), told(over("ended"))
    ),
    Statement("{by} says so", told(over("a person")), told(over("not listed"))),
    Statement(
        "  The recording of the run before, {file}, broke off.",
        told(left(closed=False)),
        told(left(closed=True)),
    ),
    Statement(
        "Its last second may be missing.",
        told(left(closed=False, may_lack=True)),
        told(left(closed=False, may_lack=False)),
    ),
    Statement(
        "  In the run before, the script {script} may have left jobs running: {jobs}.",
        told(left(script="round", numbers={"go": {"job": "7"}})),
        told(left(script="round")),
    ),
    Statement(
        "  In the run before, the question {question} was not answered.",
        told(left(question="sure")),
        told(left()),
    ),
    # -- scripts and steps
    Statement("{title}, round {number}", told(STARTED), told(ENDED)),
    Statement("  The script {script} can't run now: {why}.", told(refused(0)), told(refused(60_000_000))),
    Statement("  The script {script} must wait: {why}.", told(refused(60_000_000)), told(refused(0))),
    Statement(
        "  The script {script} isn't needed: {why}.",
        told(kinds.ScriptLeftOut(script="opening", why="the machine is at signed-out already")),
        told(refused(0)),
    ),
    Statement(
        "  The step {step} took too long: it waited up to {seconds} s for {what}. The console last showed:",
        told(late("stop")),
        told(kinds.StepMatched(script="round", step="load", name="loaded", line="")),
    ),
    Statement("  It gets the same time again, once.", told(late("wait on")), told(late("stop"))),
    Statement(
        "  Its prompt is showing, so its command is to be typed again.",
        told(late("again")),
        told(late("wait on")),
    ),
    Statement("  It is to be left out.", told(late("leave out")), told(late("ask"))),
    Statement(
        "  WHAT NOW? Look at the machine. No command is typed until you answer:",
        told(late("ask")),
        told(late("stop")),
    ),
    Statement(
        "  But if what it waits for arrives after all, the script goes on by itself, and can type again.",
        told(late("ask")),
        told(late("ask", waited_for=["the echo of what was typed"])),
    ),
    Statement(
        '    If the last line is the prompt that it waits for, "it is the prompt" makes it type there.',
        told(late("ask", at_prompt=True)),
        told(late("ask")),
    ),
    Statement(
        "  What the step waited for has arrived after all, so the script goes on by itself.",
        told(late("ask"), kinds.LateAnswered(step="load", answer="wait on", by="the machine")),
        told(late("ask"), kinds.LateAnswered(step="load", answer="wait on", by="a docent")),
    ),
    Statement(
        "  The step {step} types there, because a person says that it is its prompt.",
        told(late("ask", at_prompt=True), kinds.PromptVouched(step="load", by="a docent", line="READY")),
        told(
            late("ask", at_prompt=True), kinds.LateAnswered(step="load", answer="wait on", by="the machine")
        ),
    ),
    Statement(
        "  The machine shows that it was done too early.",
        told(kinds.HandsOnPutOff(step="key", by="the machine", because="too early")),
        told(kinds.HandsOnPutOff(step="key", by="x", because="too early")),
    ),
    Statement("  It has its time again.", told(kinds.HandsOnPutOff(step="key", by="x")), told(hands_on())),
    Statement(
        "  The answer to the step {step} came late: {line}",
        told(kinds.AnsweredLate(script="round", step="go", name="begun", line="JOB 3 BEGUN")),
        told(kinds.StepMatched(script="round", step="go", name="begun", line="JOB 3 BEGUN")),
    ),
    Statement(
        "  It is not repeated.",
        told(kinds.AnsweredLate(script="round", step="go", name="begun", line="JOB 3 BEGUN")),
        told(late("again")),
    ),
    Statement(
        "  This round could not be finished: {why}",
        told(kinds.RoundsWentOn(after="line lost", why="the line was lost", times=1, most=3)),
        told(ENDED),
    ),
    Statement(
        "  Everything that it had started was stopped, so the rounds go on by themselves: {times} of at most "
        "{most} times today.",
        told(kinds.RoundsWentOn(after="line lost", why="the line was lost", times=1, most=3)),
        told(failed()),
    ),
    Statement(
        'The day hasn\'t been opened yet. To open it, type "open".',
        turned("before opening"),
        turned("opening"),
    ),
    Statement("The day is being opened.", turned("opening"), turned("rounds")),
    Statement("The day: the rounds go on, each after its rest.", turned("rounds"), turned("away")),
    Statement('The day: no round begins until you type "back".', turned("away"), turned("quiet")),
    Statement(
        'The day: no round begins until the quiet time is over, or you type "back".',
        turned("quiet"),
        turned("away"),
    ),
    Statement(
        'The day: nobody seems to be there, so no round begins. If you are there, type "here".',
        turned("nobody there"),
        turned("away"),
    ),
    Statement(
        'The day: no script begins until you type "back", or "close" to close it.',
        turned("stopped"),
        turned("rounds"),
    ),
    Statement("The day is being closed.", turned("closing"), turned("over")),
    Statement(
        'The day is over. The machine is still mirrored. To open the next one, type "open".',
        turned("over"),
        turned("closing"),
    ),
    Statement("  By: {by}.", turned("closing"), turned("closing", by="the person at the terminal")),
    Statement("  Because: {why}.", turned("closing", why="the museum closes at 17:00"), turned("closing")),
    Statement(
        "  Stopping what was started: {why}",
        told(kinds.TidyUpStarted(script="round", why="a docent said stop"), TIDYING),
        told(kinds.TidyUpStarted(script="round", why="a docent said stop")),
    ),
    Statement(
        "  Done.", told(ENDED), told(kinds.ScriptEnded(script="round", outcome="failed", tidy=False, why="x"))
    ),
    Statement(
        "  Stopped. If the machine is on, it stays on.",
        told(kinds.ScriptEnded(script="round", outcome="stopped", tidy=True, why="x")),
        told(kinds.ScriptEnded(script="round", outcome="failed", tidy=False, why="x")),
    ),
    Statement(
        "  The closing is not finished. Have its keyholder do the rest at the machine.",
        told(kinds.ScriptEnded(script="closing", outcome="stopped", tidy=True, why="x")),
        told(kinds.ScriptEnded(script="closing", outcome="done", tidy=True, why="")),
    ),
    Statement("The scripts have stopped: {why}", told(failed()), told(CLEARED)),
    Statement(
        "Nothing more is typed at the machine; it is still mirrored and recorded.",
        told(OPEN, failed()),
        told(OPEN, LOST, failed()),
    ),
    Statement(
        "Nothing more is typed at the machine, and nothing arrives from it until it is connected again.",
        told(OPEN, LOST, failed()),
        told(OPEN, LOST, OPEN, failed()),
    ),
    Statement(
        "Nothing more is typed. Look at the machine: jobs may still be running there.",
        told(ENDS, failed()),
        told(failed()),
    ),
    Statement(
        "  TROUBLE: {trouble}",
        told(kinds.TroubleRaised(trouble="x", line="", words={"en": "Fire."}, do={})),
        told(SILENT),
    ),
    Statement(
        "  CAUTION: {caution}",
        told(
            kinds.TroubleRaised(
                trouble="x", line="", words={"en": "Fire."}, do={}, caution={"en": "It still spins."}
            )
        ),
        told(kinds.TroubleRaised(trouble="x", line="", words={"en": "Fire."}, do={})),
    ),
    Statement(
        "  This computer's disc for recordings is full. Free some space before the next run.",
        told(kinds.RecordNearlyFull(left_bytes=1)),
        told(failed()),
    ),
    # -- people, and what became of a trouble
    Statement(
        "  It was first seen on {date} at {time}, and isn't over yet.",
        told(trouble(since="2026-11-24T16:40:00+01:00")),
        told(TROUBLE),
    ),
    Statement(
        "  That is the same as before, {times} times now.",
        told(TROUBLE, trouble(repeats=2, times=2)),
        told(TROUBLE),
    ),
    Statement(
        "  The machine can be left alone meanwhile.", told(trouble(safe_to_leave="yes")), told(TROUBLE)
    ),
    Statement("  Don't leave the machine alone meanwhile.", told(trouble(safe_to_leave="no")), told(TROUBLE)),
    Statement(
        "  Nobody has said whether the machine can be left alone now. Look whether anything smokes, smells "
        "or sounds wrong; stay if you aren't sure.",
        told(TROUBLE),
        told(trouble(safe_to_leave="yes")),
    ),
    Statement(
        "  HANDS OFF: nothing more is typed, not even what would stop the jobs.",
        told(kinds.HandsOff(by="x")),
        told(ENDS),
    ),
    Statement(
        "  Jobs may go on. Look at the machine before anything else is done.",
        told(kinds.HandsOff(by="x")),
        told(ENDS),
    ),
    Statement(
        "  {command} stands half typed on the console, without its RETURN.",
        told(kinds.HandsOff(by="x", standing="BEGIN")),
        told(kinds.HandsOff(by="x")),
    ),
    Statement(
        "  Part of a secret stands half typed on the console.",
        told(kinds.HandsOff(by="x", standing="****")),
        told(kinds.HandsOff(by="x", standing="BEGIN")),
    ),
    Statement(
        "  {by} has the machine's keyboard. No script begins until it is given back.",
        told(kinds.KeyboardTaken(by="x")),
        told(kinds.KeyboardTaken(by="x"), kinds.KeyboardGivenBack(by="x")),
    ),
    Statement(
        "  The keyboard was given back.",
        told(kinds.KeyboardTaken(by="x"), kinds.KeyboardGivenBack(by="x")),
        told(kinds.KeyboardTaken(by="x")),
    ),
    Statement(
        "  {by} has seen the trouble.", told(TROUBLE, kinds.TroubleSeen(raised=2, by="x")), told(TROUBLE)
    ),
    Statement(
        "  {by} set the trouble aside until {time}: {why}",
        told(TROUBLE, kinds.TroubleSetAside(raised=2, by="x", why="known", until_us=60_000_000)),
        told(TROUBLE, kinds.TroubleSeen(raised=2, by="x")),
    ),
    Statement(
        "  That trouble is over: {how}.",
        told(TROUBLE, kinds.TroubleOver(raised=2, by="the machine", how="a script has gone on since")),
        told(TROUBLE),
    ),
    Statement(
        "  {by} says that the trouble is over.",
        told(TROUBLE, kinds.TroubleOver(raised=2, by="x")),
        told(TROUBLE, kinds.TroubleOver(raised=2, by="the machine", how="x")),
    ),
    # -- the end of a run
    Statement(
        "Stopping: the script first stops what it started on the machine.",
        stopped(OPEN, STARTED),
        stopped(OPEN, STARTED, ENDED),
    ),
    Statement("Stopping.", stopped(OPEN, STARTED, ENDED), stopped(OPEN, STARTED)),
    Statement(
        "Stopping. The scripts have failed, so nothing more is typed: look at the machine, where jobs may "
        "still be running.",
        stopped(OPEN, STARTED, failed()),
        stopped(OPEN, STARTED, failed(), CLEARED),
    ),
    Statement(
        "Stopping. The machine is not connected, so nothing can be stopped there: look at the machine, where "
        "jobs may still be running.",
        stopped(OPEN, STARTED, LOST),
        stopped(OPEN, STARTED, LOST, OPEN),
    ),
    Statement(
        "Still stopping what was started on the machine. The run ends by itself.",
        stopped(OPEN, STARTED, times=2),
        stopped(OPEN, STARTED, failed(), times=2),
    ),
    Statement(
        "Still stopping what was started on the machine. The run ends by itself.",
        stopped(OPEN, STARTED, times=2),
        stopped(OPEN, STARTED, LOST, times=2),
    ),
    Statement(
        "Process {pid} passes characters between the machine and its own terminal. It goes on when this "
        "program ends.\nTo end it too, run `kill {pid}`: nothing typed at the terminal then reaches the "
        "machine.",
        passing(7),
        passing(0),
    ),
    Statement(
        "Nothing passes characters between the machine and its own terminal now: what is typed there doesn't "
        "reach the machine.",
        passing(0),
        passing(None),
    ),
    Statement("  Now: {title}, at the step {step} for {seconds} s.", where(STARTED, STEP), where(STARTED)),
    Statement("It has another {seconds} s.", where(STARTED, STEP, DUE), where(STARTED, STEP)),
    Statement("  Now: a break of another {seconds} s.", where(RESTING), where(STARTED, STEP)),
    Statement("  Now: no script is running.", where(STARTED, STEP, ENDED), where(STARTED, STEP)),
    Statement("  Nothing has come from the machine yet.", where(), where(HEARD)),
    Statement("  Something last came from the machine {seconds} s ago.", where(HEARD), where()),
    Statement("Nothing is recorded any more. The machine stays as it is.", passing(None), stopped(OPEN)),
]

QUESTION = "asks or answers the person, and says nothing about the machine"
PROGRAM = "is about this program, not about the machine"
ADVICE = "says what to do or what a word that can be typed would do"
CAUTION = "is true at any time: it stands in the machine's folder, or belongs to the program itself"
TESTED = (
    "has a test of a whole run: tests/commands/test_run_start.py, test_running.py or test_watch_terminal.py"
)
STATES_NOTHING = {
    "Everybody on this network can now read that page. It shows a code that leads phones to it.": PROGRAM,
    "The visitors' page: {address}": PROGRAM,
    "The docent's page: {address}": PROGRAM,
    "The docent's page had ended and is started again.": PROGRAM,
    "The docent's page isn't there, because:": PROGRAM,
    "The day goes on without it, and this terminal takes what you type.": PROGRAM,
    "Practice: nothing is typed at the machine. What answers is a simulated one.": TESTED,
    "You can practise at any hour: the hours in day.toml don't apply.": PROGRAM,
    "The docent's page for practice: {address}": PROGRAM,
    "That address signs one browser in, within ten minutes. Then it is used up.": PROGRAM,
    "How the practice went:": PROGRAM,
    "Press Ctrl-C to end the practice.": ADVICE,
    "{folder} has no simulated machine, and practice needs one.": PROGRAM,
    "So nothing was started: at the machine itself nobody practises.": PROGRAM,
    "Walk through the printed card instead: `exhibit card {folder} --to card.html`.": ADVICE,
    "The simulated machine did not start.": PROGRAM,
    "So there is nothing to practise at.": PROGRAM,
    "The recording: {file}": PROGRAM,
    "Answer: yes, not yet, or can't (and why).": QUESTION,
    "Answer: yes, not yet, or no (and why).": QUESTION,
    "Answer: wait on, leave out, or stop.": QUESTION,
    "Answer: yes, not yet, can't (and why), or leave out.": QUESTION,
    'When it is safe, type "go on"; or press Ctrl-C here to end.': ADVICE,
    "Still to do: {words}": QUESTION,
    "Still asked: {words}": QUESTION,
    "Still late: {words}": QUESTION,
    "Still to do: look at the machine.": QUESTION,
    "{seconds} s left": QUESTION,
    "{minutes} min left": QUESTION,
    "step {number} of {count} by hand": QUESTION,
    "the step {step}": QUESTION,
    "Stopped before anything was typed at the machine.": TESTED,
    "The run has ended, and its recording is closed.": TESTED,
    "The machine stays as it is.": TESTED,
    "The bridge was ended from outside, in the middle of its work.": TESTED,
    "Nothing was stopped at the machine: jobs may still be running, and a command may be half typed.": TESTED,
    "Look at the machine. When it is safe, start again.": ADVICE,
    "The visitors' page had ended and is started again.": PROGRAM,
    "This page was there before, and stays when this program ends.": PROGRAM,
    "This page stays when this program ends.": PROGRAM,
    "The visitors' page stays: {address}": PROGRAM,
    "To end it too, run `kill {pid}`.": ADVICE,
    (
        "The visitors' page has ended too. With `exhibit page` it stays all day, whatever is started and "
        "stopped."
    ): PROGRAM,
    "The visitors' page is now at {address}": PROGRAM,
    "The bridge did not begin a recording within {seconds} s.": PROGRAM,
    "So it was ended. Nothing was typed at the machine.": TESTED,
    "Check whether this computer or its disc is busy with something else, and start again.": ADVICE,
    "The web server did not start, so nothing was typed at the machine.": TESTED,
    "Visitors would have seen nothing.": PROGRAM,
    "Read its message above, correct the cause and start again.": ADVICE,
    "the bridge did not answer": PROGRAM,
    "the bridge is not running": PROGRAM,
    "If anybody is in danger: {words}": CAUTION,
    "Keyholder: {words}": CAUTION,
    "That is not the mains stop.": CAUTION,
    'To end the script, type "stop" and press RETURN: it first stops what it started.': ADVICE,
    "Watch only: this program types nothing at the machine. Press Ctrl-C to end.": TESTED,
    "The scripts have stopped, and there is no question to answer.": QUESTION,
    "  That was not done: {why}.": QUESTION,
    'Answer "wait on", "leave out" or "stop".': QUESTION,
    'There is no question to answer. To stop the typing, type "stop".': QUESTION,
    '  That "yes" came less than a second after the question, so nothing was confirmed.': QUESTION,
    '  Not yet, or can\'t it be done? "not yet" gives the step its time again, as often as you like.': ADVICE,
    'Look at the machine. When it is safe, type "go on", or press Ctrl-C here to end.': ADVICE,
    '    "wait on" gives the step its time again, "leave out" goes on with the next step,': ADVICE,
    '    "stop" ends the script.': ADVICE,
    "  PLEASE: {words}": QUESTION,
    "  Done, or already so?": QUESTION,
    "  Call the keyholder.": ADVICE,
    "  Call the engineer.": ADVICE,
    '  If you did it too early, type "too early"; if nothing came of it, type "it didn\'t".': QUESTION,
    "  Look at the machine. If no such job is running, or once you have stopped it, type "
    '"no job is running".': ADVICE,
    "  Is it on, and is the cable in place?": QUESTION,
    "  If two programs read one port, each gets only part of what arrives. End that program.": ADVICE,
    "  If its closing doesn't follow by itself, run it to shut it down: --script closing.": ADVICE,
    "To start from cold instead: if the machine is up, have it shut down in its own order, by its "
    "keyholder. Then press Ctrl-C here and start again.": ADVICE,
    "Still ending. The run ends by itself.": PROGRAM,
    "The bridge was ended from outside, so it is started again, and the day goes on.": PROGRAM,
    'Type "open" to open the day, and "close" to close it. "away" and "back" put the rounds off, as over '
    "lunch;": ADVICE,
    "Stopping: the recording is being closed. This program has typed nothing at the machine.": TESTED,
    "Stopped before anything was recorded. Nothing was typed at the machine.": TESTED,
    "Still closing the recording. The program ends by itself.": PROGRAM,
    "The process that records was ended from outside.": PROGRAM,
    "Since then nothing has been recorded. This program has typed nothing at the machine.": TESTED,
    "The process that passes characters had ended and is started again.": PROGRAM,
    "Start again.": ADVICE,
    "A page shows these recordings at {address}, but it doesn't answer, so this program doesn't use it. "
    "To end that page, run `kill -9 {pid}`.": PROGRAM,
    "The visitors' page can't be started. Visitors may see nothing new, but the run goes on. This program "
    "tries again by itself, at least once a minute. What the page complains of is in the folder of the "
    "recordings.": PROGRAM,
}
"""The sentences that need no scenario here, by their first line, and why."""


@pytest.mark.parametrize("statement", STATEMENTS, ids=lambda one: one.says.strip()[:60])
def test_a_statement_is_made_where_it_is_true_and_not_where_it_is_not(statement):
    assert is_said(statement.says, statement.true_when())
    assert not is_said(statement.says, statement.not_when())


def test_every_sentence_at_the_terminal_has_its_scenarios_or_states_nothing():
    stated = {one.says for one in STATEMENTS}
    said = {sentence: sentence.splitlines()[0] for sentence in sentences()}
    assert {sentence for sentence, first in said.items() if first not in STATES_NOTHING} - stated == set()
    assert stated - set(said) == set()
    assert set(STATES_NOTHING) - set(said.values()) == set()
    assert [one for one in stated if one in STATES_NOTHING] == []
