"""Rounds with random disturbances, as played by `python -m tests.trials.rounds`, and their judge."""

import pytest

from exhibit.decisions.console.keying import Keying
from exhibit.decisions.session import at_console
from exhibit.decisions.session.home_keys import HomeKeys
from exhibit.decisions.session.left_open import LeftOpen
from exhibit.decisions.session.script_run import ScriptRun, at_of
from exhibit.simulator.program import Say
from exhibit.simulator.tidebook.jobs import JobTable
from tests.sampling import sample
from tests.trials.disturbed_round import FAULTS, DisturbedRound, Fault, faults_of, whimbrel
from tests.trials.rounds import COUNT

SEEDS = sample(range(1, COUNT + 1), 12, lambda seed: [fault.kind for fault in faults_of(seed)])


@pytest.mark.trial(name="rounds", seed=f"1 to {COUNT}")
@pytest.mark.parametrize("seed", SEEDS)
def test_a_disturbed_round_ends_tidied_up_or_reported_and_nothing_wrong_was_typed(seed):
    played = DisturbedRound(seed)
    assert played.wrong == [], f"round {seed}: {played.faults}"


def test_every_fault_comes_in_these_rounds():
    assert {fault.kind for seed in SEEDS for fault in faults_of(seed)} == set(FAULTS)


def test_the_same_number_plays_the_same_round():
    assert DisturbedRound(7).entries == DisturbedRound(7).entries


# -- the judge finds a program that is broken


def wrong_with(*faults: Fault) -> str:
    """What the judge says about each of the rounds with these disturbances."""
    return "; ".join(wrong for fault in faults for wrong in DisturbedRound(1, [fault]).wrong)


def test_an_exerciser_that_is_left_running_is_found(monkeypatch):
    held = [Fault("XOFF stuck", at_s, 110.0) for at_s in (50, 55, 60)]
    assert wrong_with(*held) == ""
    monkeypatch.setattr(ScriptRun, "tidies_again", lambda run: False)
    assert "SHUTTLE" in wrong_with(*held)


def test_tides_that_are_left_running_are_found(monkeypatch):
    away = Fault("line away", 79, 0.4)
    assert wrong_with(away) == ""
    monkeypatch.setattr(JobTable, "call", lambda *_: iter([Say("CANNOT: NO JOB 3\r\n")]))
    assert "TIDES went on" in wrong_with(away)


def test_a_job_that_is_followed_when_the_line_comes_back_is_let_go_of(monkeypatch):
    away = [Fault("line away", at_s, 0.4) for at_s in (80, 90, 100)]
    assert wrong_with(*away) == ""
    monkeypatch.setattr(HomeKeys, "_cancel_is_in_folder", lambda keys: False)
    assert "nothing stood in the way of stopping it" in wrong_with(*away)


def test_a_nudge_at_a_question_is_found(monkeypatch):
    seed = 160  # the line is away while the machine comes to ask for the time
    assert DisturbedRound(seed).wrong == []
    monkeypatch.setattr(LeftOpen, "question_possible", False)
    assert any("took ''" in wrong for wrong in DisturbedRound(seed).wrong)


def test_a_command_that_isnt_whole_in_a_script_is_found(monkeypatch):
    begin = Keying.begin
    monkeypatch.setattr(
        Keying,
        "begin",
        lambda self, command, *a, **more: begin(self, command.replace("LEAVE", "LEAV"), *a, **more),
    )
    assert any("the machine took 'LEAV'" in wrong for wrong in DisturbedRound(1).wrong)


def test_typing_at_the_wrong_prompt_is_found(monkeypatch):
    anywhere = tuple(prompt.name for prompt in whimbrel().machine.prompts)
    monkeypatch.setattr(at_console, "at_of", lambda step: at_of(step) and anywhere)
    assert "where keep-log stood" in "; ".join(DisturbedRound(1, []).wrong)
