"""Which script comes next: the opening, the rounds with their rests, the closing."""

from __future__ import annotations

import msgspec

from exhibit.decisions.commands import Arm, Command, End, Tell
from exhibit.decisions.script import Folder, Script
from exhibit.decisions.session import Session
from exhibit.facts import kinds

REST = "rest"
"""The name of the programme's deadline."""
ROUND = "round"


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """What a person asked for when the run was started."""

    before: tuple[str, ...] = ("opening",)
    """Scripts to run first, once each."""
    rounds: int | None = None
    """How many rounds; None: until somebody says stop."""
    after: tuple[str, ...] = ("closing",)
    by: str = "a person"


class Programme:
    """Starts one script after the other in a session, until all are done or one of them wasn't."""

    def __init__(self, folder: Folder, wanted: Wanted, session: Session) -> None:
        self._folder = folder
        self._wanted = wanted
        self._session = session
        self._begun: list[str] = []
        self._rounds_begun = 0
        self._over = False

    def begin(self, at_us: int) -> list[Command]:
        """Starts the first script."""
        return self._next(at_us)

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[Command]:
        """Goes on when a script has ended or a rest is over."""
        if self._over:
            return []
        match fact:
            case kinds.ScriptEnded(outcome="done"):
                if self._session.state == "failed":
                    return []
                if self._begun[-1] == ROUND and self._another_round():
                    until_us = at_us + self._folder.rest_us
                    resting = kinds.SessionResting(until_us=until_us)
                    return [Tell(fact=resting), Arm(name=REST, due_us=until_us)]
                return self._next(at_us)
            case kinds.ScriptEnded(outcome="stopped"):
                return self._end("stopped")
            case kinds.SessionFailed():
                self._over = True
                return [End(outcome="failed")]
            case kinds.DeadlinePassed(name="rest"):
                return self._next(at_us)
            case kinds.RequestMade(request="stop", by=by):
                if self._session.state == "idle":
                    return self._end("stopped")
                return self._session.stop(f"{by} said stop", at_us)
        return []

    def _another_round(self) -> bool:
        return self._wanted.rounds is None or self._rounds_begun < self._wanted.rounds

    def _next(self, at_us: int) -> list[Command]:
        before, after = self._wanted.before, self._wanted.after
        done_before = len(self._begun) - self._rounds_begun
        if done_before < len(before):
            return self._start(before[done_before], at_us)
        if done_before == len(before) and self._another_round():
            return self._start(ROUND, at_us)
        done_after = done_before - len(before)
        if done_after < len(after):
            return self._start(after[done_after], at_us)
        return self._end("done")

    def _start(self, name: str, at_us: int) -> list[Command]:
        script: Script = self._folder.scripts[name]
        self._begun.append(name)
        number = 0
        if name == ROUND:
            self._rounds_begun += 1
            number = self._rounds_begun
        return self._session.start(script, self._wanted.by, number, at_us)

    def _end(self, outcome: kinds.Outcome) -> list[Command]:
        self._over = True
        return [Tell(fact=kinds.SessionResting(until_us=0)), End(outcome=outcome)]
