"""Which steps by hand were confirmed before this one, with nothing since that shows them to be done."""

import pytest

from exhibit.decisions.console.flow import MACHINE
from exhibit.facts import kinds
from tests.decisions.desk.made_day import CAUTION, Told, asked, ended, overdue, started

KEY = (asked("key"), kinds.HandsOnConfirmed(step="key", by="docent 1"))
DRIVE = (asked(), kinds.HandsOnConfirmed(step="drive", by="docent 1"))
MATCHED = kinds.StepMatched(script="opening", step="warm", name="warm", line="WARM")
TYPED = kinds.TypingConfirmed(command="LIST", attempts=1)
LATE = overdue("warm", waited_for=["warm"])


def before(told: Told) -> list[str]:
    return [one["step"] for one in told["doing"]["before"]]


def test_what_was_confirmed_directly_before_stands_there_the_nearest_last():
    told = Told(started("opening"), *KEY, *DRIVE, asked("start"))
    assert before(told) == ["key", "drive"]
    (_, last) = told["doing"]["before"]
    assert (last["caution"], last["panel"], last["at"]) == (CAUTION, [], "2026-11-25T09:00:06.000+00:00")
    assert before(Told(started("opening"), asked("key"))) == []


def test_what_a_later_step_waited_for_and_got_shows_that_it_was_done():
    assert before(Told(*KEY, MATCHED, *DRIVE, asked("start"))) == ["drive"]
    assert before(Told(*KEY, *DRIVE, MATCHED, asked("start"))) == []


@pytest.mark.parametrize(
    "fact", [TYPED, kinds.SecretTyped(by="session"), started("closing"), ended("opening", "stopped")]
)
def test_after_a_typed_command_or_in_another_run_none_stands_there(fact):
    assert before(Told(*KEY, fact, asked("start"))) == []
    assert before(Told(*KEY, fact, LATE)) == []


def test_a_late_step_has_all_since_a_command_was_typed():
    assert before(Told(*KEY, MATCHED, *DRIVE, LATE)) == ["key", "drive"]


def test_a_step_that_is_asked_again_does_not_stand_before_itself():
    assert before(Told(*KEY, *DRIVE, asked())) == ["key"]


def test_a_date_is_nothing_that_hands_have_done():
    told = Told(asked("day", caution={}), kinds.HandsOnConfirmed(step="day", by="docent 1"), asked())
    assert before(told) == []


@pytest.mark.parametrize(
    "fact",
    [
        kinds.LandmarkReached(landmark="ready", line="READY:"),
        kinds.PatternSeen(pattern="warm", line="WARM"),
    ],
)
def test_what_the_machine_said_of_a_step_may_be_untrue_once_it_shows_something_known(fact):
    put_off = kinds.HandsOnPutOff(step="drive", by=MACHINE, because="too early")
    told = Told(asked(), put_off)
    assert not told["doing"]["because"]["answered"]
    assert told.tell(fact)["doing"]["because"]["answered"]
    assert not told.tell(put_off)["doing"]["because"]["answered"]


def test_what_a_person_said_of_a_step_stays_as_it_was_said():
    put_off = kinds.HandsOnPutOff(step="drive", by="docent 1", because="too early")
    told = Told(asked(), put_off, kinds.LandmarkReached(landmark="ready", line="READY:"))
    assert not told["doing"]["because"]["answered"]
