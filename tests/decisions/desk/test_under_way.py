"""What is under way though no round runs as planned."""

from __future__ import annotations

from exhibit.decisions.session.script_run import SCRIPT_DONE
from exhibit.facts import kinds
from tests.decisions.desk.made_day import Told
from tests.decisions.heron import in_english

SOUGHT = kinds.PlaceSought(why="the line was opened")
ROUND = kinds.ScriptStarted(script="round", title=in_english("A round"), by="session", round=1)


def test_it_is_being_found_out_how_the_machine_stands_until_that_is_known_or_somebody_has_to_look():
    told = Told(SOUGHT)
    since = told["under_way"]["seeks"]
    assert since
    told.tell(kinds.DayTurned(phase="away", by="docent 1"), kinds.SessionResting(until_us=0), SOUGHT)
    assert told["under_way"]["seeks"] == since
    assert told.tell(kinds.PlaceRecognised(place="home", line=""))["under_way"]["seeks"] == ""
    told.tell(SOUGHT, kinds.SessionFailed(why="the machine is silent", last_lines=[]))
    assert told["under_way"]["seeks"] == ""


def test_a_script_that_was_done_tidies_up_and_nothing_is_wrong():
    told = Told(ROUND, kinds.TidyUpStarted(script="round", why=SCRIPT_DONE))
    assert told["under_way"]["tidies"] is False


def test_a_script_that_went_wrong_is_tidied_up_until_it_has_ended():
    told = Told(ROUND, kinds.TidyUpStarted(script="round", why="the board was waited for and did not come"))
    assert told["under_way"]["tidies"] is True
    told.tell(kinds.ScriptEnded(script="round", outcome="failed", tidy=True, why="x"))
    assert told["under_way"]["tidies"] is False
