"""The results of a run of a script, from its facts: its steps, and what was seen meanwhile.

Recorded facts and those decided again are summed up in the same way, so that they can be compared.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Sequence
from typing import Literal

import msgspec

from exhibit.facts import kinds

Came = Literal["", "done", "left out", "in vain", "failed"]
"""How a step ended; empty while it is running."""
Seen = tuple[str, str, str]
"""The kind of thing seen, its name, and what was printed, read or shown."""


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
    """What was done about it each time that it was late and this didn't end it."""
    typed: str = ""
    typed_secret: bool = False

    @property
    def outcome(self) -> tuple[Came, str, str, bool, list[kinds.WhatThen]]:
        """What to compare two runs of a step by. Times and reasons don't count."""
        return self.came, self.matched, self.typed, self.typed_secret, self.late


class RunSummary:
    """Sums up the facts of one run, in order.

    `looks`: the key that makes the machine show a command again. How often it was typed doesn't count.
    """

    def __init__(self, looks: bytes = b"") -> None:
        self._looks = kinds.to_text(looks)
        self.steps: list[StepSummary] = []
        self.outcome = ""
        """How the script ended; empty while it is running."""
        self.why = ""

    def take(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> None:
        """Takes the next fact."""
        match fact:
            case kinds.StepStarted(step=step, tidying=tidying):
                self.steps.append(StepSummary(step, tidying, at_us))
            case kinds.ScriptEnded(outcome=outcome, why=why):
                self.outcome, self.why = outcome, why
            case _ if not self.steps:
                return
            case kinds.BytesTyped() | kinds.SecretTyped() if self.outcome:
                return  # typed after the script, by homing
            case kinds.SecretTyped() | kinds.BytesTyped(secret=True):
                self.steps[-1].typed_secret = True
            case kinds.BytesTyped(bytes=text):
                if text != self._looks:
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
    """What was seen or shown according to this fact, words in these languages only; None if nothing was."""
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
        """Takes a fact that was decided now."""
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
        """The entries before this one weren't played, so they don't count."""
        self._collected = max(self._collected, to_index)

    def end(self) -> None:
        """Compares no more: from here on the recording and the script have nothing to do with each other."""
        self._over = True

    def differing(self) -> list[tuple[Seen, int, int]]:
        """What was seen more often then or now, with how often then and now."""
        then, now = self._then, self._now
        return [(what, then[what], now[what]) for what in {**then, **now} if then[what] != now[what]]


def _rows(table: list[dict[str, str]]) -> str:
    return "; ".join(" ".join(row.values()) for row in table)
