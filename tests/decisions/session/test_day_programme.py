"""A day by request: what each request does in each phase, and that a round is always finished first."""

from __future__ import annotations

import typing

import msgspec
import pytest

from exhibit.decisions.machine.opening_hours import OpeningHours
from exhibit.decisions.machine.wear_rules import Limits
from exhibit.decisions.session.day_programme import ByTheDay
from exhibit.decisions.session.day_requests import ABOUT_THE_DAY
from exhibit.facts import kinds
from exhibit.facts.visitor_words import OpenHours
from tests.decisions.again import check_decided_again
from tests.decisions.heron import S, folder, pause, script
from tests.decisions.session.day import (
    CLOSING,
    FINDS_HOME,
    HERON,
    IN_PHASE,
    MIN,
    OPENING,
    day,
    in_round,
    opening,
    phase,
    phases,
    ran,
    refused,
    resting,
    then,
    unconnected,
)

pytestmark = pytest.mark.pure

LEADS_TO = {
    #                  open       close      away    back      quiet    round now here      stop
    "before opening": "opening    closing    -       -         -        -         .         -",
    "opening":        "-          closing    -       -         -        -         .         stopped",
    "rounds":         "-          closing    away    -         quiet    rounds    .         stopped",
    "away":           "-          closing    -       rounds    quiet    rounds    .         stopped",
    "quiet":          "-          closing    away    rounds    quiet    rounds    .         stopped",
    "nobody there":   "-          closing    away    rounds    quiet    rounds    rounds    stopped",
    "stopped":        "-          closing    -       rounds    -        -         .         -",
    "closing":        "-          -          -       -         -        -         .         stopped",
    "over":           "opening    -          -       -         -        -         .         -",
}  # fmt: skip
"""By phase, and by request in the order of ABOUT_THE_DAY: the phase that follows; - if it is refused, . if
nothing changes."""
BEGINS = {
    ("before opening", "open"): "opening",
    ("before opening", "close"): "closing",
    ("rounds", "round now"): "round 2",
    ("rounds", "close"): "closing",
    ("away", "round now"): "round 2",
    ("away", "close"): "closing",
    ("quiet", "round now"): "round 2",
    ("quiet", "close"): "closing",
    ("nobody there", "back"): "round 2",
    ("nobody there", "here"): "round 2",
    ("nobody there", "round now"): "round 2",
    ("nobody there", "close"): "closing",
    ("stopped", "close"): "closing",
    ("over", "open"): "opening",
}
"""By phase and request: the script that begins at once, if one does."""


def test_the_table_has_every_phase_and_every_request():
    assert tuple(LEADS_TO) == typing.get_args(kinds.DayPhase) == tuple(IN_PHASE)
    assert ABOUT_THE_DAY == ("open", "close", "away", "back", "quiet", "round now", "here", "stop")


@pytest.mark.parametrize("come_to", IN_PHASE)
@pytest.mark.parametrize("request_", ABOUT_THE_DAY)
def test_each_request_in_each_phase_leads_where_the_table_says(come_to: str, request_: str):
    driver = IN_PHASE[come_to]()
    assert phase(driver) == come_to
    ran_before = len(ran(driver))
    wanted = LEADS_TO[come_to].split()[ABOUT_THE_DAY.index(request_)]
    then(driver, request_)
    assert bool(refused(driver)) == (wanted == "-"), refused(driver)
    assert phase(driver) == (come_to if wanted in "-." else wanted)
    begins = BEGINS.get((come_to, request_))
    assert ran(driver)[ran_before:] == ([begins] if begins else [])
    assert driver.over is None
    check_decided_again_by_the_day(driver, presence_us=MIN if come_to == "nobody there" else None)


def check_decided_again_by_the_day(driver, **changes) -> None:
    check_decided_again(msgspec.structs.replace(HERON, **changes), ByTheDay(), driver.entries)


def test_who_asked_for_a_phase_is_told_with_it():
    driver = day()
    driver.asks("open", by="Docent 3")
    turned = driver.facts(kinds.DayTurned)[-1]
    assert (turned.phase, turned.by) == ("opening", "Docent 3")
    assert driver.facts(kinds.ScriptStarted)[-1].by == "Docent 3"


