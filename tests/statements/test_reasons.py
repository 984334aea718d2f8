"""Every reason that the decisions give: once where it is true, and once where it must not be given."""

from __future__ import annotations

import re
from pathlib import Path

import msgspec
import pytest

from exhibit.decisions.machine.description import Machine, Silence
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.wear.use_watch import UseWatch
from exhibit.facts import kinds
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import (
    XOFF_LIMITED,
    S,
    command,
    folder,
    hands_on,
    opened,
    pause,
    press,
    script,
    secret,
    wait,
)
from tests.decisions.one_round import END_IT, GO, one_round
from tests.decisions.session import test_goes_on, test_limits, test_session
from tests.decisions.session.test_homing import described, left
from tests.decisions.session.test_jobs_in_doubt import HERON, STOP, WORK
from tests.decisions.session.test_limits import MIN, H, errors, mounted, worked
from tests.decisions.session.test_session_late import late
from tests.decisions.wear import test_job_watch
from tests.statements import day_reasons
from tests.statements.driven import (
    NO_CANCEL,
    ON_THE_PAGE,
    answers,
    asks,
    homing,
    in_a_round,
    keeps_printing,
    loses,
    machine_of,
    notes,
    opens,
    passes,
    prints,
    reasons,
    runs,
    stands,
    typing_fails,
)
from tests.statements.reasons_in_code import reasons as in_code
from tests.statements.told_cases import Said, Statement, garbled

READY = stands(b"READY: ")
ECHOED = (prints(b"G"), prints(b"O"), passes("echo"))
NO_NUDGE = {"where": lambda: described(nudge=b"")}
AT_READY = homing(runs, far_end=FarHeron)
SILENT = homing(runs)
FULL = kinds.RecordNearlyFull(left_bytes=1)
FIRE = prints(b"DRIVE LEFT FAILED\r\n")
SPEED = bytes(range(0x80, 0xA0)) * 3


def no_landmarks():
    return machine_of(described(), landmarks={"signed-in": ("desk",)})


def circle():
    return described(
        ways={
            "signed-out": (command("sign", "sign", "word"),),
            "word-wanted": (press("give-up", "enter", "ready", at="word"),),
        },
        home=("question",),
    )


def xoff_limited():
    return machine_of(described(), troubles=XOFF_LIMITED.troubles)


def goes_on(had: int, lost: bool = True) -> Said:
    def said() -> str:
        driver = test_goes_on.begun(test_goes_on.goes_on(3), had=had)
        test_goes_on.at_step(driver, "look")
        if lost:
            test_goes_on.lose_and_find(driver)
        driver.run()
        return reasons(driver)

    return said


def silent_tidy_up(silent: bool) -> Said:
    """A round whose job runs when the machine falls silent, or not."""

    def said() -> str:
        driver = test_goes_on.begun(test_goes_on.goes_on(0))
        test_goes_on.at_step(driver, "look")
        if silent:
            driver.far_end.way_in = lambda byte: b""
        driver.asks("stop")
        driver.run()
        return reasons(driver)

    return said


def held(*facts, of=test_limits.ROUND, number: int = 1, **more) -> Said:
    """Why the gate holds this script when these have happened; nothing if it doesn't."""

    def said() -> str:
        refusal = test_limits.gate(*facts, **more).holds(of, number, more.get("at_us", 0))
        ON_THE_PAGE.update([refusal.why] if refusal else [])
        return refusal.why if refusal else ""

    return said


def watched(*what: str | kinds.AnyFact, machine: Machine = test_job_watch.HERON) -> Said:
    """What is said of jobs when these commands are typed and these lines printed."""

    def said() -> str:
        jobs = test_job_watch.Watched(opening=opened(machine))
        jobs.watch = UseWatch(machine, jobs.use)
        for one in what:
            if not isinstance(one, str):
                jobs.note(one)
            elif one.endswith("\r"):
                jobs.types(one, "")
            else:
                jobs.prints(one)
        return "\n".join(getattr(fact, "why", "") for fact in jobs.facts)

    return said


def secret_round(*, shown: bool) -> Said:
    """A secret is typed, and the machine shows it or not."""

    def said() -> str:
        far_end = FarHeron("word")
        far_end.echoes_secrets = shown
        driver = Driver(one_round(secret("say")), far_end)
        driver.open_line()
        driver.run()
        return reasons(driver)

    return said


