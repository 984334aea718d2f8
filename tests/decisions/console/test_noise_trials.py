"""Typing under noise: what is executed, counted and reckoned, and what tells of it."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from exhibit.simulator.keyboard import SHOW_AGAIN
from tests.decisions.heron import machine
from tests.sampling import WHOLE
from tests.sums.noisy_line import by_dice
from tests.trials.noise import (
    ALL,
    COMMANDS,
    HARMLESS,
    KINDS,
    WHOLE_COMMANDS,
    WHOLE_SEEDS,
    WINDOWS,
    Asked,
    Tally,
    Trial,
    count,
    judge,
    try_kind,
)

SHORT = [number for number, command in enumerate(COMMANDS) if len(command) < 9]
"""What can come of a long command takes many seconds to reckon."""
AS_TYPED = [command.encode() + bytes((SHOW_AGAIN,)) + b"\r" for command in COMMANDS]


def clean(character: int) -> list[int]:
    return [character]


@pytest.mark.trial(name="noise", seed=WHOLE_SEEDS)
@pytest.mark.parametrize("kind", KINDS)
def test_no_more_is_executed_under_noise_than_is_reckoned(kind):
    commands, seeds, numbers = (WHOLE_COMMANDS, WHOLE_SEEDS, ALL) if WHOLE else (100, [1], SHORT)
    tally = try_kind(kind, commands, seeds, numbers)
    assert tally.wrong == []
    assert tally.outcomes["right"] > 0.7 * commands * len(seeds)
    came_back_wrong = sum(count for times, count in tally.attempts.items() if times)
    assert came_back_wrong > 0.05 * commands * len(seeds), "that was no noise"


@pytest.mark.parametrize("window", WINDOWS)
def test_where_m_comes_as_return_each_beginning_is_counted_and_told(window):
    def damage(character: int) -> list[int]:
        return [13 if character in b"mM" else character]

    trial = Trial(damage, clean, window)
    tally = Tally(Counter())
    count(trial.ask(COMMANDS.index("TIME")), tally, trial.machine)
    assert tally.outcomes == {"beginning": 1}
    # Typed three times at most: each time its beginning was executed, and each time it was seen.
    assert tally.told == tally.exactly == 3
    judge("loss", tally)
    assert any("beginning" in wrong for wrong in tally.wrong)


def test_what_nothing_tells_of_or_must_never_be_typed_is_a_false_claim():
    tally = Tally(Counter())
    count(Asked("TIME", ["TI"], [], False, b""), tally, machine())
    assert len(tally.wrong) == 1
    count(Asked("HALT", ["HALT"], [], True, b""), tally, machine())
    assert len(tally.wrong) == 2


@pytest.mark.parametrize("window", WINDOWS)
@pytest.mark.parametrize("late_ms", [200, 1000])
def test_an_echo_that_comes_late_is_never_typed_again(window, late_ms):
    trial = Trial(clean, clean, window, late_ms)
    for number in range(len(COMMANDS)):
        asked = trial.ask(number)
        assert asked.typed == AS_TYPED[number]
        assert (asked.outcome, asked.garbled) == ("right", [])


@pytest.mark.parametrize("window", WINDOWS)
def test_broadcasts_in_the_middle_of_a_command_cost_no_second_attempt(window):
    trial = Trial(clean, clean, window)
    dice = random.Random(f"broadcasts {window}")
    for _ in range(40):
        number = dice.randrange(len(COMMANDS))
        notice_at = dice.randrange(1, len(COMMANDS[number]) + 1)
        asked = trial.ask(number, notice_at)
        assert asked.typed == AS_TYPED[number], notice_at
        assert (asked.outcome, asked.garbled) == ("right", [])


def test_every_kind_of_noise_damages_what_it_says():
    for kind, rates in KINDS.items():
        dice = random.Random(kind)
        damage = by_dice(dice, **rates)
        became = [damage(ord("A")) for _ in range(5000)]
        damaged = [arrived for arrived in became if arrived != [ord("A")]]
        assert 20 < len(damaged) < 90, kind
        assert kind not in HARMLESS or not any(13 in arrived for arrived in damaged)
