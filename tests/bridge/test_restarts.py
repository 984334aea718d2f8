"""kill -9 of the bridge while it types: the next one goes home or asks a person, and executes nothing odd.

In virtual time, at the moments that `python -m tests.trials.restarts` tries; and with real processes, killed
one after the other at the same machine.
"""

from __future__ import annotations

import random
import time
from pathlib import Path

import pytest

from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from exhibit.simulator import truth
from exhibit.web.places import scripts_folder
from tests.bridge.stage import FOLDER, LOOK_EVERY_S, WITHIN_S, Bridge, stage, whole_commands
from tests.sampling import number_of, sample
from tests.trials.restarts import (
    HOME_ALONE,
    MOMENTS,
    Life,
    World,
    moments_of,
    try_moment,
    whole_life,
    wrongs,
)

KILLED = number_of(whole=20, daily=3)
"""So many bridges are really killed."""
SEED = 20261125
ROUND_ALONE = Wanted(before=(), rounds=1, after=())


@pytest.fixture(scope="module")
def folder():
    return read_folder(scripts_folder() / "whimbrel")


@pytest.fixture(scope="module")
def whole(folder):
    return whole_life(folder)


@pytest.mark.trial(name="restarts", seed=SEED)
def test_a_bridge_killed_at_any_moment_is_followed_by_one_that_goes_home_or_asks(folder, whole):
    moments = sample(moments_of(whole, MOMENTS, random.Random(SEED)), 12)
    trials = [try_moment(folder, *moment) for moment in moments]
    assert [(trial.moment, trial.wrong) for trial in trials if trial.wrong] == []
    assert sum(trial.came_to == "home" for trial in trials) >= len(moments) / 2


def test_half_a_command_is_never_executed(folder, whole):
    """At each character of the longest command: before it is sent, and behind that."""
    typed = [e.seq for e in whole.entries if isinstance(e.fact, kinds.BytesTyped)]
    step = next(
        e.seq
        for e in whole.entries
        if isinstance(e.fact, kinds.StepStarted) and e.fact.step == "begin-shuttle"
    )
    at = [seq for seq in typed if seq > step][:29]
    for seq, acted in ((at[3], True), (at[14], False), (at[28], True), (at[28] + 1, False)):
        trial = try_moment(folder, seq, acted, 2_000_000)
        assert (trial.came_to, trial.wrong) == ("home", []), (seq, acted)


def test_a_bridge_killed_before_it_heard_whether_a_job_was_stopped_stops_it_again(folder, whole):
    """By the number that the machine gave; that the job is gone already is no trouble then."""
    step = next(
        e.seq
        for e in whole.entries
        if isinstance(e.fact, kinds.StepStarted) and e.fact.step == "stop-shuttle"
    )
    returned = next(
        e.seq
        for e in whole.entries
        if e.seq > step and isinstance(e.fact, kinds.BytesTyped) and e.fact.bytes == "\r"
    )
    for seq, acted in ((returned, True), (returned + 1, False), (returned + 3, False)):
        trial = try_moment(folder, seq, acted, 2_000_000)
        assert (trial.came_to, trial.wrong) == ("home", []), (seq, acted)


def test_the_next_round_is_a_whole_one(folder, whole):
    world = World(folder)
    died = next(
        e.seq for e in whole.entries if isinstance(e.fact, kinds.StepStarted) and e.fact.step == "begin-tides"
    )
    first = Life(world, Wanted(rounds=1, after=()), dies=lambda entry, _: entry.seq == died)
    first.live()
    world.nobody_listens(5_000_000)
    before = len(world.taken)
    second = Life(world, ROUND_ALONE, first)
    second.live()
    assert second.outcome == "done"
    assert wrongs(world, second, before) == []
    taken = [record.text for record in world.taken[before:]]
    assert taken[: taken.index("BEGIN SHUTTLE LOWER 4 MINUTES")].count("STOP 1") == 1
    (begun, _) = [fact for fact in second.facts if isinstance(fact, kinds.ScriptEnded)]
    assert (begun.tidy, begun.why) == (True, "it was left unfinished")


def test_a_bridge_that_dies_again_on_its_way_home_is_followed_by_one_that_goes_on_from_there(folder, whole):
    ended = {e.fact.step: e.seq for e in whole.entries if isinstance(e.fact, kinds.StepEnded)}
    world = World(folder)
    died = ended["begin-sums"] + 3
    first = Life(world, Wanted(rounds=1, after=()), dies=lambda entry, _: entry.seq == died)
    first.live()
    assert len(world.going) == 2

    def when_the_first_was_stopped(entry: kinds.Entry, acted: bool) -> bool:
        return isinstance(entry.fact, kinds.StepStarted) and entry.fact.step == "stop-sums"

    second = Life(world, HOME_ALONE, first, when_the_first_was_stopped)
    second.live()
    assert world.going == ["SUMS"]
    third = Life(world, HOME_ALONE, second)
    before = len(world.taken)
    third.live()
    assert third.outcome == "done"
    assert wrongs(world, third, before) == []
    assert [taken.text for taken in world.taken[before:] if taken.text.startswith("STOP")] == ["STOP 2"]


# -- with real processes