def late_answer(*, late: bool) -> Said:
    """A command whose answer comes too late, or never."""

    def said() -> str:
        far_end = test_goes_on.LateHeron("BEGIN", test_goes_on.LATE_US if late else 0, never=not late)
        driver = test_goes_on.begun(test_goes_on.goes_on(), far_end)
        driver.run()
        return reasons(driver)

    return said


def asleep():
    return machine_of(described(nudge=b""), silences=(Silence(landmark="asleep", wake=b"\x07"),))


def watching(request: str) -> Said:
    def said() -> str:
        driver = Driver(decider_for(folder(script("round", pause("look"))), opened()))
        driver.open_line()
        driver.asks(request)
        return reasons(driver)

    return said


def dated(*acts) -> Said:
    def said() -> str:
        driver = test_session.asked_about_the_date()
        for act in acts:
            act(driver)
        return reasons(driver)

    return said


FAST = msgspec.structs.replace(test_job_watch.SLOW, typed=test_job_watch.FAST.typed)
BOTH_FIT = msgspec.structs.replace(
    test_job_watch.HERON, exercisers=(test_job_watch.FAST, msgspec.structs.replace(FAST, minutes=""))
)
BEGUN = (opens, READY, answers(b"WORK 4", b"JOB 7 WORKS 4 MINUTES\r\nREADY: "))
UNSAID = (opens, READY, answers(b"WORK 4", b"READY: "))
ROUND_OF_WORK = {"described": HERON, "tidy_up": (STOP,)}
GO_BEGUN = (opens, READY, *ECHOED, prints(b"\r\n"))

