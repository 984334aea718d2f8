"""What the terminal says of the day: always who or what led to a phase, unless it was its own reader."""

from __future__ import annotations

import typing

import pytest

from exhibit.commands.answers import meaning
from exhibit.commands.day.told_day import HOW, told_of_the_day
from exhibit.commands.saying import ENGLISH, Say
from exhibit.facts import kinds
from exhibit.facts.kinds import DayPhase


@pytest.mark.parametrize("phase", typing.get_args(DayPhase))
def test_each_phase_is_said_with_who_or_what_led_to_it(phase):
    fact = kinds.DayTurned(phase=phase, by="the hours in day.toml", why="the museum closes at 17:00")
    said = told_of_the_day(fact, ENGLISH, "the person at the terminal")
    assert said[1:] == ["  By: the hours in day.toml.", "  Because: the museum closes at 17:00."]
    assert told_of_the_day(fact, Say("de"), "x")[0] != said[0]


def test_a_person_who_asked_for_it_is_not_told_that_it_was_them():
    fact = kinds.DayTurned(phase="away", by="the person at the terminal")
    said = told_of_the_day(fact, ENGLISH, "the person at the terminal")
    assert said == ['The day: no round begins until you type "back".']


def test_all_that_it_offers_at_the_beginning_can_be_typed():
    offered = [word for at, word in enumerate(HOW.split('"')) if at % 2]
    meant = [meaning(word, german=False)[0] for word in offered]
    assert meant == ["open", "close", "away", "back", "quiet", "round now", "here"]
