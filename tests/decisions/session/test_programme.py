"""Opening, rounds with their rests, closing: one after the other, until one of them isn't done."""

from __future__ import annotations

import pytest

from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.heron import S, folder, hands_on, opened, pause, script
from tests.decisions.playbook import play

OPENING = script("opening", pause("open"))
ROUND = script("round", pause("go-round"))
CLOSING = script("closing", pause("close"))
ATTENDED = script("attended", hands_on("watch"))
ALL = folder(OPENING, ROUND, CLOSING, ATTENDED)


def running(**wanted) -> Driver:
    driver = Driver(decider_for(ALL, opened(), Wanted(**wanted)))
    driver.open_line()
    return driver


def ran(driver: Driver) -> list[str]:
    return [f"{fact.script} {fact.round}" for fact in driver.facts(kinds.ScriptStarted)]


def test_between_two_rounds_the_machine_rests():
    play(
        decider_for(ALL, opened(), Wanted(rounds=2)),
        """
        opens
            tell script started: opening
            tell step started: open
        passes step
            tell step ended: open
            tell tidy up started: (the script is done)
            tell script ended: done tidy
            tell script started: round round 1
            tell step started: go-round
        passes step
            tell step ended: go-round
            tell tidy up started: (the script is done)
            tell script ended: done tidy
            tell session resting: until 30 s
            arm rest 20 s
        passes rest
            tell script started: round round 2
            tell step started: go-round
        passes step
            tell step ended: go-round
            tell tidy up started: (the script is done)
            tell script ended: done tidy
            tell script started: closing
            tell step started: close
        passes step
            tell step ended: close
            tell tidy up started: (the script is done)
            tell script ended: done tidy
            tell session resting
            end done
        """,
        without=("arm script", "arm step", "drop"),
    )


@pytest.mark.parametrize(
    ("wanted", "scripts"),
    [
        ({"rounds": 0}, ["opening 0", "closing 0"]),
        ({"rounds": 1}, ["opening 0", "round 1", "closing 0"]),
        ({"rounds": 3}, ["opening 0", "round 1", "round 2", "round 3", "closing 0"]),
        ({"before": (), "rounds": 2, "after": ()}, ["round 1", "round 2"]),
        ({"before": ("opening", "closing"), "rounds": 0, "after": ()}, ["opening 0", "closing 0"]),
        ({"before": ("round",), "rounds": 0, "after": ()}, ["round 0"]),
        ({"before": ("opening",) * 2, "rounds": 0}, ["opening 0", "opening 0", "closing 0"]),
        ({"before": (), "rounds": 0, "after": ()}, []),
    ],
)  # fmt: skip
def test_what_was_wanted_is_run_once_each_and_in_order(wanted, scripts):
    driver = running(**wanted)
    driver.run()
    assert ran(driver) == scripts
    assert driver.over == "done"
    assert driver.deadlines == {}


def test_without_a_number_the_rounds_go_on():
    driver = running(before=(), rounds=None)
    driver.run(lambda: len(ran(driver)) == 50)
    assert ran(driver)[-1] == "round 50"
    assert driver.over is None


def test_nothing_begins_before_the_line_is_open():
    driver = Driver(decider_for(ALL, opened(), Wanted()))
    driver.run()
    assert ran(driver) == []


def test_stop_before_the_line_is_open_ends_at_once():
    driver = Driver(decider_for(ALL, opened(), Wanted()))
    driver.asks("stop")
    assert driver.over == "stopped"
    driver.open_line()
    assert ran(driver) == []


def test_stop_during_a_rest_ends_at_once():
    driver = running(before=(), rounds=2)
    driver.passes("step")
    driver.asks("stop")
    assert driver.over == "stopped"
    assert driver.deadlines == {}
    assert driver.facts(kinds.RequestRefused) == []


def test_after_stop_neither_another_round_nor_the_closing_is_run():
    driver = running(rounds=None)
    driver.passes("step")
    driver.asks("stop")
    driver.run()
    assert ran(driver) == ["opening 0", "round 1"]
    assert driver.over == "stopped"


def test_stop_says_who_and_why_but_a_computer_only_passes_it_on():
    driver = running(before=(), rounds=1)
    driver.asks("stop", by="this computer", why="it was told to end")
    assert driver.facts(kinds.ScriptEnded)[0].why == "it was told to end"
    driver = running(before=(), rounds=1)
    driver.asks("stop", by="a docent", why="it smells")
    assert driver.facts(kinds.ScriptEnded)[0].why == "a docent said stop: it smells"


def test_after_a_failure_nothing_else_is_run():
    driver = running(before=("attended",), rounds=2)
    driver.asks("refuse", "watch", why="no")
    driver.run()
    assert ran(driver) == ["attended 0"]
    assert driver.over == "failed"


def test_stop_when_all_is_over_is_refused():
    driver = running(before=(), rounds=0, after=())
    driver.asks("stop")
    assert [fact.why for fact in driver.facts(kinds.RequestRefused)] == ["nothing is being typed any more"]


# -- the line goes away, the disc is full, while nothing runs


def test_a_rest_that_is_over_while_the_line_is_away_waits_for_it():
    driver = running(before=(), rounds=2, after=())
    driver.passes("step")
    driver.lose_line()
    driver.passes("rest")
    driver.run()
    assert ran(driver) == ["round 1"]
    driver.open_line()
    assert ran(driver) == ["round 1", "round 2"]


def test_a_line_that_came_back_during_the_rest_changes_nothing():
    driver = running(before=(), rounds=2, after=())
    driver.passes("step")
    driver.lose_line()
    driver.open_line()
    assert ran(driver) == ["round 1"]
    driver.run()
    assert ran(driver) == ["round 1", "round 2"]
    assert driver.over == "done"


def test_a_disc_that_fills_up_during_a_rest_ends_the_rounds_and_a_person_must_look():
    driver = running(before=(), rounds=2)
    driver.passes("step")
    driver.note(kinds.RecordNearlyFull(left_bytes=4096))
    driver.note(kinds.Heartbeat(wall="2026-11-25T09:00:00+00:00"))
    assert driver.over == "failed"
    assert "disc" in driver.facts(kinds.SessionFailed)[0].why
    assert driver.deadlines == {}
    driver.run()
    assert ran(driver) == ["round 1"]


@pytest.mark.parametrize("rest_us", [0, 7 * S, 20 * S, 300 * S])
def test_a_rest_is_as_long_as_the_folder_says(rest_us):
    work = folder(OPENING, ROUND, CLOSING, rest_us=rest_us)
    driver = Driver(decider_for(work, opened(), Wanted(before=(), rounds=3)))
    driver.open_line()
    driver.run()
    ended = [e.at_us for e in driver.entries if isinstance(e.fact, kinds.ScriptEnded)]
    started = [e.at_us for e in driver.entries if isinstance(e.fact, kinds.ScriptStarted)]
    rested = [later - earlier for earlier, later in zip(ended, started[1:], strict=False)]
    assert rested == [rest_us, rest_us, 0]  # before the closing there is none
    told = [fact.until_us for fact in driver.facts(kinds.SessionResting) if fact.until_us]
    assert told == started[1:3]
