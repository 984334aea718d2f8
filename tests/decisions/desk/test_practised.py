"""What is said of a practice when it is over: kindly, without marks, and only what the recording shows."""

import pytest

from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.desk.practice_words import MISTAKES
from exhibit.decisions.desk.practised import PRACTICE, RIGHT
from exhibit.decisions.session.day_programme import HOURS, PARTS
from exhibit.facts import kinds
from exhibit.facts.session_facts import RequestKind
from tests.decisions.desk.made_day import Told, asked
from tests.decisions.heron import S

OVER = kinds.DayTurned(phase="over", by="the closing")


def due(told: Told, within_s: int) -> kinds.DeadlineArmed:
    """The deadline that comes with the next fact."""
    return kinds.DeadlineArmed(name="step", due_us=told.at_us + S + within_s * S)


def confirmed(step: str = "drive") -> kinds.HandsOnConfirmed:
    return kinds.HandsOnConfirmed(step=step, by="docent 1")


def planted(name: str) -> kinds.RequestMade:
    return kinds.RequestMade(request="here", by=PRACTICE, why=name)


def requested(request: RequestKind) -> kinds.RequestMade:
    return kinds.RequestMade(request=request, by="docent 1")


def said(told: Told, tag: str = "en") -> list[str]:
    return [line[tag] for line in told["practice"] or []]


def practice(*facts: kinds.AnyFact) -> Told:
    return Told(*facts, practice=True)


def test_nothing_is_said_of_a_day_that_is_no_practice():
    told = Told(asked(), confirmed(), OVER)
    assert told["practice"] is None
    assert not told.view.recorded_state().practice
    assert practice().view.recorded_state().practice


def test_nothing_is_said_before_it_is_over_and_then_at_the_latest_when_the_recording_is_closed():
    told = practice(asked(), confirmed())
    assert said(told) == []
    assert said(told.tell(kinds.RecordingClosed(why="stopped")))[0].endswith("by hand that you did: 1 of 1.")


def test_each_step_is_told_with_its_time_and_no_more_is_made_of_it():
    told = practice()
    told.tell(due(told, 600)).tell(asked(), after_s=0).tell(confirmed(), after_s=30)
    told.tell(due(told, 10)).tell(asked("key"), after_s=0).tell(confirmed("key"), after_s=40)
    told.tell(asked("start"), OVER)
    assert said(told) == [
        "Thank you for practising. Steps by hand that you did: 2 of 3.",
        "Start the drive. It took 30 s; there was 10 min for it.",
        "Start the drive. It took 40 s, longer than its 10 s. Take “not yet” when you need more time.",
        "Start the drive. This one stayed open.",
        "Next, try the closing too: choose “Close for today” once the opening is done.",
    ]


def test_answers_that_put_a_step_off_are_welcome():
    put_off = kinds.HandsOnPutOff(step="drive", by="docent 1")
    assert "Answers that put a step off: 2. That is what they are for." in said(
        practice(asked(), put_off, put_off, confirmed(), OVER)
    )


def test_rounds_lunch_and_stops_are_told_and_what_no_person_did_is_not_laid_to_the_docent():
    def ended(outcome: kinds.Outcome) -> kinds.ScriptEnded:
        return kinds.ScriptEnded(script="round", outcome=outcome, tidy=True, why="")

    def turned(phase: kinds.DayPhase, by: str = "docent 1") -> kinds.DayTurned:
        return kinds.DayTurned(phase=phase, by=by)

    told = practice(
        asked(), confirmed(), turned("rounds"), ended("done"), turned("away"), turned("away", HOURS)
    )
    told.tell(ended("stopped"), turned("stopped"), turned("stopped", PARTS), OVER)
    lines = "\n".join(said(told))
    assert "Rounds that ran to their end: 1." in lines
    assert "Times that you went to lunch: 1. No round began meanwhile." in lines
    assert "Times that you had the typing stopped: 1." in lines
    plain = "\n".join(said(practice(asked(), confirmed(), OVER)))
    assert not any(word in plain for word in ("Rounds", "lunch", "had the typing stopped"))


def test_what_the_machine_put_off_is_no_answer_of_the_docent():
    shown = kinds.HandsOnPutOff(step="drive", by=MACHINE, because="too early")
    assert "put a step off" not in "\n".join(said(practice(asked(), shown, confirmed(), OVER)))


@pytest.mark.parametrize("answer", ["seen", "set aside", "over"])
def test_who_chose_what_the_card_of_a_trouble_offered_is_not_told_of_a_safer_way(answer):
    told = "\n".join(said(practice(asked(), planted("early"), requested(answer), OVER)))
    assert "which the card asked for" in told
    assert "safer way" not in told


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_of_the_practice_is_not_laid_to_the_docent_and_no_option_is_named(name):
    told = practice(asked(), planted(name), confirmed(), OVER)
    assert any(line.startswith("The practice did this, not you") for line in said(told))
    assert "--" not in "\n".join(said(told) + said(told, "de"))
    assert "--" not in "\n".join(said(practice(asked(), confirmed(), OVER)))


@pytest.mark.parametrize("name", MISTAKES)
def test_the_right_answer_to_each_mistake_is_told_as_right(name):
    for answer in RIGHT[name]:
        told = practice(asked(), planted(name)).tell(requested(answer), after_s=7).tell(OVER)
        assert "You noticed, and after 7 s you chose" in said(told)[3]
        assert "That was the right way." in said(told)[3]
        assert "again" not in said(told)[-1]


@pytest.mark.parametrize("name", MISTAKES)
def test_a_mistake_that_nobody_noticed_is_told_with_what_to_do(name):
    told = practice(asked(), planted(name), confirmed(), OVER)
    assert said(told)[3].startswith("Nothing shows that you noticed. It is easily missed. ")
    assert "hoose “" in said(told)[3]
    assert said(told)[-1].startswith("Next, try the same again")


def test_another_answer_than_the_right_one_is_told_with_a_safer_way_and_a_right_one_after_it_counts():
    told = practice(asked(), planted("job"), requested("wait on"), OVER)
    assert "you chose “Wait on”. There is a safer way. Choose “Stop typing”" in said(told)[3]
    told.tell(requested("stop"), OVER)
    assert "you chose “Stop typing”. That was the right way." in said(told)[3]


def test_waiting_after_the_machine_has_shown_it_is_right_and_pressing_again_at_once_is_not():
    shown = kinds.HandsOnPutOff(step="drive", by=MACHINE, because="too early")
    told = practice(asked(), planted("early"), shown, confirmed(), OVER)
    assert "you waited before you went on. That was the right way." in "\n".join(said(told))
    told.tell(asked(), shown, confirmed(), OVER)
    assert "Nothing shows that you noticed." in "\n".join(said(told))


def test_both_languages_say_as_much():
    told = practice(asked(), planted("pack"), requested("seen"), OVER)
    assert len(said(told, "de")) == len(said(told))
    assert not set(said(told, "de")) & set(said(told))
    assert "„Ich habe es gesehen“" in "\n".join(said(told, "de"))


def test_it_is_told_alike_after_a_snapshot():
    told = practice(asked(), planted("pack"))
    again = Told(practice=True)
    again.view.restore(told.view.snapshot())
    again.at_us = told.at_us
    for one in (told, again):
        one.tell(requested("seen"), OVER)
    assert said(again) == said(told) != []