def test_nothing_is_typed_and_nothing_begins_before_somebody_opens_the_day():
    driver = day(FINDS_HOME)
    driver.run(within_us=3600 * S)
    assert (driver.typed, ran(driver), phases(driver)) == (b"", [], ["before opening"])


def test_the_opening_is_followed_by_rounds_until_the_day_is_closed():
    driver = resting()
    driver.run(lambda: len(ran(driver)) == 5)
    assert ran(driver) == ["opening", "round 1", "round 2", "round 3", "round 4"]
    then(driver, "close")
    driver.run(lambda: "closing" in ran(driver))
    then(driver, "confirm")
    assert phases(driver) == ["before opening", "opening", "rounds", "closing", "over"]
    assert driver.over is None
    assert driver.deadlines == {}


@pytest.mark.parametrize("request_", ["away", "quiet", "close"])
def test_a_round_that_runs_is_finished_before_it_takes_effect(request_):
    driver = then(in_round(), request_)
    assert phase(driver) == {"close": "closing"}.get(request_, request_)
    assert driver.facts(kinds.ScriptEnded)[-1].script == "opening"
    driver.passes("step")
    assert [fact.outcome for fact in driver.facts(kinds.ScriptEnded)] == ["done", "done"]
    assert ran(driver)[2:] == (["closing"] if request_ == "close" else [])


def test_quiet_lasts_as_long_as_was_said_and_then_the_rounds_go_on_by_themselves():
    driver = then(resting(), "quiet")
    began_us = driver.now_us
    driver.run(lambda: "round 2" in ran(driver))
    assert driver.now_us - began_us == 10 * MIN
    turned = driver.facts(kinds.DayTurned)[-2:]
    assert [(one.phase, one.until_us) for one in turned] == [("quiet", began_us + 10 * MIN), ("rounds", 0)]


def test_a_round_in_quiet_is_followed_by_a_rest_for_all_the_quiet_time():
    driver = then(in_round(), "quiet")
    until_us = driver.now_us + 10 * MIN
    driver.passes("step")
    assert driver.facts(kinds.SessionResting)[-1].until_us == driver.deadlines["rest"] == until_us


def test_a_short_quiet_does_not_shorten_the_rest():
    driver = resting()
    rests_from_us = driver.now_us
    driver.wait(55 * S)
    driver.asks("quiet", minutes=1)
    driver = then(driver, "back")
    driver.run(lambda: "round 2" in ran(driver))
    assert driver.now_us - rests_from_us == 60 * S


@pytest.mark.parametrize("minutes", [0, -5, 241])
def test_quiet_needs_a_number_of_minutes_that_can_be(minutes):
    driver = resting()
    driver.asks("quiet", minutes=minutes)
    assert refused(driver) == ["say for how many minutes, from 1 to 240"]


def test_round_now_ends_the_rest_but_is_refused_while_a_script_runs():
    driver = then(resting(), "round now")
    assert ran(driver)[-1] == "round 2"
    then(driver, "round now")
    assert refused(driver) == ["a script is running"]


def test_the_round_after_a_round_that_was_wanted_at_once_rests_again():
    driver = then(resting(), "round now")
    driver.passes("step")
    began_us = driver.now_us
    driver.run(lambda: "round 3" in ran(driver))
    assert driver.now_us - began_us == 60 * S


# -- stop, failures and clear


def test_stop_ends_the_script_and_the_day_waits_for_back():
    driver = then(in_round(), "stop")
    assert driver.facts(kinds.ScriptEnded)[-1].outcome == "stopped"
    assert (phase(driver), driver.over, driver.deadlines) == ("stopped", None, {})
    then(driver, "back")
    driver.run(lambda: "round 2" in ran(driver))
    assert phase(driver) == "rounds"


def test_closing_time_in_a_round_of_people_who_have_gone_for_lunch_waits_until_they_are_back():
    late = day(wall="2026-11-25T09:00:50+00:00", limits=Limits(closes_min=9 * 60 + 1))
    driver = then(in_round(late), "away")
    driver.wait(15 * S)
    driver.note(kinds.Heartbeat(wall="2026-11-25T09:01:05+00:00"))
    driver.run(lambda: bool(driver.facts(kinds.ScriptEnded)[1:]), within_us=60 * S)
    driver.note(kinds.Heartbeat(wall="2026-11-25T09:01:35+00:00"))
    assert (phase(driver), ran(driver)[-1]) == ("away", "round 1")
    then(driver, "back")
    driver.run(lambda: "closing" in ran(driver))