STATEMENTS = [
    # -- what state the machine is in
    Statement("the machine is silent: is it off, or is a cable unplugged?", SILENT, AT_READY),
    Statement(
        "the machine keeps printing, and is never quiet for long enough to show what state it is in",
        homing(keeps_printing(b"JOB 4 ENDED\r\n")),
        AT_READY,
    ),
    Statement(
        "the machine keeps printing, and is never quiet for long enough to show what state it is in",
        homing(keeps_printing(b"MORE\r\n")),
        SILENT,
    ),
    Statement(
        'the console shows "{}", which is none of the states that the folder describes',
        homing(READY, runs, where=no_landmarks),
        homing(READY, runs),
    ),
    Statement(
        "what the machine printed last is none of the states that the folder describes",
        homing(prints(b"READY: \r\nHALTED AT 1777\r\n"), runs, **NO_NUDGE),
        homing(prints(b"HALTED AT 1777\r\nREADY: "), runs, **NO_NUDGE),
    ),
    Statement(
        "the question {} was left open, so nothing was typed",
        homing(runs, last=left(question="sure")),
        homing(runs, last=left()),
    ),
    Statement(
        "it is at {}, and its folder has no way home from there: ask an engineer",
        homing(prints(b"JOB 4 ENDED\r\n"), runs),
        SILENT,
    ),
    Statement("{}, or switch it off as the closing does", homing(prints(b"JOB 4 ENDED\r\n"), runs), SILENT),
    Statement(
        "{} ways were tried, and none of them led home",
        homing(runs, far_end=FarHeron, where=circle),
        AT_READY,
    ),
    Statement(
        "what the machine sends is not text ({})",
        homing(prints(SPEED), runs),
        homing(prints(bytes((0x81, 0x05, 0x98, 0x1C)) * 24 + b"\r\nREADY: "), runs),
    ),
    Statement("of the {} {} characters {} aren't text", homing(prints(SPEED), runs), AT_READY),
    Statement("{}: is its {} set differently?", homing(prints(SPEED), runs), AT_READY),
    Statement("the machine is blocking typing", homing(prints(b"\x13"), runs, where=xoff_limited), SILENT),
    Statement(
        "the machine is at {} already",
        homing(runs, far_end=lambda: FarHeron("desk"), wanted=Wanted(rounds=1)),
        homing(runs, wanted=Wanted(rounds=1)),
    ),
    Statement("the line was opened", SILENT, in_a_round(pause("look"), acts=(opens,))),
    # -- keys
    Statement("the console shows no state that we know", SILENT, homing(READY, passes("home"))),
    Statement(
        "a person has looked, and the machine has sent nothing since",
        homing(READY, passes("home"), asks("clear"), passes("home"), where=no_landmarks),
        homing(
            READY, passes("home"), asks("clear"), stands(b"\r\nREADY: "), passes("home"), where=no_landmarks
        ),
    ),
    Statement("a person has looked", homing(runs, asks("clear")), homing(runs)),
    Statement(
        "part of a command may be on the console",
        homing(runs, last=left(half_typed="EN")),
        homing(runs, last=left()),
    ),
    # -- what was left open
    Statement(
        "it was left unfinished",
        homing(READY, passes("home"), last=left(script="round", numbers={"begin": {"job": "7"}})),
        homing(READY, passes("home")),
    ),
    Statement(
        "{} isn't known from the run before",
        homing(READY, passes("home"), last=left(script="round", step="look")),
        homing(READY, passes("home"), last=left(script="round", numbers={"begin": {"job": "7"}})),
    ),
    # -- steps
    Statement(
        "{} did not come in time",
        in_a_round(wait("end", "ended"), acts=(opens, passes("step"))),
        in_a_round(wait("end", "ended"), acts=(opens, prints(b"JOB 3 ENDED\r\n"))),
    ),
    Statement(
        "the echo of what was typed",
        in_a_round(command("go", "go", "begun", within_us=S), acts=(opens, READY, passes("step"))),
        in_a_round(GO, acts=(*GO_BEGUN, passes("step"))),
    ),
    Statement(
        "the machine's leave to type (XON)",
        in_a_round(GO, acts=(opens, prints(b"\x13"), READY, passes("step")), described=XOFF_LIMITED),
        in_a_round(GO, acts=(opens, passes("step")), described=XOFF_LIMITED),
    ),
    Statement(
        "a person to confirm",
        in_a_round(hands_on("key"), acts=(opens, passes("step"))),
        in_a_round(hands_on("key"), acts=(opens, asks("confirm", "key"))),
    ),
    Statement(
        "it was late, and {} said to leave it out",
        in_a_round(late(GO, "ask"), acts=(opens, passes("step"), asks("leave out", "go"))),
        in_a_round(late(GO, "leave out"), acts=(opens, passes("step"))),
    ),
    Statement(
        "that it can't be done",
        in_a_round(hands_on("key"), acts=(opens, asks("refuse", "key", "it is stuck"))),
        in_a_round(hands_on("key"), acts=(opens, passes("step"))),
    ),
    Statement(
        "a person said {}{}",
        in_a_round(hands_on("key"), acts=(opens, asks("refuse", "key", "it is stuck"))),
        in_a_round(hands_on("key"), acts=(opens, passes("step"))),
    ),
    Statement(
        "nobody is being asked for the step {} now",
        in_a_round(hands_on("key"), acts=(opens, asks("confirm", "door"))),
        in_a_round(hands_on("key"), acts=(opens, asks("confirm", "key"))),
    ),
    Statement(
        "nobody is being asked what to do about the step {} now",
        in_a_round(late(GO, "ask"), acts=(opens, asks("leave out", "go"))),
        in_a_round(late(GO, "ask"), acts=(opens, passes("step"), asks("leave out", "go"))),
    ),
    Statement(
        "nobody is being asked for the prompt of the step {} now",
        in_a_round(late(GO, "ask"), acts=(opens, asks("it is the prompt", "go"))),
        in_a_round(late(GO, "ask"), acts=(opens, passes("step"), asks("it is the prompt", "go"))),
    ),
    Statement(
        "the machine has printed nothing at whose end something could be typed",
        in_a_round(late(GO, "ask"), acts=(opens, passes("step"), asks("it is the prompt", "go"))),
        in_a_round(
            late(GO, "ask"), acts=(opens, prints(b"WHAT> "), passes("step"), asks("it is the prompt", "go"))
        ),
    ),
    Statement(
        "the console shows {}, which is another prompt or display",
        in_a_round(
            late(GO, "ask"),
            acts=(opens, stands(b"SURE (NO)? "), passes("step"), asks("it is the prompt", "go")),
        ),
        in_a_round(
            late(GO, "ask"), acts=(opens, prints(b"WHAT> "), passes("step"), asks("it is the prompt", "go"))
        ),
    ),
    Statement(
        "only a command is typed at a prompt that isn't recognised, never a secret or a key",
        in_a_round(late(secret("say"), "ask"), acts=(opens, passes("step"), asks("it is the prompt", "say"))),
        in_a_round(late(GO, "ask"), acts=(opens, passes("step"), asks("it is the prompt", "go"))),
    ),
    Statement(
        "the machine is still printing",
        in_a_round(
            late(GO, "ask"),
            acts=(opens, passes("step"), prints(b"WHAT> "), asks("it is the prompt", "go")),
        ),
        in_a_round(
            late(GO, "ask"), acts=(opens, prints(b"WHAT> "), passes("step"), asks("it is the prompt", "go"))
        ),
    ),
    Statement(
        "the machine blocks typing",
        in_a_round(
            late(GO, "ask"),
            acts=(opens, prints(b"WHAT> \x13"), passes("step"), asks("it is the prompt", "go")),
            described=XOFF_LIMITED,
        ),
        in_a_round(
            late(GO, "ask"), acts=(opens, prints(b"WHAT> "), passes("step"), asks("it is the prompt", "go"))
        ),
    ),
    Statement(
        "what was typed could not be sent: {}",
        in_a_round(GO, acts=(opens, typing_fails, READY)),
        in_a_round(GO, acts=(opens, READY)),
    ),
    Statement(
        "after the cancel key, the console showed {}",
        in_a_round(GO, acts=(opens, READY, prints(b"X"), stands(b"\r\nSURE (NO)? "))),
        in_a_round(GO, acts=(opens, READY, prints(b"X"), stands(b"\r\nREADY: "))),
    ),
    Statement(
        "the machine never gave {}",
        in_a_round(wait("end", "ended"), acts=(opens, READY, asks("stop"), runs), tidy_up=(END_IT,)),
        in_a_round(WORK, acts=(*BEGUN,), **ROUND_OF_WORK),
    ),
    Statement(
        "the machine's folder says never to type {}",
        in_a_round(command("wipe", "wipe all", "ready"), acts=(opens, READY)),
        in_a_round(GO, acts=(opens, READY)),
    ),
    # -- typing
    Statement(
        "the machine did not answer RETURN with a new line within {} s: {} and RETURN were typed{}, and "
        "it is not "
        "typed again",
        in_a_round(GO, acts=(opens, READY, *ECHOED, passes("echo"))),
        in_a_round(GO, acts=(*GO_BEGUN, passes("step"))),
    ),
    Statement(
        ", then the cancel key",
        in_a_round(GO, acts=(opens, READY, *ECHOED, passes("echo"))),
        in_a_round(GO, acts=(opens, READY, *ECHOED, passes("echo")), described=NO_CANCEL),
    ),
    Statement(
        "after RETURN the machine showed more than was typed",
        in_a_round(GO, acts=(opens, READY, *ECHOED, prints(b"Z"))),
        in_a_round(GO, acts=(opens, READY, prints(b"Z"))),
    ),
    Statement(
        "it came back wrong {} times, so it is not typed again",
        in_a_round(GO, acts=(opens, READY, *(prints(b"X"), stands(b"\r\nREADY: ")) * 2, prints(b"X"))),
        in_a_round(GO, acts=(opens, READY, prints(b"X"), stands(b"\r\nREADY: "), prints(b"X"))),
    ),
    Statement(
        '"{}" is half typed on the console{}',
        in_a_round(GO, acts=(opens, READY, prints(b"X")), described=NO_CANCEL),
        in_a_round(GO, acts=(opens, READY, prints(b"X"))),
    ),
    Statement(
        "{}, and this machine has no key that cancels it. {}",
        in_a_round(GO, acts=(opens, READY, prints(b"X")), described=NO_CANCEL),
        in_a_round(GO, acts=(opens, READY, prints(b"X"))),
    ),
    Statement(
        "{} were typed, and the machine hasn't shown that it took them",
        in_a_round(GO, acts=(opens, READY, *ECHOED, passes("echo")), described=NO_CANCEL),
        in_a_round(GO, acts=(opens, READY, prints(b"X")), described=NO_CANCEL),
    ),
    # -- the run
    Statement(
        "{} said stop",
        in_a_round(pause("look"), acts=(opens, asks("stop"))),
        in_a_round(pause("look"), acts=(opens, passes("step"))),
    ),
    Statement(
        "nothing is being typed any more",
        in_a_round(pause("look"), acts=(opens, passes("step"), asks("stop"))),
        in_a_round(pause("look"), acts=(opens, asks("stop"))),
    ),
    Statement(
        "it doesn't say which note",
        in_a_round(pause("look"), acts=(opens, asks("note", why="it hums"))),
        in_a_round(pause("look"), acts=(opens, asks("note", why="0123456789abcdef" * 4))),
    ),
    Statement(
        "nothing has failed",
        in_a_round(pause("look"), acts=(opens, asks("clear"))),
        in_a_round(wait("end", "ended"), acts=(opens, passes("step"), asks("clear"))),
    ),
    Statement(
        "the disc for the recordings is full",
        in_a_round(pause("look"), acts=(opens, notes(FULL))),
        in_a_round(pause("look"), acts=(opens, passes("step"))),
    ),
    Statement(
        "the disc for the recordings was full: end this, free some space and start again",
        in_a_round(pause("look"), acts=(opens, notes(FULL), asks("clear"))),
        in_a_round(wait("end", "ended"), acts=(opens, passes("step"), asks("clear"))),
    ),
    Statement(
        "{}; the rounds have gone on by themselves {} today, and no more is allowed",
        goes_on(had=3),
        goes_on(had=2),
    ),
    Statement(
        "the line was lost", in_a_round(pause("look"), acts=(opens, loses)), goes_on(had=0, lost=False)
    ),
    Statement(
        "the line was lost: {}", in_a_round(pause("look"), acts=(opens, loses)), goes_on(had=0, lost=False)
    ),
    Statement(
        "it was opened anew",
        in_a_round(pause("look"), acts=(opens, opens)),
        in_a_round(pause("look"), acts=(opens, loses)),
    ),
    Statement(
        "the machine is not connected",
        in_a_round(pause("look"), acts=(opens, loses, asks("stop"))),
        in_a_round(pause("look"), acts=(opens, asks("stop"))),
    ),
    Statement(
        "the whole script took longer than its limit",
        in_a_round(pause("look", 60 * S), acts=(opens, passes("script")), within_us=30 * S),
        in_a_round(pause("look", 20 * S), acts=(opens, passes("step")), within_us=30 * S),
    ),
    Statement(
        "something was wrong: {}",
        in_a_round(pause("look"), acts=(opens, FIRE)),
        in_a_round(pause("look"), acts=(opens, prints(b"DRIVE LEFT WARM\r\n"))),
    ),
    Statement(
        "the script is done",
        in_a_round(pause("look"), acts=(opens, passes("step"))),
        in_a_round(pause("look"), acts=(opens, asks("stop"))),
    ),
    Statement(
        "the machine is silent: nothing has come since {} was typed",
        silent_tidy_up(True),
        silent_tidy_up(False),
    ),
    # -- limits
    Statement(
        "the discs made {} errors today, and the limit is {}",
        held(errors(6), errors_a_day=5),
        held(errors(5), errors_a_day=5),
    ),
    Statement(
        "the discs made {} errors in {} exerciser-hours, and the limit is {} an exerciser-hour",
        held(worked(120), errors(11), errors_an_hour=5, at_us=4 * H),
        held(worked(120), errors(10), errors_an_hour=5, at_us=4 * H),
    ),
    Statement(
        "the exercisers had {} {} and it takes {}, but the limit is {}",
        held(worked(10), hour_us=16 * MIN - 1, at_us=20 * MIN),
        held(worked(10), hour_us=16 * MIN, at_us=20 * MIN),
    ),
    Statement(
        "in the last hour",
        held(worked(10), hour_us=16 * MIN - 1, at_us=20 * MIN),
        held(worked(30), day_us=36 * MIN - 1, at_us=5 * H),
    ),
    Statement(
        "the {} was started {} times today, and the limit is {}",
        held(*test_limits.starts(3), of=test_limits.OPENING, number=0, at_us=S, starts_a_day=3),
        held(*test_limits.starts(2), of=test_limits.OPENING, number=0, at_us=S, starts_a_day=3),
    ),
    Statement(
        "no round begins after {}",
        held(wall="2026-11-25T16:30:00+01:00", last_round_min=16 * 60 + 30),
        held(wall="2026-11-25T16:29:59+01:00", last_round_min=16 * 60 + 30),
    ),
    Statement(
        "the museum closes at {}",
        held(of=test_limits.OPENING, number=0, wall="2026-11-25T17:00:00+01:00", closes_min=17 * 60),
        held(of=test_limits.OPENING, number=0, wall="2026-11-25T16:59:59+01:00", closes_min=17 * 60),
    ),
    Statement(
        "the doors stay closed today",
        held(wall="2026-11-26T11:00:00+01:00", doors=test_limits.DOORS, closes_with_doors=True),
        held(wall="2026-11-25T11:00:00+01:00", doors=test_limits.DOORS, closes_with_doors=True),
    ),
    Statement(
        "the original pack {} is in the {}, and only an engineer may use it",
        held(mounted(may_be_written=False, original=True)),
        held(mounted(may_be_written=False)),
    ),
    Statement(
        "nobody has confirmed which pack is in the {}",
        held(of=test_limits.WRITES),
        held(mounted(may_be_written=False), of=test_limits.WRITES),
    ),
    Statement(
        "the pack {} in the {} may not be written",
        held(mounted(may_be_written=False), of=test_limits.WRITES),
        held(of=test_limits.WRITES),
    ),
    Statement(
        "{} writes, and {}",
        held(mounted(may_be_written=False), of=test_limits.WRITES),
        held(mounted(), of=test_limits.WRITES),
    ),
    # -- secrets
    Statement(
        "the machine showed the secret that was being typed",
        secret_round(shown=True),
        secret_round(shown=False),
    ),
    Statement("{}, so it was cancelled", secret_round(shown=True), secret_round(shown=False)),
    # -- what was never heard
    Statement(
        "the machine may be at {}, and this key wakes it",
        homing(runs, where=asleep),
        homing(prints(b"MORE\r\n"), runs, where=asleep),
    ),
    Statement("an answer came late, and all was tidied up", late_answer(late=True), late_answer(late=False)),
    Statement(
        "this machine is only watched: nothing is typed at it",
        watching("stop"),
        in_a_round(pause("look"), acts=(opens, asks("stop"))),
    ),
    Statement(
        "the machine isn't blocking typing",
        in_a_round(GO, acts=(opens, asks("let go")), described=XOFF_LIMITED),
        in_a_round(GO, acts=(opens, prints(b"\x13"), asks("let go")), described=XOFF_LIMITED),
    ),
    Statement(
        "that the machine may not be given this date",
        dated(asks("refuse", "date", "the disc is younger")),
        dated(asks("not yet", "date")),
    ),
    # -- jobs
    Statement(
        "{}, which {} starts, may be running",
        in_a_round(WORK, acts=(*UNSAID, runs), **ROUND_OF_WORK),
        in_a_round(WORK, acts=(*BEGUN, answers(b"X 7", b"JOB 7 STOPPED\r\nREADY: ")), **ROUND_OF_WORK),
    ),
    Statement(
        "a job whose number isn't known",
        in_a_round(WORK, acts=(*UNSAID, runs), **ROUND_OF_WORK),
        in_a_round(WORK, acts=(*BEGUN, answers(b"X 7", b"JOB 7 STOPPED\r\nREADY: ")), **ROUND_OF_WORK),
    ),
    Statement(
        "{}, but may have taken its command, so what that command starts may be running",
        in_a_round(WORK, acts=(*UNSAID, runs), **ROUND_OF_WORK),
        in_a_round(pause("first"), WORK, acts=(opens, READY, asks("stop")), **ROUND_OF_WORK),
    ),
    Statement(
        "{} was showing, but not the line that says that it has begun",
        in_a_round(WORK, acts=UNSAID, **ROUND_OF_WORK),
        in_a_round(WORK, acts=BEGUN, **ROUND_OF_WORK),
    ),
    Statement(
        "the line was lost before the machine had answered",
        in_a_round(WORK, acts=(opens, READY, answers(b"WORK 4", b""), loses), **ROUND_OF_WORK),
        in_a_round(WORK, acts=(*BEGUN, loses), **ROUND_OF_WORK),
    ),
    Statement(
        "the console is at {}",
        in_a_round(
            WORK,
            command("sign", "sign", "word"),
            acts=(*BEGUN, answers(b"SIGN", b"SIGN WORD? "), runs),
            **ROUND_OF_WORK,
        ),
        in_a_round(WORK, acts=BEGUN, **ROUND_OF_WORK),
    ),
    Statement(
        "the step {} was left out, because {}",
        in_a_round(
            WORK,
            command("sign", "sign", "word"),
            acts=(*BEGUN, answers(b"SIGN", b"SIGN WORD? "), runs),
            **ROUND_OF_WORK,
        ),
        in_a_round(
            WORK,
            command("sign", "sign", "word"),
            acts=(*BEGUN, answers(b"SIGN", b"JOB 7 ENDED\r\nSIGN WORD? "), runs),
            **ROUND_OF_WORK,
        ),
    ),
    Statement(
        "a job may still be running, so the tidy-up is tried once more",
        in_a_round(
            WORK,
            command("sign", "sign", "word"),
            acts=(*BEGUN, answers(b"SIGN", b"SIGN WORD? "), runs),
            **ROUND_OF_WORK,
        ),
        in_a_round(WORK, acts=(*BEGUN, answers(b"X 7", b"JOB 7 STOPPED\r\nREADY: ")), **ROUND_OF_WORK),
    ),
    Statement(
        "another command was typed before the machine had answered",
        watched("WORK 4\r", "SLOW 2\r"),
        watched("WORK 4\r", "JOB 7 WORKS 4 MINUTES", "SLOW 2\r"),
    ),
    Statement(
        "{} begin with the same line",
        watched("JOB 7 GRINDS"),
        watched("FAST\r", "JOB 7 GRINDS"),
    ),
    Statement(
        "the machine answered with {}, which doesn't fit the command",
        watched("WORK 4\r", "JOB 7 GRINDS"),
        watched("FAST\r", "JOB 7 GRINDS"),
    ),
    Statement(
        "the machine may have taken {} before RETURN was typed",
        watched(garbled(command="FAST", expected="FAST", new_line=True)),
        watched(garbled(command="FAST", expected="FAST")),
    ),
    Statement(
        "the command fits {}",
        watched("FAST\r", "JOB 7 GRINDS", machine=BOTH_FIT),
        watched("FAST\r", "JOB 7 GRINDS"),
    ),
    Statement(
        "no job is in doubt",
        in_a_round(WORK, acts=(*BEGUN, asks("no job")), **ROUND_OF_WORK),
        in_a_round(WORK, acts=(*UNSAID, asks("no job")), **ROUND_OF_WORK),
    ),
    Statement(
        "the step {} failed, because {}",
        in_a_round(WORK, acts=(*BEGUN, runs), **ROUND_OF_WORK),
        in_a_round(WORK, acts=(*BEGUN, answers(b"X 7", b"JOB 7 STOPPED\r\nREADY: ")), **ROUND_OF_WORK),
    ),
    *day_reasons.STATEMENTS,
]


