"""A script whose job may be running isn't tidy, and what it says about jobs is what is known of them."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec
import pytest

from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.facts.use_before import InDoubt, UseBefore
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.heron import S, command, folder, opened, pause, script
from tests.decisions.one_round import answer, one_round, tidied, types
from tests.decisions.session import test_limits

WORK = command("go", "work 4", "working ready")
STOP = command("end-it", "x {go.job}", "ready")
RULES = msgspec.structs.replace(test_limits.WORK, none_listed=("let-go",), ended=("stopped", "ended"))
HERON = msgspec.structs.replace(test_limits.HERON, exercisers=(RULES,))
WORKING = b"JOB 7 WORKS 4 MINUTES\r\nREADY: "


def round_of(*steps, tidy_up=(STOP,)) -> Driver:
    return Driver(one_round(*steps, tidy_up=tidy_up, described=HERON))


def why(driver: Driver) -> str:
    (ended,) = driver.facts(kinds.ScriptEnded)
    return ended.why


def left_out(driver: Driver) -> list[str]:
    return [fact.why for fact in driver.facts(kinds.StepLeftOut)]


def test_a_script_whose_job_began_and_ended_is_tidy_and_nothing_was_in_doubt():
    driver = round_of(WORK)
    types(driver, b"WORK 4", WORKING)
    answer(driver, b"X 7", b"JOB 7 STOPPED\r\nREADY: ")
    assert (tidied(driver), why(driver)) == (("done", True), "")
    (begun,) = driver.facts(kinds.ExerciserBegun)
    assert (begun.job, begun.asked) == ("7", 1)
    assert driver.facts(kinds.JobInDoubt) == []
    assert len(driver.facts(kinds.ExerciserEnded)) == 1


def test_a_begun_line_that_ends_the_script_at_once_is_believed_at_once():
    driver = round_of(command("go", "work 4", "working"), tidy_up=())
    types(driver, b"WORK 4", b"JOB 7 WORKS 4 MINUTES\r\n")
    assert tidied(driver) == ("done", True)


@pytest.mark.parametrize("printed", [b"JOB 7 W+RKS 4 MINUTES\r\nREADY: ", b"READY: "])
def test_a_script_whose_begun_line_did_not_come_whole_is_not_tidy(printed):
    driver = round_of(WORK)
    types(driver, b"WORK 4", printed)
    driver.run(lambda: driver.over is not None)
    assert tidied(driver) == ("failed", False)
    assert "a job whose number isn't known, which WORK 4 starts, may be running" in why(driver)
    assert driver.facts(kinds.ExerciserBegun) == []
    (doubt,) = driver.facts(kinds.JobInDoubt)
    assert doubt.by == "script round"


def test_a_script_that_has_no_step_to_stop_the_job_is_not_tidy_either():
    driver = round_of(command("go", "work 4", "ready"), tidy_up=())
    types(driver, b"WORK 4", b"READY: ")
    assert tidied(driver) == ("failed", False)


def test_a_step_that_stops_a_job_of_unknown_number_is_left_out_with_words_that_it_may_run():
    driver = round_of(WORK)
    types(driver, b"WORK 4", b"READY: ")
    driver.run(lambda: driver.over is not None)
    assert b"x" not in driver.typed
    assert set(left_out(driver)) == {
        "the machine never gave job of the step go, but may have taken its command, "
        "so what that command starts may be running"
    }


def test_of_a_job_that_was_never_asked_for_nothing_is_said_to_run():
    driver = round_of(pause("first"), WORK)
    driver.open_line()
    driver.stands(b"READY: ")
    driver.asks("stop")
    assert left_out(driver) == ["the machine never gave job of the step go"]
    assert tidied(driver) == ("stopped", True)


def test_a_listing_without_the_job_makes_the_script_tidy_again():
    driver = round_of(WORK, command("look", "list", "ready"), tidy_up=())
    types(driver, b"WORK 4", b"READY: ")
    answer(driver, b"LIST", b"LET GO OF JOB 0\r\nREADY: ")
    assert tidied(driver) == ("done", True)
    assert [fact.how for fact in driver.facts(kinds.JobDoubtOver)] == ["not listed"]


def test_a_job_whose_end_was_printed_before_leaves_nothing_untidy():
    """The step that would stop it can't be typed at this prompt, but the job has ended."""
    for end, tidy in ((b"JOB 7 ENDED\r\n", True), (b"", False)):
        driver = round_of(WORK, command("sign", "sign", "word"))
        types(driver, b"WORK 4", WORKING)
        answer(driver, b"SIGN", end + b"SIGN WORD? ")
        driver.run(lambda ended=driver: ended.over is not None)
        assert tidied(driver)[1] == tidy


def after_a_doubt(*requests: str) -> Sequence[kinds.AnyFact]:
    """Another pass in a new recording, when the job of an earlier pass is in doubt."""
    doubt = InDoubt(asked=1, exercisers=["work"], command="WORK 4", by="script round", why="it was cut off")
    before = UseBefore(at="2026-11-25T09:00:00+00:00", in_doubt=[doubt])
    first = opened(HERON, use_before=before)
    work = folder(script("round", WORK, tidy_up=(STOP,)), machine=HERON)
    driver = Driver(decider_for(work, first, Wanted(before=(), rounds=1, after=()), {}), opened_as=first)
    for request in requests:
        driver.asks(request)
    types(driver, b"WORK 4", WORKING)
    answer(driver, b"X 7", b"JOB 7 STOPPED\r\nREADY: ")
    return driver.facts(kinds.ScriptEnded, kinds.RequestRefused)


def test_a_later_pass_that_goes_well_is_done_but_its_script_is_not_tidy_until_a_person_has_said_so():
    (ended,) = after_a_doubt()
    assert (ended.outcome, ended.tidy) == ("done", False)
    assert "WORK 4 starts, may be running" in ended.why
    (ended,) = after_a_doubt("no job")
    assert (ended.outcome, ended.tidy, ended.why) == ("done", True, "")


def test_a_person_who_says_so_when_nothing_is_in_doubt_is_told():
    (refused, _) = after_a_doubt("no job", "no job")[:2]
    assert refused.why == "no job is in doubt"


def test_at_a_machine_that_is_only_watched_a_person_can_say_so_too():
    doubt = InDoubt(asked=1, exercisers=["work"], command="WORK 4", by="script round", why="it was cut off")
    before = UseBefore(at="2026-11-25T09:00:00+00:00", in_doubt=[doubt])
    first = opened(HERON, use_before=before, typing="nothing")
    driver = Driver(decider_for(folder(machine=HERON), first), opened_as=first)
    driver.asks("no job")
    assert driver.facts(kinds.RequestRefused) == []
    assert [fact.how for fact in driver.facts(kinds.JobDoubtOver)] == ["a person"]
    driver.asks("stop")
    assert len(driver.facts(kinds.RequestRefused)) == 1


def test_a_lost_line_leaves_the_job_that_was_being_begun_in_doubt():
    driver = round_of(WORK)
    types(driver, b"WORK 4", b"JOB 7 W")
    driver.wait(S // 100)
    driver.lose_line()
    (doubt,) = driver.facts(kinds.JobInDoubt)
    assert (doubt.command, doubt.job) == ("WORK 4", "")
    assert "the line was lost" in doubt.why
