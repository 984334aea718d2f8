"""What the day has come to, what comes next, and what was done."""

import msgspec
import pytest

from exhibit.decisions.session.day_programme import PARTS
from exhibit.decisions.session.left_open import LeftOpen
from exhibit.facts import kinds
from tests.decisions.desk.made_day import Told, ended, started, trouble
from tests.decisions.heron import S
from tests.decisions.session.day import HERON

CLOSES = {"what": "closes", "at": "2026-11-25T17:00"}


def phase(told: Told) -> str:
    return told["today"]["phase"]


def turned(phase: kinds.DayPhase, until_s: int = 0) -> kinds.DayTurned:
    return kinds.DayTurned(phase=phase, by="docent 1", until_us=until_s * S)


def test_the_day_begins_before_the_opening():
    told = Told()
    assert phase(told) == "before opening"
    assert told["today"]["next"] == [{"what": "opening", "at": ""}, CLOSES]


def test_the_facts_of_the_day_say_its_phase():
    told = Told(turned("opening"), started("opening", 0), turned("away"))
    assert phase(told) == "away"
    assert told["today"]["since"] == "2026-11-25T09:00:04.000+00:00"
    assert phase(told.tell(started())) == "away"


def test_without_them_the_scripts_show_it():
    told = Told(started("opening", 0))
    assert phase(told) == "opening"
    assert phase(told.tell(ended("opening"), started())) == "rounds"
    assert phase(told.tell(ended(), started("closing", 0))) == "closing"
    assert phase(told.tell(ended("closing"))) == "over"


def test_a_closing_that_was_not_finished_is_not_the_end_of_the_day():
    assert phase(Told(started("closing", 0), ended("closing", "failed", "x"))) == "closing"


def test_a_day_that_a_limit_ended_keeps_why_until_it_is_opened_again():
    why = "the discs made 61 errors today, and the limit is 60"
    by_limits = kinds.DayTurned(phase="closing", by="the limits in day.toml", why=why)
    told = Told(turned("rounds"), by_limits, turned("over"))
    assert told["today"]["closed_by"] == why
    assert told.tell(turned("opening"))["today"]["closed_by"] == ""
    assert Told(turned("rounds"), turned("closing"), turned("over"))["today"]["closed_by"] == ""


def test_in_a_rest_the_next_round_has_its_time():
    told = Told(started(), ended(), kinds.SessionResting(until_us=300 * S))
    assert told["today"]["next"] == [{"what": "round", "at": "2026-11-25T09:05:00.000+00:00"}, CLOSES]


def test_a_quiet_time_says_when_the_rounds_go_on():
    assert Told(turned("quiet", 600))["today"]["next"][0] == {
        "what": "rounds",
        "at": "2026-11-25T09:10:00.000+00:00",
    }
    assert Told(turned("away"))["today"]["next"] == [CLOSES]


def test_nothing_comes_after_the_closing():
    assert Told(turned("over"))["today"]["next"] == []


def test_while_a_round_is_finished_the_closing_is_still_to_come():
    told = Told(turned("rounds"), started(), turned("closing"))
    assert (told["today"]["begun"], told["today"]["next"]) == (False, [{"what": "closing", "at": ""}])
    told.tell(ended(), started("closing", 0))
    assert (told["today"]["begun"], told["today"]["next"]) == (True, [{"what": "over", "at": ""}])


def test_the_closing_says_how_many_steps_by_hand_it_has():
    assert Told(turned("closing"))["today"]["hands"] == 2
    assert Told(turned("rounds"))["today"]["hands"] == 0


@pytest.mark.parametrize(
    ("phase", "resumes"),
    [("opening", "opening"), ("closing", "closing"), ("rounds", "rounds"), ("away", "rounds")],
)
def test_after_a_stop_it_is_known_what_goes_on(phase, resumes):
    told = Told(turned(phase), turned("stopped"))
    assert told["today"]["resumes"] == resumes
    assert told.tell(turned("stopped"))["today"]["resumes"] == resumes


HELD = kinds.DayTurned(phase="stopped", by=PARTS, why="the drive has stopped")


def test_what_was_looked_at_again_and_stands_as_before_keeps_its_beginning():
    told = Told(turned("rounds"), HELD, turned("rounds"), HELD)
    assert told["today"]["since"] == "2026-11-25T09:00:03.000+00:00"
    assert told["today"]["looked"] == "2026-11-25T09:00:05.000+00:00"


def test_what_was_so_before_midnight_has_no_beginning_and_keeps_its_reason_when_looked_at_again():
    carried = msgspec.structs.replace(HELD, why=f"{HELD.why}; so it was before midnight")
    today = Told(carried)["today"]
    assert (today["since"], today["looked"], today["why"]) == ("", "", carried.why)
    again = Told(carried, turned("rounds"), HELD)["today"]
    assert (again["since"], again["looked"]) == ("", "2026-11-25T09:00:04.000+00:00")


@pytest.mark.parametrize(
    "between",
    [started(), kinds.PartStarted(part="drive", by="ready"), msgspec.structs.replace(HELD, why="another")],
)
def test_what_stops_anew_begins_anew(between):
    told = Told(turned("rounds"), HELD, between, HELD)
    assert told["today"]["since"] == "2026-11-25T09:00:05.000+00:00"
    assert told["today"]["looked"] == ""


def test_what_goes_on_is_known_from_the_recording_before():
    day = kinds.DayKept(phase="stopped", by="docent 1", at="2026-11-25T08:59:00+00:00", resumes="opening")
    left = msgspec.structs.replace(LeftOpen(HERON).as_fact("the last"), day=day)
    assert Told(left, turned("stopped"))["today"]["resumes"] == "opening"


def test_the_numbers_of_the_day():
    told = Told(started(), ended(), started(round_=2), ended(outcome="failed", why="the board never came"))
    told.tell(trouble(), kinds.NoteMade(kind="photograph", by="docent 1", digest=""))
    told.tell(kinds.Heartbeat(wall="2026-11-25T09:05:08+00:00"), after_s=300)
    done = told["done_today"]
    assert (done["rounds"], done["troubles"], done["photographs"], done["notes"]) == (1, 1, 1, 0)
    [unfinished] = done["unfinished"]
    assert (unfinished["script"], unfinished["why"]) == ("round", "the board never came")


def test_a_round_that_runs_counts_its_minutes_so_far():
    beat = kinds.Heartbeat(wall="2026-11-25T09:05:08+00:00")
    assert Told(started()).tell(beat, after_s=300)["done_today"]["minutes"] == 5


@pytest.mark.parametrize("name", ["unfinished", "troubles", "notes"])
def test_a_new_day_begins_with_nothing_done(name):
    told = Told(trouble(), kinds.NoteMade(kind="note", by="docent 1", digest=""), ended(outcome="failed"))
    assert told["done_today"][name]
    told.tell(kinds.Heartbeat(wall="2026-11-26T00:00:01+00:00"), after_s=16 * 3600)
    assert not told["done_today"][name]
