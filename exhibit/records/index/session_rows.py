"""Rows about scripts, steps, hands-on steps and commands that came back wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from exhibit.facts import kinds
from exhibit.records.index.moments import Here, Moments
from exhibit.records.index.rows import GarbledRow, HandsOnRow, Placed, ScriptRow, StepRow


@dataclass
class _Script:
    here: Here
    fact: kinds.ScriptStarted


@dataclass
class _Step:
    here: Here
    fact: kinds.StepStarted
    round: int
    script_seq: int
    on_s: float | None
    overdue: int = 0
    typed_again: bool = False
    overdue_seq: int = 0
    overdue_at: str = ""
    overdue_us: int = 0


@dataclass
class _Asked:
    here: Here
    fact: kinds.HandsOnAsked
    since_us: int
    answered: bool = False


class SessionRows:
    """Follows one recording; each call gives the rows that are complete now."""

    def __init__(self, moments: Moments) -> None:
        self._now = moments
        self._script: _Script | None = None
        self._step: _Step | None = None
        self._asked: _Asked | None = None

    def take(self, fact: kinds.AnyFact | kinds.UnknownFact) -> Iterator[Placed]:
        """Takes the next fact."""
        now = self._now
        match fact:
            case kinds.ScriptStarted():
                yield from self.end()
                self._script = _Script(now.here(), fact)
            case kinds.ScriptEnded(outcome=outcome, tidy=tidy, why=why):
                yield from self._end_step("", "")
                yield from self._end_asked()
                if self._script is not None:
                    yield self._script_row(outcome, tidy, why)
                    self._script = None
                now.script_over()
            case kinds.StepStarted():
                yield from self._end_step("", "")
                self._step = _Step(now.here(), fact, now.round, now.script_seq, now.on_s)
            case kinds.StepOverdue(then=then) if self._step is not None:
                if not self._step.overdue:
                    self._step.overdue_seq, self._step.overdue_us = now.seq, now.at_us
                    self._step.overdue_at = now.times.wall(now.at_us)
                self._step.overdue += 1
                self._step.typed_again |= then == "again"
            case kinds.StepEnded():
                yield from self._end_step("done", "")
            case kinds.StepFailed(why=why):
                yield from self._end_step("failed", why)
            case kinds.StepLeftOut(why=why):
                yield from self._end_step("left out", why)
            case kinds.HandsOnAsked():
                yield from self._end_asked()
                self._asked = _Asked(now.here(), fact, now.at_us)
            case kinds.HandsOnConfirmed(step=step, by=by):
                yield from self._answer(step, "done", by)
                self._asked = None
            case kinds.HandsOnRefused(step=step, by=by):
                yield from self._answer(step, "refused", by)
                self._asked = None
            case kinds.HandsOnPutOff(step=step, by=by, because=because):
                yield from self._answer(step, because, by)
            case kinds.TypingGarbled(
                command=command, expected=expected, came_back=came_back, attempt=attempt
            ):
                yield GarbledRow(
                    **now.here(),
                    command=command,
                    came_back=came_back,
                    attempt=attempt,
                    script=now.script,
                    step=now.step,
                    expected=expected,
                )

    def end(self) -> Iterator[Placed]:
        """What is under way has no end in this recording, or what comes next can't be read."""
        yield from self._end_step("", "")
        yield from self._end_asked()
        if self._script is not None:
            yield self._script_row("", False, "")
            self._script = None

    def _script_row(self, outcome: str, tidy: bool, why: str) -> ScriptRow:
        begun, now = self._script, self._now
        assert begun is not None
        return ScriptRow(
            **begun.here,
            script=begun.fact.script,
            title=now.first_words(begun.fact.title),
            by=begun.fact.by,
            round=begun.fact.round,
            took_us=now.at_us - begun.here["at_us"],
            ended_at=now.times.wall(now.at_us) if outcome else "",
            ended_seq=now.seq if outcome else 0,
            outcome=outcome,
            tidy=tidy,
            why=why,
        )

    def _end_step(self, outcome: str, why: str) -> Iterator[StepRow]:
        step, self._step = self._step, None
        if step is None:
            return
        yield StepRow(
            **step.here,
            script=step.fact.script,
            step=step.fact.step,
            round=step.round,
            script_seq=step.script_seq,
            tidying=step.fact.tidying,
            took_us=self._now.at_us - step.here["at_us"],
            ended_seq=self._now.seq if outcome else 0,
            outcome=outcome,
            overdue=step.overdue,
            typed_again=step.typed_again,
            why=why,
            on_s=step.on_s,
            overdue_seq=step.overdue_seq,
            overdue_at=step.overdue_at,
            overdue_us=step.overdue_us,
        )

    def _answer(self, step: str, answer: str, by: str) -> Iterator[HandsOnRow]:
        now = self._now
        asked = self._asked
        if asked is None or asked.fact.step != step:
            asked = _Asked(
                now.here(), kinds.HandsOnAsked(script=now.script, step=step, words={}, caution={}), now.at_us
            )
        yield self._hands_on(asked, answer, by)
        asked.since_us, asked.answered = now.at_us, True

    def _end_asked(self) -> Iterator[HandsOnRow]:
        asked, self._asked = self._asked, None
        if asked is not None and not asked.answered:
            yield self._hands_on(asked, "", "")

    def _hands_on(self, asked: _Asked, answer: str, by: str) -> HandsOnRow:
        return HandsOnRow(
            **asked.here,
            script=asked.fact.script,
            step=asked.fact.step,
            words=self._now.first_words(asked.fact.words),
            answer=answer,
            by=by,
            took_us=self._now.at_us - asked.since_us,
        )