TIDIED = script("round", pause("look", 30 * S), tidy_up=(pause("let-it-settle", 10 * S),))


@pytest.mark.parametrize(
    ("wish", "follows"), [("back", "round 2"), ("close", "closing"), ("clear", "round 2")]
)
def test_what_is_asked_for_while_a_stopped_round_is_tidied_up_follows_it(wish, follows):
    driver = then(in_round(day(folder(OPENING, TIDIED, CLOSING, rest_us=60 * S))), "stop")
    assert driver.facts(kinds.ScriptEnded)[-1].script == "opening"
    then(driver, wish)
    driver.run(lambda: follows in ran(driver))
    assert [fact.outcome for fact in driver.facts(kinds.ScriptEnded)][-1:] == ["stopped"]


@pytest.mark.parametrize("answer", ["back", "clear"])
def test_a_stopped_opening_is_begun_again(answer):
    driver = then(opening(), "stop", answer)
    assert ran(driver) == ["opening", "opening"]
    assert phase(driver) == "opening"


def test_the_computers_own_stop_ends_the_process_and_leaves_the_phase_as_it_is():
    driver = resting()
    driver.asks("stop", by="this computer")
    assert (driver.over, phase(driver)) == ("stopped", "rounds")


def test_after_a_failure_nothing_begins_until_somebody_has_looked():
    driver = opening()
    driver.asks("refuse", "key", why="no")
    assert driver.over == "failed"
    then(driver, "open", "round now")
    assert len(refused(driver)) == 2
    then(driver, "clear")
    assert (ran(driver), driver.over) == (["opening", "opening"], None)


def test_after_a_failure_the_day_can_be_closed_and_the_closing_follows_once_somebody_has_looked():
    driver = opening()
    driver.asks("refuse", "key", why="no")
    then(driver, "close")
    assert ran(driver) == ["opening"]
    then(driver, "clear")
    assert ran(driver) == ["opening", "closing"]


def test_a_closing_that_failed_can_be_given_up():
    driver = then(resting(), "close")
    driver.asks("refuse", "lock", why="it sticks")
    then(driver, "close")
    assert phase(driver) == "over"
    then(driver, "clear", "open")
    assert ran(driver)[-1] == "opening"


# -- hours, limits and presence

CLOSES_AT_TEN = Limits(closes_min=10 * 60, last_round_min=9 * 60 + 30)


def test_after_the_last_round_the_closing_begins_by_the_hours_and_says_so():
    driver = resting(day(limits=CLOSES_AT_TEN))
    driver.run(lambda: "closing" in ran(driver))
    turned = driver.facts(kinds.DayTurned)[-1]
    assert (turned.phase, turned.by) == ("closing", "the hours in day.toml")
    assert turned.why == "no round begins after 9:30"
    assert 30 * MIN <= driver.now_us < 33 * MIN


def test_an_hour_that_comes_while_nobody_is_there_is_told_and_the_closing_waits():
    driver = then(resting(day(limits=CLOSES_AT_TEN)), "away")
    driver.wait(29 * MIN)
    for _ in range(3):
        driver.note(kinds.Heartbeat(wall="2026-11-25T09:31:00+00:00"))
    assert ran(driver)[-1] == "round 1"
    turned = driver.facts(kinds.DayTurned)
    assert [one.phase for one in turned][-2:] == ["away", "away"]
    assert turned[-1].by == "the hours in day.toml"
    assert turned[-1].why == "no round begins after 9:30; the closing waits for somebody to be there"
    then(driver, "back")
    assert ran(driver)[-1] == "closing"


LATE = Limits(last_round_min=90, closes_min=120)


