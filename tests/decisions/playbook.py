"""Playbooks: what happens, and indented below it what must then be ordered; nothing else may be.

    opens
        tell script started: opening
        type R
    prints "R"
        type RETURN

`play` lets it all happen and compares what was ordered with what stands there, as text. A playbook
that ends before the orders do, or the other way round, fails.
"""

from __future__ import annotations

import ast
import difflib
from textwrap import dedent

from exhibit.decisions.commands import Arm, Command, Drop, End, Tell, Type
from exhibit.decisions.console.silence import NOTHING_HEARD
from exhibit.decisions.decider import Decider
from exhibit.facts import kinds
from tests.decisions.driver import Driver
from tests.decisions.heron import S

KEYS = {b"\r": "RETURN", b"\x18": "CANCEL", b" ": "SPACE"}


def play(decider: Decider, *books: str, without: tuple[str, ...] = ()) -> Driver:
    """Plays the books one after the other; raises AssertionError with the difference.

    `without`: orders that begin with one of these words are left out on both sides.
    """
    wanted = "\n".join(dedent(book).strip("\n").rstrip() for book in books)
    happened: list[str] = []
    driver: Driver

    def ordered(command: Command) -> None:
        if isinstance(command, Arm | Drop) and command.name == NOTHING_HEARD:
            return  # a playbook that is about something else needn't know of it
        if isinstance(command, Tell) and isinstance(command.fact, kinds.MachineSilent | kinds.HeardAgain):
            return
        words = in_words(command, driver.now_us)
        if not words.startswith(without or "-"):
            happened.append(f"    {words}")

    driver = Driver(decider, ordered=ordered)
    for line in wanted.splitlines():
        if line.startswith(" ") or not line.strip():
            continue
        happened.append(line)
        _let_happen(driver, line)
    played = "\n".join(happened)
    lines = [line for line in wanted.splitlines() if line.strip()]
    if lines != happened:
        difference = difflib.unified_diff(
            lines, happened, "the playbook", "what was ordered", lineterm="", n=3
        )
        raise AssertionError("\n".join([*difference, "", "all that was ordered:", played]))
    return driver


def _let_happen(driver: Driver, line: str) -> None:
    word, _, rest = line.partition(" ")
    match word:
        case "opens":
            driver.open_line()
        case "loses":
            driver.lose_line()
        case "prints":
            driver.prints(ast.literal_eval(f"b{rest}"))
        case "passes":
            driver.passes(rest)
        case "later":
            driver.wait(int(float(rest.removesuffix(" s")) * S))
        case "confirm" | "refuse" | "stop":
            driver.asks(word, rest, why="it is stuck" if word == "refuse" else "")
        case "disc":
            driver.note(kinds.RecordNearlyFull(left_bytes=4096))
        case "beats":
            driver.note(kinds.Heartbeat(wall="2026-11-25T09:00:00+00:00"))
        case "typing":
            driver.typing_fails = "" if rest == "works" else "stuck"
        case _:
            raise AssertionError(f"the playbook says {line!r}, and nothing can happen so")


def in_words(command: Command, now_us: int) -> str:
    """An order as a line of a playbook."""
    match command:
        case Type(secret=True):
            return "type (secret)"
        case Type(data=data):
            return f"type {KEYS.get(data, data.decode())}"
        case Arm(name=name, due_us=due_us):
            return f"arm {name} {(due_us - now_us) / S:g} s"
        case Drop(name=name):
            return f"drop {name}"
        case End(outcome=outcome):
            return f"end {outcome}"
        case Tell(fact=fact):
            said = " ".join(part for part in _told(fact) if part)
            return f"tell {type(fact).__struct_config__.tag.replace('_', ' ')}{': ' + said if said else ''}"
    raise AssertionError(command)


def _told(fact: kinds.AnyFact) -> list[str]:
    """What tells this fact from others of its kind."""
    match fact:
        case kinds.ScriptStarted():
            return [fact.script, f"round {fact.round}" if fact.round else ""]
        case kinds.StepStarted():
            return [fact.step, "(tidying)" if fact.tidying else ""]
        case kinds.StepMatched():
            return [fact.step, "by", fact.name]
        case kinds.StepOverdue():
            return [fact.step, "waited for", " or ".join(fact.waited_for)]
        case kinds.StepLeftOut() | kinds.StepFailed() | kinds.HandsOnRefused():
            return [fact.step, f"({fact.why})"]
        case kinds.ScriptEnded():
            return [fact.outcome, "tidy" if fact.tidy else "untidy"]
        case kinds.StepEnded() | kinds.HandsOnAsked() | kinds.HandsOnConfirmed():
            return [fact.step]
        case kinds.TidyUpStarted() | kinds.RequestRefused():
            return [f"({fact.why})"]
        case kinds.SessionResting():
            return [f"until {fact.until_us / S:g} s" if fact.until_us else ""]
        case kinds.PatternSeen():
            return [fact.pattern, *fact.fields.values()]
        case kinds.LandmarkReached():
            return [fact.landmark]
        case kinds.TypingConfirmed():
            return [fact.command, f"at attempt {fact.attempts}"]
        case kinds.TypingGarbled():
            return [f"{fact.came_back!r} for {fact.expected!r} at attempt {fact.attempt}"]
        case kinds.TypingRefused():
            return [fact.command, f"({fact.why})"]
        case kinds.PackMounted():
            return [fact.label]
        case kinds.CaptionShown():
            return [fact.caption]
        case kinds.InterruptionSeen():
            return [fact.interruption]
        case kinds.TroubleRaised():
            return [fact.trouble]
        case kinds.ReadingTaken():
            return [fact.name, repr(fact.value if fact.table is None else fact.table)]
    return []
