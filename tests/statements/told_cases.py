"""What the terminal says of a few facts, and how a case of a statement about the machine is written."""

from __future__ import annotations

import contextlib
import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import msgspec

from exhibit.commands.running import Run
from exhibit.commands.terminal import Terminal
from exhibit.commands.told import Told
from exhibit.commands.watch_run import WatchRun
from exhibit.decisions.machine.description import Site
from exhibit.decisions.session.left_open import NOTHING
from exhibit.facts import kinds
from tests.commands.made_page import MadePage
from tests.decisions.heron import S, opened

Said = Callable[[], str]
"""A scenario: called, it gives what is said in it."""


class Statement(NamedTuple):
    """A sentence about the machine, a scenario in which it is true, and one in which it must not be said."""

    says: str
    true_when: Said
    not_when: Said


def is_said(sentence: str, text: str) -> bool:
    """Whether the text has this sentence, with anything in its places."""
    parts = re.split(r"\{\w+\}", sentence.strip())
    pattern = ".+?".join(re.escape(part) for part in parts)
    return re.search(rf"(?<!\w){pattern}(?!\w)", text, re.DOTALL) is not None


def told(*facts: kinds.AnyFact) -> Said:
    """What the terminal says of the last of these facts."""

    def said() -> str:
        speaks, lines = Told(number=lambda script, step: ""), []
        first = opened(wall="2026-11-25T09:00:00+00:00")
        for seq, fact in enumerate((first, *facts), 1):
            lines = speaks.lines(kinds.Entry(seq, seq * S, fact))
        return "\n".join(lines)

    return said


def stopped(*facts: kinds.AnyFact, times: int = 1, begun: bool = True) -> Said:
    """What a run says when it is told to stop so many times, after these facts."""

    def said() -> str:
        out = io.StringIO()
        run = Run([], MadePage())
        run.recording = Path("a recording") if begun else None
        for fact in facts:
            run._note_state(fact)
        for _ in range(times):
            out.truncate(out.seek(0))
            run._interrupted = True
            with contextlib.redirect_stdout(out):
                run._stop_if_interrupted(Ending())  # type: ignore[arg-type]
        run._folder.cleanup()
        return out.getvalue()

    return said


def where(*facts: kinds.AnyFact) -> Said:
    """What the terminal answers, ten seconds after these facts, to somebody whom it asks nothing."""

    def said() -> str:
        now_s, out = [100.0], io.StringIO()
        site = Site(mains_stop={}, keyholder={}, rules={})
        terminal = Terminal(Path("no door"), site, out, lambda: now_s[0])
        for seq, fact in enumerate((opened(), *facts), 1):
            terminal.report(kinds.Entry(seq, 0, fact))
        now_s[0] += 10
        out.truncate(out.seek(0))
        terminal.answer("")
        return out.getvalue()

    return said


class Ending:
    """A bridge that was asked to end."""

    def ask_to_end(self) -> None:
        """Takes the wish."""


class Passing:
    """The process that passes characters, or that no longer does so."""

    def __init__(self, pid: int) -> None:
        self._pid = pid

    def running(self) -> int:
        """Its number; 0 if it doesn't run."""
        return self._pid


def passing(pid: int | None) -> Said:
    """What a run that only watches says of the passing at its end; None: nothing is passed."""

    def said() -> str:
        passer: Any = None if pid is None else Passing(pid)
        run = WatchRun([], MadePage(), passer)
        run._folder.cleanup()
        return run._ended(simulated=False)

    return said


def hands_on(caution: bool = True) -> kinds.HandsOnAsked:
    """A step for hands; without a caution it is a question about a date."""
    words = {"en": "Inside is mains."} if caution else {}
    return kinds.HandsOnAsked(script="opening", step="key", words={"en": "Turn the key."}, caution=words)


def late(then: kinds.WhatThen, **changes: Any) -> kinds.StepOverdue:
    """A step whose time is up."""
    overdue = kinds.StepOverdue(
        script="round",
        step="load",
        waited_for=["loaded"],
        within_us=90 * S,
        last_lines=["LOADING"],
        then=then,
    )
    return msgspec.structs.replace(overdue, **changes)


def doubt(**changes: Any) -> kinds.JobInDoubt:
    """A job that may be running."""
    one = kinds.JobInDoubt(
        asked=1, exercisers=["shuttle"], command="BEGIN SHUTTLE", by="script round", why="the line was lost"
    )
    return msgspec.structs.replace(one, **changes)


def left(**changes: Any) -> kinds.LastRecordingRead:
    """What the run before left."""
    return msgspec.structs.replace(NOTHING, **{"recording": "monday.exhibit", **changes})


def garbled(**changes: Any) -> kinds.TypingGarbled:
    """A command that came back wrong."""
    return kinds.TypingGarbled(
        **{"command": "END 1", "expected": "END 1", "came_back": "EMD", "attempt": 1, **changes}
    )


def failed(why: str = "loaded did not come in time") -> kinds.SessionFailed:
    """Nothing more is typed until a person has looked."""
    return kinds.SessionFailed(why=why, last_lines=[])


LOST, OPEN = kinds.LineLost(why="unplugged"), kinds.LineOpened(line="a line")
STARTED = kinds.ScriptStarted(script="round", title={"en": "A round"}, by="x", round=2)
ENDED = kinds.ScriptEnded(script="round", outcome="done", tidy=True, why="")
TIDYING = kinds.StepStarted(script="round", step="end-it", tidying=True)
