"""A trouble ends the script that runs, unless the folder says that it needn't."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.decider import Decider
from exhibit.decisions.machine.pattern import Pattern
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.heron import (
    MACHINE,
    S,
    folder,
    hands_on,
    machine,
    opened,
    pause,
    press,
    read,
    script,
    wait,
)
from tests.decisions.one_round import (
    GO,
    GO_IS_TYPED,
    QUIETLY,
    STATES,
    TIDY_UP,
    come_to,
    in_every_state,
    one_round,
    tidied,
)
from tests.decisions.playbook import play

FIRE = b"\r\nDRIVE LEFT FAILED\r\n"
FIRE_AS_A_NOTICE = b"\r\nSTORM WARNING 3\r\nDRIVE LEFT FAILED\r\nEND OF WARNING\r\n"
WHY = "something was wrong: A drive has failed"


def frame(*rows: tuple[int, str]) -> bytes:
    painted = "".join(f"\x1b[{row};1H{text}" for row, text in rows)
    return f"\x1b[2J\x1b[1;1HHERON BOARD 09.15{painted}\x1b[24;1H".encode()


def test_a_trouble_fails_its_step_in_its_own_words_and_the_tidy_up_runs():
    play(
        one_round(GO, tidy_up=TIDY_UP),
        GO_IS_TYPED,
        """
        prints "\\r\\n"
            tell typing confirmed: go at attempt 1
        prints "DRIVE LEFT FAILED\\r\\n"
            tell trouble raised: fire
            tell step failed: go (something was wrong: A drive has failed)
            tell tidy up started: (something was wrong: A drive has failed)
            tell step started: away (tidying)
        prints "READY: "
        passes settle
            tell landmark reached: ready
            type SPACE
        """,
        without=QUIETLY,
    )


@in_every_state
def test_in_every_state_a_trouble_ends_the_script_and_it_is_tidied_up(state):
    driver, _ = come_to(state)
    before = driver.typed
    hidden = state == "typing a secret"  # what comes then may be the secret: only blanks are looked at
    driver.prints(FIRE_AS_A_NOTICE)
    driver.prints(b"\r\nREADY: ")
    driver.run(lambda: tidied_up(driver) or driver.typed != before)
    driver.prints(b"\r\nREADY: ")
    driver.run()
    assert hidden or [fact.trouble for fact in driver.facts(kinds.TroubleRaised)] == ["fire"]
    assert driver.over == "failed"
    assert driver.typed.endswith(b" ")
    assert driver.typed.count(b" ") == 1
    assert hidden or WHY in driver.facts(kinds.ScriptEnded)[0].why


def tidied_up(driver: Driver) -> bool:
    return bool(driver.facts(kinds.TidyUpStarted))


def test_every_state_is_looked_at():
    assert len(STATES) == 8


def test_a_trouble_that_neednt_end_a_script_is_told_and_it_goes_on():
    driver = Driver(one_round(wait("end", "ended")))
    driver.open_line()
    driver.prints(b"DRIVE LEFT WARM\r\nJOB 1 ENDED\r\n")
    assert [fact.trouble for fact in driver.facts(kinds.TroubleRaised)] == ["warm"]
    assert (driver.over, tidied(driver)) == ("done", ("done", True))


def test_in_a_tidy_up_a_trouble_fails_the_step_it_came_in_and_the_rest_is_tried():
    driver = Driver(one_round(pause("look"), tidy_up=(wait("a", "ended"), *TIDY_UP)))
    driver.open_line()
    driver.passes("step")
    driver.prints(FIRE)
    assert [(fact.step, fact.why) for fact in driver.facts(kinds.StepFailed)] == [("a", WHY)]
    driver.stands(b"READY: ")
    assert driver.typed == b" "
    driver.prints(b"\r\nREADY: ")
    driver.run()
    assert tidied(driver) == ("failed", False)
    assert driver.over == "failed"


def rounds(*steps) -> Decider:
    return decider_for(folder(script("round", *steps)), opened(), Wanted(before=(), rounds=2, after=()))


def test_after_a_trouble_between_two_rounds_no_other_is_begun():
    driver = Driver(rounds(pause("look")))
    driver.open_line()
    driver.passes("step")
    assert "rest" in driver.deadlines
    driver.prints(FIRE)
    driver.run()
    assert len(driver.facts(kinds.ScriptStarted)) == 1
    assert driver.facts(kinds.SessionFailed)[0].why == WHY
    assert driver.over == "failed"
    assert driver.deadlines == {}


def test_a_trouble_that_neednt_end_a_script_doesnt_keep_the_next_from_being_begun():
    driver = Driver(rounds(pause("look")))
    driver.open_line()
    driver.passes("step")
    driver.prints(b"DRIVE LEFT WARM\r\n")
    driver.run()
    assert (len(driver.facts(kinds.ScriptStarted)), driver.over) == (2, "done")


def test_a_trouble_in_one_piece_with_the_end_of_a_round_keeps_the_next_from_being_begun():
    decider = rounds(wait("end", "ended"))
    driver = Driver(decider)
    driver.open_line()
    driver._waiting += decider.received(b"JOB 1 ENDED\r\nDRIVE LEFT FAILED\r\n", driver.now_us)
    driver._carry_out()
    driver.run()
    assert len(driver.facts(kinds.ScriptStarted)) == 1
    assert driver.over == "failed"


# -- on rows of a status display


def test_a_trouble_on_its_row_of_a_display_fails_the_step_when_the_frame_ends():
    driver = Driver(one_round(read("frame"), read("another")))
    driver.open_line()
    driver.prints(frame((6, "3 GOES")))
    painted = frame((7, "3 STUCK"))
    driver.prints(painted[:-4])
    assert driver.facts(kinds.TroubleRaised) == []
    driver.prints(painted[-4:])
    assert [(fact.trouble, fact.line) for fact in driver.facts(kinds.TroubleRaised)] == [("stuck", "3 STUCK")]
    assert driver.facts(kinds.StepFailed)[0].step == "another"
    assert driver.over == "failed"


@pytest.mark.parametrize("row", [6, 7, 8, 9])
def test_it_is_looked_for_on_each_of_its_rows(row):
    driver = Driver(one_round(pause("look")))
    driver.open_line()
    driver.prints(frame((row, "3 STUCK")))
    assert len(driver.facts(kinds.TroubleRaised)) == 1


def test_on_another_display_that_stands_it_is_none():
    driver = Driver(one_round(pause("look")))
    driver.open_line()
    driver.prints(b"\x1b[2J\x1b[1;1HHERON GAUGE\x1b[2;1HLEVEL 4\x1b[7;1H3 STUCK")
    driver.passes("frame")
    assert [fact.landmark for fact in driver.facts(kinds.LandmarkReached)] == ["gauge"]
    assert driver.facts(kinds.TroubleRaised) == []


ENDED_9 = msgspec.structs.replace(MACHINE.troubles[0], pattern=Pattern("JOB 9 ENDED"))


def test_a_trouble_that_the_step_itself_waits_for_is_told_and_ends_the_step_well():
    driver = Driver(one_round(wait("end", "ended"), pause("look"), described=machine(troubles=(ENDED_9,))))
    driver.open_line()
    driver.prints(b"JOB 9 ENDED\r\n")
    assert len(driver.facts(kinds.TroubleRaised)) == 1
    assert [fact.step for fact in driver.facts(kinds.StepEnded)] == ["end"]
    assert driver.facts(kinds.StepFailed) == []


@pytest.mark.parametrize("step", [wait("begin", "begun"), pause("end"), hands_on("key"), GO])
def test_a_known_line_that_is_a_trouble_fails_a_step_that_doesnt_wait_for_it(step):
    driver = Driver(one_round(step, wait("end", "ended"), described=machine(troubles=(ENDED_9,))))
    driver.open_line()
    driver.prints(b"JOB 9 ENDED\r\n")
    assert [fact.step for fact in driver.facts(kinds.StepFailed)] == [step.name]
    assert driver.facts(kinds.StepEnded) == []


@pytest.mark.parametrize(
    "shown",
    [
        frame((5, "3 STUCK")),
        frame((10, "3 STUCK")),
        frame((7, "3 STUCK")).replace(b"HERON BOARD", b"HERON CHART"),
        b"3 STUCK\r\n",
        frame((6, "DRIVE LEFT FAILED")),
    ],
    ids=["above its rows", "below", "another display", "printed", "a printed line's, on a display"],
)
def test_elsewhere_it_is_none(shown):
    driver = Driver(one_round(pause("look")))
    driver.open_line()
    driver.prints(shown)
    assert driver.facts(kinds.TroubleRaised) == []


def test_a_trouble_that_stands_is_told_once_and_again_when_it_comes_back():
    driver = Driver(decider_for(folder(), opened()))
    driver.open_line()
    for row in ("3 STUCK", "3 STUCK", "3 GOES", "4 STUCK"):
        driver.prints(frame((7, row)))
    assert [fact.line for fact in driver.facts(kinds.TroubleRaised)] == ["3 STUCK", "4 STUCK"]
    driver.stands(b"\r\nREADY: ")
    driver.prints(frame((7, "4 STUCK")))
    assert len(driver.facts(kinds.TroubleRaised)) == 3


def test_a_trouble_while_a_person_is_asked_takes_the_question_back():
    driver = Driver(one_round(hands_on("key")))
    driver.open_line()
    driver.prints(FIRE)
    driver.asks("confirm", "key")
    assert [fact.why for fact in driver.facts(kinds.RequestRefused)] == [
        "nobody is being asked for the step key now"
    ]


def test_a_trouble_after_a_failure_changes_nothing():
    driver = Driver(one_round(press("away", "space", "ready", at="ready"), within_us=60 * S))
    driver.open_line()
    driver.run()
    assert driver.over == "failed"
    driver.prints(FIRE)
    assert len(driver.facts(kinds.SessionFailed)) == 1
