"""A computer that is busy at a RETURN: the late answer is an answer, and nothing is typed twice."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest

from exhibit.facts import kinds
from exhibit.simulator.truth import CommandTaken
from tests.sampling import sample
from tests.trials.disturbed_round import DisturbedRound, Fault, S, whimbrel

BUSY_S = whimbrel().machine.typing.echo_within_us / S + 1
TOLD_BY_NOTHING_ELSE = {"take-the-desk", "take-the-desk-again", "look-in-the-log"}
"""The cancel key brings back the prompt at which these were typed, so their answers can't be told from it."""


RETURNS = 15
"""How many there are in a round."""


@cache
def undisturbed() -> tuple[list[float], Counter[str]]:
    """When RETURN is typed in a round, in seconds from its beginning, and which commands are taken."""
    round_ = DisturbedRound(1, [])
    (begun,) = [e for e in round_.entries if isinstance(e.fact, kinds.ScriptStarted) and e.fact.round]
    typed = [e for e in round_.entries if isinstance(e.fact, kinds.BytesTyped) and e.fact.bytes == "\r"]
    return [(e.at_us - begun.at_us) / S for e in typed if e.at_us > begun.at_us], commands_taken(round_)


@pytest.mark.trial(name="late-answers")
@pytest.mark.parametrize("number", sample(range(RETURNS), 4))
def test_a_late_answer_that_shows_itself_counts_and_no_command_is_taken_twice_because_of_it(number: int):
    returns, usual = undisturbed()
    assert len(returns) == RETURNS
    late = DisturbedRound(1, [Fault("stall", returns[number] - 0.001, BUSY_S)])
    facts = [entry.fact for entry in late.entries]
    failed = {fact.step for fact in facts if isinstance(fact, kinds.StepFailed)}
    answered = {fact.step for fact in facts if isinstance(fact, kinds.AnsweredLate)}
    (ended,) = [f for f in facts if isinstance(f, kinds.ScriptEnded) and f.script == "round"]
    assert late.wrong == []
    assert ended.tidy, ended
    assert len(failed) == 1
    if not failed & TOLD_BY_NOTHING_ELSE and not any(step.startswith("stop-") for step in failed):
        assert answered == failed
    for command, times in commands_taken(late).items():
        # The tidy-up may have to sign on once, and stops by number what may still run.
        again = command.startswith(("STOP", "TAKE", "LEAVE"))
        assert times <= usual[command] + again, command


def commands_taken(round_: DisturbedRound) -> Counter[str]:
    records = round_.bench.machine.truth.records
    return Counter(r.text for r in records if isinstance(r, CommandTaken) and r.secret_length is None)