def _typed_or_over(bridge: Bridge, count: int) -> bool:
    """Whether so many characters were typed in a round; false when the bridge ended before."""
    give_up_s = time.monotonic() + WITHIN_S
    while time.monotonic() < give_up_s:
        bridge.follow()
        rounds = [
            e.seq
            for e in bridge.entries
            if isinstance(e.fact, kinds.ScriptStarted) and e.fact.script == "round"
        ]
        typed = [
            e
            for e in bridge.entries
            if isinstance(e.fact, kinds.BytesTyped) and rounds and e.seq > rounds[-1]
        ]
        if len(typed) >= count:
            return True
        if bridge.process.poll() is not None:
            bridge.follow()
            return False
        time.sleep(LOOK_EVERY_S)
    raise AssertionError(f"it never came; last: {bridge.entries[-3:]}")


@pytest.mark.trial(name="restarts", seed=SEED)
@pytest.mark.waits
@pytest.mark.timeout(600)
def test_bridges_that_are_really_killed_leave_a_machine_that_the_next_one_brings_home(tmp_path: Path):
    whole = whole_commands(read_folder(FOLDER))
    dice = random.Random(SEED)
    with stage(tmp_path, speed=20.0) as staged:
        homes, asked = 0, 0
        for number in range(KILLED):
            wanted = ("--rounds", "1") if number == 0 else ("--script", "round")
            bridge = staged.bridge(*wanted)
            if _typed_or_over(bridge, dice.randrange(1, 70)):
                bridge.kill()
            if number:
                last = next(e.fact for e in bridge.entries if isinstance(e.fact, kinds.LastRecordingRead))
                assert last.recording
                came = [
                    e.fact
                    for e in bridge.entries
                    if isinstance(e.fact, kinds.PlaceRecognised | kinds.SessionFailed)
                ]
                assert came
                homes += isinstance(came[-1], kinds.PlaceRecognised)
                asked += isinstance(came[-1], kinds.SessionFailed)
        taken = [r for r in staged.happened() if isinstance(r, truth.CommandTaken)]
        assert [r.text for r in taken if not whole.fullmatch(r.text)] == []
        alone = [r.prompt for r in taken if not r.text and not r.secret_length]
        assert [prompt for prompt in alone if prompt.rstrip().endswith("?")] == []
        assert homes + asked == KILLED - 1
        assert homes >= 1


def _return_of(whole: Life, step: str) -> int:
    """The number of the fact that the RETURN of this step was typed."""
    began = next(e.seq for e in whole.entries if e.fact == kinds.StepStarted(script="round", step=step))
    return next(
        e.seq
        for e in whole.entries
        if e.seq > began and isinstance(e.fact, kinds.BytesTyped) and e.fact.bytes == "\r"
    )


@pytest.mark.parametrize("sent", [True, False])
def test_a_job_that_may_have_been_begun_at_the_kill_is_in_doubt_until_the_machine_shows_it_or_not(
    sent, folder, whole
):
    world = World(folder)
    died = _return_of(whole, "begin-sums") + sent
    first = Life(
        world, Wanted(rounds=1, after=()), dies=lambda entry, acted: (entry.seq, acted) == (died, not sent)
    )
    first.live()
    world.nobody_listens(5_000_000)
    assert world.going == ["SHUTTLE", "SUMS"][: 1 + sent]
    second = Life(world, HOME_ALONE, first)
    second.live()
    told = [fact.command for fact in second.facts if isinstance(fact, kinds.JobInDoubt)]
    kept = [job.command for job in first.used().in_doubt]
    assert [*kept, *told] == ["BEGIN SUMS 4 MINUTES"]
    assert world.going == ["SUMS"] * sent
    over = [(fact.how, fact.by) for fact in second.facts if isinstance(fact, kinds.JobDoubtOver)]
    if not sent:  # when it signs off, the machine says that no jobs go on
        assert over == [("not listed", "desk-tides-left-empty")]
        assert second.left().in_doubt == []
        return
    assert over == []
    assert [job.command for job in second.left().in_doubt] == ["BEGIN SUMS 4 MINUTES"]
    assert not any(fact.tidy for fact in second.facts if isinstance(fact, kinds.ScriptEnded))
    # While the next round runs, the job ends by itself, and the machine says so.
    third = Life(world, ROUND_ALONE, second)
    third.live()
    assert not any(isinstance(fact, kinds.JobDoubtOver) for fact in third.facts)
    assert not any(fact.tidy for fact in third.facts if isinstance(fact, kinds.ScriptEnded))
    third.outcome = None
    third.run_.note(kinds.RequestMade(request="clear", by="a docent"))
    third.go_on()
    over = [(fact.how, fact.by) for fact in third.facts if isinstance(fact, kinds.JobDoubtOver)]
    assert over == [("ended", "job-ended")]
    ends = [fact.text for fact in third.facts if isinstance(fact, kinds.InterruptionSeen)]
    assert any(text.startswith("== JOB 2 SUMS ENDED") for text in ends)
    *_, last = [fact for fact in third.facts if isinstance(fact, kinds.ScriptEnded)]
    assert (last.outcome, last.tidy, world.going) == ("done", True, [])