@pytest.mark.parametrize("statement", STATEMENTS, ids=lambda one: one.says[:60])
def test_a_reason_is_given_where_it_is_true_and_not_where_it_is_not(statement):
    said, not_said = statement.true_when(), statement.not_when()
    assert is_given(statement.says, said), said
    assert not is_given(statement.says, not_said), not_said


def is_given(reason: str, text: str) -> bool:
    return re.search(".*".join(re.escape(part) for part in re.split(r"\{\w*\}", reason)), text) is not None


PART = "only ever stands in another reason, which is in the table"
ADVICE = "says what to do, and nothing about the machine"
NOT_SHOWN = "is a name inside the program, and no reason"
STATES_NOTHING = {
    "XOFF for {} s": "is the line of a trouble, with the time that has passed: "
    "tests/decisions/console/test_flow.py",
    "awaiting new line": NOT_SHOWN,
    "the cancel key": PART,
    "I mean it": PART,
    ' (the console shows "{}")': PART,
    "It can't be typed.": "stops the program before a line is opened: "
    "tests/decisions/session/test_session.py",
    "the way home": NOT_SHOWN,
    "the error log": NOT_SHOWN,
    "exercise in a year": NOT_SHOWN,
    "exercise in a day": NOT_SHOWN,
    "exercise in an hour": NOT_SHOWN,
    "starts in a day": NOT_SHOWN,
    "the machine took the command": NOT_SHOWN,
    "the command came back wrong, and is typed again when its prompt is showing": NOT_SHOWN,
    "the machine rests between two rounds": "is never recorded: a rest is a fact of its own",
    "; the script {} asks for it": ADVICE,
    "{}: look at what the machine has taken, then say go on": ADVICE,
    "Look at the place where the secrets are kept; README.md says how to write them.": ADVICE,
    "Nothing more is typed, because RETURN could execute it. Remove it at the machine itself, see that "
    "nothing is "
    "left after its prompt, and only then say go on": ADVICE,
    "Switch off the local echo of the adapter (often called half duplex), then start again. To test "
    "that it is off, "
    "switch the machine off and type something: nothing must come back.": ADVICE,
    ' If it can\'t be switched off, an engineer can set echo = "none" in machine.toml; `exhibit check` '
    "then says "
    "what noise on the line could do.": ADVICE,
}
"""The texts in the code that need no scenario, and why."""
CONSOLE, SESSION, WEAR = "tests/decisions/console", "tests/decisions/session", "tests/decisions/wear"
ELSEWHERE = {
    "somebody has just asked that nothing more be typed": "tests/bridge/test_hands_off.py",
    "the prompt after the cancel key": f"{SESSION}/test_session_late.py",
    "{} of the step {}": f"{SESSION}/test_session.py",
    "{}. The cancel key was typed, but this machine doesn't show whether it took it. {}": (
        f"{SESSION}/test_places.py"
    ),
    "part of a secret is half typed on the console": f"{SESSION}/test_places.py",
    "part of a command may be half typed on the console": f"{SESSION}/test_places.py",
    "{} was typed, and the machine hasn't shown that it took it": f"{SESSION}/test_places.py",
    '"{}" and RETURN': f"{SESSION}/test_places.py",
    "nothing answered the key that was typed before, so it may answer {}": f"{SESSION}/test_places.py",
    "the display {} was showing, and this key has it painted anew": f"{SESSION}/test_places.py",
    "the machine is blocking typing, and an earlier command still has to be cancelled": (
        f"{SESSION}/test_session.py"
    ),
    "the machine was asked to show the line again, but may have taken the command instead": (
        f"{CONSOLE}/test_keying.py"
    ),
    "what was typed came back before the machine can have received it, so it proves nothing": (
        f"{CONSOLE}/test_local_echo.py"
    ),
    "What was typed came back before the machine can have received it: something nearer than the "
    "machine is sending "
    "it back, so the echo doesn't prove what the machine took.": f"{CONSOLE}/test_local_echo.py",
    "What was typed came back in small letters, although this machine makes capitals of them: something "
    "nearer than "
    "the machine may be sending it back.": f"{CONSOLE}/test_local_echo.py",
    "What was typed came back twice: something nearer than the machine may be sending it back too.": (
        f"{CONSOLE}/test_local_echo.py"
    ),
    "The key that was typed came back, and nothing else. If the machine is off, something nearer than "
    "the machine "
    "sends back what is typed.": f"{CONSOLE}/test_local_echo.py",
    "of the {} {} characters {} have an eighth bit that these settings don't give; without it they are "
    "text": (f"{CONSOLE}/test_noise.py"),
    "it was done before": f"{SESSION}/test_session.py",
    "the keyholder agrees": f"{SESSION}/test_begins_anew.py",
    "{} A tidy-up doesn't ask anybody": f"{SESSION}/test_session.py",
    "it has a character that can't be typed": f"{SESSION}/test_session.py",
    "has a character that no keyboard of its time has": f"{SESSION}/test_session.py",
    "The secret {} {}.": f"{SESSION}/test_session.py",
    "the machine is silent, and a question may be open unseen, so nothing was typed": (
        f"{SESSION}/test_homing.py"
    ),
    "{}, so these were not tried: {}": f"{SESSION}/test_goes_on.py",
    "{} (for {}, which may still run)": f"{SESSION}/test_goes_on.py",
    "the program was ended before the machine had answered": f"{WEAR}/test_job_watch.py",
    "it doesn't end by itself, and nothing was recorded for more than an hour": f"{WEAR}/test_use.py",
}
"""Reasons that other tests hold, in scenarios that only they have, and where."""
ROOT = Path(__file__).resolve().parents[2]


def test_every_reason_has_its_scenarios_or_a_test_elsewhere_or_states_nothing():
    stated, there = {one.says for one in STATEMENTS}, set(in_code())
    assert there - stated - set(STATES_NOTHING) - set(ELSEWHERE) == set()
    assert (stated | set(STATES_NOTHING) | set(ELSEWHERE)) - there == set()
    assert stated & (set(STATES_NOTHING) | set(ELSEWHERE)) == set()
    assert [module for module in ELSEWHERE.values() if not (ROOT / module).is_file()] == []
