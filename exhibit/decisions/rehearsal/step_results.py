"""What came of a run of a script, according to its facts: its steps, and what was seen meanwhile.

The facts of a recording and those decided again are summed up alike, so that they can be compared.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from typing import Literal

import msgspec

from exhibit.facts import kinds

Came = Literal["", "done", "left out", "in vain", "failed"]
"""How a step ended; empty while it is under way."""
Seen = tuple[str, str, str]
"""What it is, its name, and what was printed, read or shown."""


class StepSummary(msgspec.Struct):
    """One step of one run."""

    name: str
    tidying: bool
    started_us: int
    ended_us: int = 0
    came: Came = ""
    matched: str = ""
    """What the step waited for and got."""
    why: str = ""
    late: list[kinds.WhatThen] = []
    """What became of it each time that it was late, and that didn't end it."""
    typed: str = ""
    secret_characters: int = 0

    @property
    def outcome(self) -> tuple[Came, str, str, bool, list[kinds.WhatThen]]:
        """By which two runs of a step are compared: times, and the length of a secret, don't count."""
        return self.came, self.matched, self.typed, self.secret_characters > 0, self.late


class RunSummary:
    """Takes the facts of one run, in order.

    `looks`: the key that makes the machine show a command again. How often it was typed doesn't count.
    """

    def __init__(self, looks: bytes = b"") -> None:
        self._looks = kinds.to_text(looks)
        self.steps: list[StepSummary] = []
        self.outcome = ""
        """How the script ended; empty while it is under way."""
        self.why = ""

    def take(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> None:
        """Take the next fact."""
        match fact:
            case kinds.StepStarted(step=step, tidying=tidying):
                self.steps.append(StepSummary(step, tidying, at_us))
            case kinds.ScriptEnded(outcome=outcome, why=why):
                self.outcome, self.why = outcome, why
            case _ if not self.steps:
                return
            case kinds.BytesTyped() if self.outcome:
                return  # a key by which it was found out, after the script, where the console stands
            case kinds.BytesTyped(bytes=text, count=count, secret=secret):
                if secret:
                    self.steps[-1].secret_characters += count
                elif text != self._looks:
                    self.steps[-1].typed += text
            case kinds.StepMatched(name=name):
                self.steps[-1].matched = name
            case kinds.StepEnded():
                self._end("done", "", at_us)
            case kinds.StepLeftOut(why=why):
                self._end("left out", why, at_us)
            case kinds.StepOverdue(then="wait on" | "again" | "ask" as then):
                self.steps[-1].late.append(then)
            case kinds.StepOverdue(waited_for=waited_for, within_us=within_us):
                limit = f" within {within_us / 1e6:g} s" if within_us else ""
                self._end("in vain", f"{' or '.join(waited_for)} did not come{limit}", at_us)
            case kinds.StepFailed(why=why):
                self._end("failed", why, at_us)

    def _end(self, came: Came, why: str, at_us: int) -> None:
        step = self.steps[-1]
        if not step.came:
            step.came, step.why, step.ended_us = came, why, at_us


def seen(fact: kinds.AnyFact | kinds.UnknownFact, languages: Collection[str]) -> Seen | None:
    """What was seen or shown, if that is what this fact tells. Of words only these languages count."""
    match fact:
        case kinds.PatternSeen(pattern=name, line=line):
            return "line", name, line
        case kinds.LandmarkReached(landmark=name, line=line):
            return "prompt or display", name, line
        case kinds.InterruptionSeen(interruption=name, text=text):
            return "interruption", name, text
        case kinds.TroubleRaised(trouble=name, line=line):
            return "trouble", name, line
        case kinds.ReadingTaken(display=display, name=name, value=value, table=table):
            return "reading", f"{display}.{name}", f"{value if table is None else _rows(table)}"
        case kinds.CaptionShown(caption=name, words=words):
            return "caption", name, " | ".join(words[tag] for tag in languages if tag in words)
    return None


class SeenCompared:
    """Counts what was seen then and now, as far as the same part of the recording was played."""

    def __init__(self, entries: Sequence[kinds.Entry], languages: Collection[str]) -> None:
        self._entries = entries
        self._languages = languages
        self._then: Counter[Seen] = Counter()
        self._now: Counter[Seen] = Counter()
        self._collected = 0
        self._over = False

    def take_now(self, fact: kinds.AnyFact) -> None:
        """This was decided now."""
        what = seen(fact, self._languages)
        if what is not None and not self._over:
            self._now[what] += 1

    def played(self, to_index: int) -> None:
        """The recording was played up to this entry."""
        for entry in [] if self._over else self._entries[self._collected : to_index]:
            what = seen(entry.fact, self._languages)
            if what is not None:
                self._then[what] += 1
        self._collected = max(self._collected, to_index)

    def skipped(self, to_index: int) -> None:
        """What stands before this entry wasn't played."""
        self._collected = max(self._collected, to_index)

    def end(self) -> None:
        """From here on the recording isn't of what the script does now."""
        self._over = True

    def differing(self) -> list[tuple[Seen, int, int]]:
        """What was seen more often then or now, with how often then and now."""
        then, now = self._then, self._now
        return [(what, then[what], now[what]) for what in {**then, **now} if then[what] != now[what]]


def _rows(table: list[dict[str, str]]) -> str:
    return "; ".join(" ".join(row.values()) for row in table)