@pytest.mark.parametrize(
    ("opens", "walls", "by_then"),
    [
        # London, 2026-03-29: 1:30 never comes, so it has passed at once when the clock is put forward
        (
            "2026-03-29T00:50:00+00:00",
            ["2026-03-29T00:59:59+00:00", "2026-03-29T02:00:00+01:00"],
            ["rounds", "closing"],
        ),
        # 2026-10-25: 1:30 comes twice, and the first counts
        (
            "2026-10-25T01:20:00+01:00",
            ["2026-10-25T01:25:00+01:00", "2026-10-25T01:30:00+01:00", "2026-10-25T01:00:00+00:00"],
            ["rounds", "closing", "closing"],
        ),
    ],
)
def test_an_hour_that_never_comes_or_comes_twice_counts_once_and_at_once(opens, walls, by_then):
    driver = resting(day(limits=LATE, wall=opens))
    came = []
    for wall in walls:
        driver.note(kinds.Heartbeat(wall=wall))
        if "rest" in driver.deadlines:
            driver.passes("rest")
        if "step" in driver.deadlines and phase(driver) == "rounds":
            driver.passes("step")
        came.append(phase(driver))
    assert came == by_then


def test_on_a_closed_day_opening_is_refused_and_says_why():
    closed = OpeningHours(week=(None,) * 7)
    driver = then(day(hours=closed, limits=Limits(closes_with_doors=True)), "open")
    assert refused(driver) == ["the doors stay closed today"]
    open_today = OpeningHours(week=(OpenHours(opens="08:00", closes="17:00"),) * 7)
    driver = then(day(hours=open_today, limits=Limits(closes_with_doors=True)), "open")
    assert ran(driver) == ["opening"]


def test_when_presence_has_lapsed_the_round_that_runs_is_finished_and_no_other_begins():
    driver = in_round(day(presence_us=10 * S))
    driver.passes("step")
    assert driver.facts(kinds.ScriptEnded)[-1].outcome == "done"
    driver.run(within_us=3600 * S)
    assert ran(driver) == ["opening", "round 1"]
    turned = driver.facts(kinds.DayTurned)[-1]
    assert (turned.phase, turned.by) == ("nobody there", "the presence in day.toml")


def test_whoever_says_that_they_are_there_keeps_the_rounds_going():
    driver = resting(day(presence_us=2 * MIN))
    for number in range(2, 8):
        then(driver, "here")
        driver.run(lambda number=number: f"round {number}" in ran(driver))
        driver.passes("step")
    driver.run(within_us=3600 * S)
    assert (phase(driver), ran(driver)[-1]) == ("nobody there", "round 7")


def test_a_refused_request_is_no_sign_of_presence():
    driver = resting(day(presence_us=MIN))
    driver.wait(59 * S)
    then(driver, "open")
    assert refused(driver)
    driver.passes("rest")
    assert phase(driver) == "nobody there"


def test_a_request_about_something_else_brings_the_rounds_back_at_the_next_heartbeat():
    driver = IN_PHASE["nobody there"]()
    driver.wait(MIN)
    driver.asks("note", why="0" * 64)
    driver.note(kinds.Heartbeat(wall="2026-11-25T09:05:00+00:00"))
    assert (phase(driver), ran(driver)[-1]) == ("rounds", "round 2")


# -- the way home


def test_the_way_home_is_found_before_the_first_script_and_a_needless_opening_left_out():
    driver = then(day(FINDS_HOME), "open")
    assert ran(driver) == []
    driver.stands(b"READY: ")
    driver.run(lambda: bool(ran(driver)))
    assert [fact.script for fact in driver.facts(kinds.ScriptLeftOut)] == ["opening"]
    assert (ran(driver), phase(driver)) == (["round 1"], "rounds")


def test_what_was_sought_for_a_round_does_not_leave_out_the_closing():
    begins = {"opening": ("silent",), "round": ("signed-out",), "closing": ("word-wanted",)}
    way = msgspec.structs.replace(FINDS_HOME.way_home, begins=begins)
    driver = then(day(FINDS_HOME, way_home=way), "open")
    driver.stands(b"READY: ")
    then(driver, "close")
    driver.run(lambda: bool(driver.facts(kinds.PlaceRecognised)))
    assert len(driver.facts(kinds.PlaceSought)) == 2


def test_a_line_that_comes_back_while_they_are_away_brings_no_typing():
    driver = then(resting(), "away")
    driver.lose_line()
    driver.open_line()
    driver.run(within_us=3600 * S)
    assert (driver.typed, ran(driver)[-1]) == (b"", "round 1")


def test_an_opening_asked_for_without_a_line_begins_when_it_is_there():
    driver = then(unconnected(), "open")
    assert ran(driver) == []
    driver.open_line()
    assert ran(driver) == ["opening"]
