"""What each fact about the machine, its line and its jobs means for the person at the terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from exhibit.commands.people.told_people import of_people, of_trouble
from exhibit.commands.saying import Say, Sentence
from exhibit.decisions.console.flow import MACHINE
from exhibit.facts import kinds
from exhibit.facts.visitor_words import ExerciserWords
from exhibit.facts.wall_times import WallTimes
from exhibit.line.sharing import BRIEFLY

DISC_FULL: Final = Sentence(
    "  This computer's disc for recordings is full. Free some space before the next run."
)
_HOW_KNOWN: Final[dict[kinds.DoubtEnd, Sentence]] = {
    "ended": Sentence("the machine printed its end ({by})"),
    "not listed": Sentence("it isn't among the jobs that the machine lists ({by})"),
    "a person": Sentence("{by} says so"),
}


class ToldOfMachine:
    """Puts facts about the machine into sentences. It keeps what the run before left in doubt."""

    def __init__(self, say: Say) -> None:
        self._say = say
        self._clock = WallTimes()
        self._by_hand: dict[str, ExerciserWords] = {}
        """How people stop each exerciser by hand, and what to take care of."""
        self._ends: dict[int, str] = {}
        """By number: when a job that the run before left in doubt was meant to end."""

    def lines(self, entry: kinds.Entry) -> list[str]:
        """What this fact means for the person, line by line; empty if it isn't about the machine."""
        match entry.fact:
            case kinds.RecordingOpened(wall=wall, rate=rate):
                self._clock.set(wall, entry.at_us, rate)
                self._by_hand = entry.fact.exercisers
                before = entry.fact.use_before
                self._ends = {job.asked: job.ends for job in before.in_doubt} if before else {}
            case kinds.ClockStepped(wall=wall):
                self._clock.set(wall, entry.at_us)
        return self._of_the_machine(entry.fact)

    def _of_the_machine(self, fact: kinds.AnyFact | kinds.UnknownFact) -> list[str]:
        say = self._say
        match fact:
            case kinds.MachineSilent(heard_us=heard_us):
                said = (
                    say(
                        "  Something was due from the machine, but nothing has been heard since {time}.",
                        time=self._clock.wall(heard_us)[11:19],
                    )
                    if heard_us
                    else say("  Something was due from the machine, but nothing has been heard from it yet.")
                )
                return [said, say("  Is it on, and is the cable in place?")]
            case kinds.HeardAgain(silent_us=silent_us):
                after = f"{silent_us / 1_000_000:.0f}"
                return [say("  The machine is heard again, after {seconds} s of its time.", seconds=after)]
            case kinds.TypingGarbled(command=command):
                came_back = repr(fact.came_back)
                return [
                    say(
                        "  {command} came back as {came_back}; the machine threw it away.",
                        command=command,
                        came_back=came_back,
                    )
                    if fact.thrown_away
                    else say(
                        "  {command} came back as {came_back}; the machine may have taken it all the same.",
                        command=command,
                        came_back=came_back,
                    )
                    if fact.new_line or fact.returned
                    else say(
                        "  {command} came back as {came_back}; it was not sent.",
                        command=command,
                        came_back=came_back,
                    )
                ]
            case kinds.TypingLetGo() if fact.by != MACHINE:
                return [say("  The program may type again, although the machine has not asked for it (XON).")]
            case kinds.JobInDoubt():
                until = self._clock.wall(fact.ends_us) if fact.ends_us else ""
                return self._in_doubt(fact.exercisers, fact.command, fact.job, fact.why, until)
            case kinds.JobListed(job=job, by=by):
                return [
                    say("  The number of a job that may be running is {job} ({by} shows it).", job=job, by=by)
                ]
            case kinds.JobDoubtOver(how=how, by=by) if how != "refused":
                return [
                    say("  A job that was in doubt isn't running: {how}.", how=say(_HOW_KNOWN[how], by=by))
                ]
            case kinds.TroubleRaised():
                return of_trouble(fact, say)
            case kinds.LineLost():
                return [
                    say("  The machine is not connected: {why}", why=as_sentence(fact.why)),
                    say("  The program keeps trying. Has a cable come out, or is the machine off?"),
                ]
            case kinds.LineOpened():
                return [say("  The line to the machine is open.")]
            case kinds.LastRecordingRead():
                return self._left_by_last_run(fact)
            case kinds.LineUnreadable() | kinds.LocalEchoFound():
                return [f"  {fact.what}", f"  {fact.do}"]
            case kinds.LineReadable(cause=cause):
                return [
                    say("  Text arrives on the line after all: the speed in machine.toml is right.")
                    if cause == "speed"
                    else say("  Text arrives on the line after all: the parity in machine.toml is right.")
                ]
            case kinds.RecordNearlyFull():
                return [say(DISC_FULL)]
        return self._of_others(fact)

    def _of_others(self, fact: kinds.AnyFact | kinds.UnknownFact) -> list[str]:
        """What the machine's own terminal, and other programs, do on the line."""
        say = self._say
        match fact:
            case kinds.OtherProgramSeen(port=port, programs=[only]) if only == BRIEFLY:
                return [say("  Another program opened {port} and closed it again at once.", port=port)]
            case kinds.OtherProgramSeen(port=port, programs=programs):
                return [
                    say(
                        "  Another program has {port} open too: {programs}.",
                        port=port,
                        programs=", ".join(programs),
                    ),
                    say(
                        "  If two programs read one port, each gets only part of what arrives. "
                        "End that program."
                    ),
                ]
            case kinds.OtherProgramGone(port=port):
                return [say("  No other program has {port} open any more.", port=port)]
            case kinds.TerminalOpened(passed=True):
                return [
                    say(
                        "  What is typed at the machine's own terminal is heard, passed on to the machine "
                        "and recorded."
                    )
                ]
            case kinds.TerminalOpened():
                return [say("  What is typed at the machine's own terminal is heard and recorded.")]
            case kinds.TerminalLost(why=why):
                return [
                    say(
                        "  What is typed at the machine's own terminal is not heard any more: {why}",
                        why=as_sentence(why),
                    )
                ]
            case kinds.TypedInVain(count=count):
                return [
                    say(
                        "  {count} characters were typed while the machine was not connected: they are lost.",
                        count=count,
                    )
                ]
            case kinds.BytesMissed():
                return [
                    say(
                        "  Not recorded, because {why}: {received} characters of the machine and {typed} "
                        "typed ones. They were passed on all the same.",
                        why=fact.why,
                        received=fact.received,
                        typed=fact.typed,
                    )
                ]
        return of_people(fact, say, self._clock.wall)

    # -- jobs

    def _left_by_last_run(self, fact: kinds.LastRecordingRead) -> list[str]:
        """What a person who starts a run should know about the run before it."""
        say = self._say
        lines = []
        if fact.recording and not fact.closed:
            broke_off = say("  The recording of the run before, {file}, broke off.", file=fact.recording)
            missing = f" {say('Its last second may be missing.')}" if fact.may_lack else ""
            lines.append(f"{broke_off}{missing}")
        if fact.numbers:
            lines.append(
                say(
                    "  In the run before, the script {script} may have left jobs running: {jobs}.",
                    script=fact.script,
                    jobs=_numbers(fact.numbers),
                )
            )
        for job in fact.in_doubt:
            if job.asked:  # the others are reported as soon as they have a number
                until = self._ends.get(job.asked, "")
                lines += self._in_doubt(job.exercisers, job.command, job.job, job.why, until)
        if fact.question:
            lines.append(
                say("  In the run before, the question {question} was not answered.", question=fact.question)
            )
        return lines

    def _in_doubt(self, exercisers: list[str], command: str, job: str, why: str, until: str) -> list[str]:
        """What a person should know about a job of which it isn't known whether it runs."""
        say = self._say
        number = say("Job {job}", job=job) if job else say("A job whose number isn't known")
        if command:
            number = say("{job}, started by {command},", job=number, command=command)
        which = "".join(exercisers)
        if len(exercisers) > 1:
            which = say("it may be {exercisers}", exercisers=either(exercisers, say))
        lines = [
            say("  {job} may be running ({which}): {why}", job=number, which=which, why=as_sentence(why))
        ]
        if until:
            time = until[11:16]
            lines.append(say("  It was meant to end by itself by {time} at the latest.", time=time))
        cautions = [self._by_hand[name].caution for name in exercisers if name in self._by_hand]
        taken = dict.fromkeys(say.words(caution) for caution in cautions if caution)
        return [
            *lines,
            *(say("  CAUTION: {caution}", caution=caution) for caution in taken),
            say(
                "  Look at the machine. If no such job is running, or once you have stopped it, "
                'type "no job is running".'
            ),
        ]


def either(names: list[str], say: Say) -> str:
    """The names, with "or" between them."""
    return f" {say('or')} ".join(names)


def as_sentence(why: str) -> str:
    """The reason with a full stop, unless it ends like a sentence already."""
    return why if why.endswith(("?", ".", "!")) else f"{why}."


def _numbers(numbers: Mapping[str, Mapping[str, str]]) -> str:
    return ", ".join(
        f"{step} ({', '.join(f'{name} {value}' for name, value in fields.items())})"
        for step, fields in numbers.items()
    )
