"""Wherever a round of the Whimbrel is stopped, its tidy-up leaves no job going and nobody signed on."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from exhibit.bridge.request_door import Request, ask
from exhibit.facts import kinds
from exhibit.simulator import truth
from tests.bridge.stage import LOOK_EVERY_S, WITHIN_S, Bridge, Stage, stage
from tests.sampling import sample

SPEED = 20.0
"""A busy computer may stall for 0.3 s before an echo is late."""
STOPPED_AT = [
    ("say-the-word", 0),
    ("read-about-shuttle", 1),
    ("read-about-leaving", 2),
    ("read-another-frame", 2),
    ("say-the-word-again", 2),
    ("read-about-the-work", 3),
    ("read-another-frame-of-three", 3),
    ("tides-table", 3),
    ("look-in-the-log", 3),
]
"""Where a round is stopped, and how many jobs were begun by then; the third works unfollowed, then is called back."""

pytestmark = pytest.mark.waits


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stage]:
    """The machine after its opening, with nobody signed on."""
    with stage(tmp_path_factory.mktemp("whimbrel"), SPEED) as staged:
        bridge = staged.bridge("--script", "opening")
        bridge.until(ended)
        bridge.end()
        yield staged


def ended(entry: kinds.Entry) -> bool:
    return isinstance(entry.fact, kinds.ScriptEnded)


def started(step: str):
    return lambda entry: isinstance(entry.fact, kinds.StepStarted) and entry.fact.step == step


def say_stop(staged: Stage) -> None:
    door = max(staged.place.glob("door-*"), key=lambda path: path.stat().st_mtime_ns)
    assert ask(Path(door), Request(request="stop", by="a person")).accepted


def round_ended_by(bridge: Bridge) -> kinds.ScriptEnded:
    found = bridge.until(ended).fact
    bridge.end()
    assert isinstance(found, kinds.ScriptEnded)
    return found


def assert_nothing_goes_on(staged: Stage, since: int) -> list[truth.JobOver]:
    """Every job that was begun is over, and whoever signed on has left; gives the jobs' ends."""
    happened = staged.happened()[since:]
    begun = [record.number for record in happened if isinstance(record, truth.JobBegun)]
    over = [record for record in happened if isinstance(record, truth.JobOver)]
    assert sorted(record.number for record in over) == begun
    on_and_off = [type(r).__name__ for r in happened if isinstance(r, truth.DeskTaken | truth.DeskLeft)]
    assert on_and_off == ["DeskTaken", "DeskLeft"] * (len(on_and_off) // 2)
    return over


@pytest.mark.trial(name="stopped-anywhere")
@pytest.mark.parametrize(("step", "jobs"), sample(STOPPED_AT, 3, lambda at: [(0, 1, 1, 3)[at[1]]]))
def test_stopped_anywhere_it_stops_its_jobs_by_their_numbers_and_signs_off(opened, step, jobs):
    since = len(opened.happened())
    bridge = opened.bridge("--script", "round")
    bridge.until(started(step))
    say_stop(opened)
    found = round_ended_by(bridge)
    assert (found.outcome, found.tidy) == ("stopped", True), found.why
    over = assert_nothing_goes_on(opened, since)
    assert len(over) == jobs
    assert {record.by for record in over if record.name != "TIDES"} <= {"TIDES"}
    assert all(record.how == "stopped" for record in over if record.name != "TIDES")


def test_a_job_that_hangs_while_it_is_followed_is_let_go_and_stopped(opened):
    since = len(opened.happened())
    bridge = opened.bridge("--script", "round")
    matched = bridge.until(
        lambda entry: isinstance(entry.fact, kinds.StepMatched) and entry.fact.step == "begin-tides"
    ).fact
    assert opened.act(f"fault hang {matched.fields['job']}").startswith("done:")
    found = round_ended_by(bridge)
    assert (found.outcome, found.tidy) == ("failed", True), found.why
    overdue = [entry.fact for entry in bridge.entries if isinstance(entry.fact, kinds.StepOverdue)]
    assert [(fact.step, fact.waited_for, fact.then) for fact in overdue] == [
        ("tides-table", ["followed-ended"], "wait on"),
        ("tides-table", ["followed-ended"], "stop"),
    ]
    over = assert_nothing_goes_on(opened, since)
    assert ("TIDES", "stopped") in {(record.name, record.how) for record in over}


def test_the_key_turned_off_too_early_is_answered_with_a_check_at_the_next_opening(opened):
    for act in ("stop lower", "stop upper", "stop small", "key off"):
        assert opened.act(act).startswith("done:")
    give_up_s = time.monotonic() + WITHIN_S
    while opened.act("lamps").count("standing") < 3:
        assert time.monotonic() < give_up_s
        time.sleep(LOOK_EVERY_S)
    for act in ("unload upper", "unload lower"):
        assert opened.act(act).startswith("done:")
    bridge = opened.bridge("--script", "opening")
    found = round_ended_by(bridge)
    assert (found.outcome, found.tidy) == ("done", True), found.why
    steps = [entry.fact.step for entry in bridge.entries if isinstance(entry.fact, kinds.StepEnded)]
    assert "check-the-book" in steps
