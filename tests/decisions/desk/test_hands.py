"""Whose hands are on the keyboard, and what is left to type after a stop."""

from exhibit.facts import kinds
from tests.decisions.desk.made_day import Told, asks, ended, started

TIDYING = kinds.TidyUpStarted(script="round", why="a docent said stop")


def left(told: Told) -> tuple[str, list[str], int]:
    stopping = told["stopping"]
    return stopping["state"], stopping["left"], stopping["within_s"]


def test_a_stop_shows_what_is_left_of_the_tidy_up_and_how_long_it_takes():
    told = Told(started(), asks("stop"))
    assert left(told) == ("asked", ["stop-work", "let-go"], 30)
    told.tell(TIDYING)
    assert left(told) == ("tidying up", ["stop-work", "let-go"], 30)
    told.tell(kinds.StepStarted(script="round", step="let-go", tidying=True))
    assert left(told) == ("tidying up", ["let-go"], 10)
    assert told.tell(ended(outcome="stopped"))["stopping"] is None


def test_at_twenty_times_the_speed_it_takes_a_twentieth_of_the_time():
    assert left(Told(started(), asks("stop"), rate=20.0))[2] == 2


def test_a_tidy_up_that_nobody_asked_for_is_no_stop():
    assert Told(started(), TIDYING)["stopping"] is None


def test_where_nothing_runs_there_is_nothing_to_stop():
    assert Told(asks("stop"))["stopping"] is None


def test_a_stop_that_was_refused_is_none():
    refused = kinds.RequestRefused(request="stop", why="x")
    assert Told(started(), asks("stop"), refused)["stopping"] is None


def test_hands_off_stays_until_something_begins_again():
    told = Told(started(), asks("stop"), TIDYING, kinds.HandsOff(by="docent 1", standing="BEG"))
    told.tell(ended(outcome="stopped"))
    assert told["stopping"]["state"] == "hands off"
    assert told["stopping"]["standing"] == "BEG"
    assert told.tell(started(round_=2))["stopping"] is None


def test_the_keyboard_has_one_pair_of_hands():
    told = Told(kinds.KeyboardTaken(by="engineer 2"))
    assert told["keyboard"] == {"who": "engineer 2", "since": "2026-11-25T09:00:02.000+00:00"}
    assert told.tell(kinds.KeyboardGivenBack(by="engineer 2"))["keyboard"] is None
