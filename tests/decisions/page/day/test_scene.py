"""The scene: which moment this is. It changes with a caption and calmly, but trouble comes at once."""

from __future__ import annotations

import pytest

from exhibit.facts import kinds
from tests.decisions.page.day.work import (
    LOST,
    SILENT,
    after,
    began,
    caption,
    ended,
    exerciser,
    fold,
    line,
    opened,
    rows,
    started,
    step,
    told,
)

pytestmark = pytest.mark.pure

BOARD = kinds.LandmarkReached(landmark="board", line="TIDEBOOK BOARD")
DESK = kinds.LandmarkReached(landmark="desk-tides", line="DESK TIDES:")
RESTING = kinds.SessionResting(until_us=99_000_000)
AT_ITS_END = kinds.SessionResting(until_us=0)
FAILED = kinds.SessionFailed(why="no", last_lines=[])
BEAT = kinds.Heartbeat(wall="2026-11-25T09:12:00.000+00:00")
ROUND = (20, started("round", 1), 20)
WATCHED = opened(typing="nothing")
HEARD = kinds.BytesReceived(bytes="X", first_us=0)


def scene(*steps, **changed):
    return after(*steps, **changed)["scene"]["name"]


def stopped():
    return [kinds.PartStopped(part=part, by="closing.stop") for part in opened().marked]


def test_before_anything_was_started_it_is_not_started():
    assert scene() == "not started"


def test_an_opening_is_waking():
    assert scene(started("opening")) == "waking"


def test_a_round_is_working_before_any_job_has_begun_too():
    assert scene(*ROUND) == "working"


def test_a_job_of_a_plot_is_a_result_when_the_next_caption_comes():
    assert scene(*ROUND, began()) == "working"
    shown = after(*ROUND, began(), caption())["scene"]
    assert (shown["name"], shown["plot"]) == ("result", "tide")


PRINTED = [
    *ROUND,
    exerciser(),
    began(),
    caption(),
    20,
    *rows("00 01", "1 2"),
    line("followed-ended", job="3"),
]


def test_a_result_stays_for_45_s_after_the_last_line():
    assert scene(*PRINTED, 44, caption()) == "result"
    assert scene(*PRINTED, 45, caption()) == "working"


def test_a_result_stays_whatever_captions_tell_of_while_nothing_else_begins():
    log_is_read = [9, step("round", "look-in-the-log"), caption("small-drive"), 9, caption("lower-drive")]
    assert scene(*PRINTED, *log_is_read) == "result"


def test_a_result_makes_room_for_whatever_begins_next():
    assert scene(*PRINTED, 9, exerciser("4"), caption()) == "working"
    assert scene(*PRINTED, 9, BOARD, caption()) == "looking inside"
    assert scene(*PRINTED, 9, ended("round"), started("closing"), caption()) == "working"
    alone = [*ROUND, began(), caption(), 20, *rows("00 01", "1 2"), line("followed-ended", job="3")]
    assert scene(*alone, 9, ended("round"), RESTING) == "resting"


def test_a_result_that_is_printed_after_something_else_began_is_seen():
    assert scene(*ROUND, began(), exerciser("4"), caption(), 9, *rows("00 01", "1 2"), caption()) == "result"


def test_a_result_that_grows_outlasts_captions_about_others_until_it_has_points():
    worked = [15, line("hours-worked", hours="3"), caption("lower-drive")]
    assert scene(*ROUND, began(), caption(), *worked, *worked, *worked) == "result"


def test_a_job_that_prints_nothing_for_a_while_is_no_result_until_it_does():
    waits = [*ROUND, began(), caption(), 20, caption("lower-drive"), 20]
    assert scene(*waits, caption()) == "working"
    assert scene(*waits, *rows("00 01", "1 2"), caption()) == "result"


def test_a_job_that_was_stopped_before_it_printed_anything_is_no_result():
    assert scene(*ROUND, began(), caption(), 20, line("tides-stopped", job="3"), caption()) == "working"


def test_a_display_is_looking_inside_until_it_is_put_away():
    shown = after(*ROUND, BOARD, caption())["scene"]
    assert (shown["name"], shown["display"]) == ("looking inside", "board")
    assert scene(*ROUND, BOARD, caption(), 9, DESK, caption()) == "working"


def test_after_two_frames_more_visitors_go_back_to_the_jobs_if_any_go_on():
    two = [BOARD, caption(), 5, BOARD, caption(), 5, BOARD, caption()]
    assert scene(*ROUND, exerciser(), *two[:-2]) == "looking inside"
    assert scene(*ROUND, exerciser(), *two) == "working"
    assert scene(*ROUND, *two) == "looking inside"


def test_a_display_that_came_too_soon_after_a_change_is_looked_at_all_the_same():
    soon = [*ROUND, began(), caption(), 4, BOARD, caption(), 2, BOARD, caption()]
    assert scene(*soon) == "result"
    assert scene(*soon, 3, BOARD, caption()) == "looking inside"


def test_looking_inside_comes_before_a_result():
    assert scene(*ROUND, began(), BOARD, caption()) == "looking inside"


def test_between_two_rounds_it_is_resting():
    assert scene(*ROUND, ended("round"), RESTING) == "resting"
    assert scene(*ROUND, ended("round"), RESTING, 20, started("round", 2)) == "working"


def test_it_is_asleep_when_the_session_is_at_its_end_and_all_parts_stand():
    assert scene(*ROUND, *stopped(), ended("round"), AT_ITS_END) == "asleep"
    assert scene(*ROUND, *stopped()[1:], ended("round"), AT_ITS_END) == "resting"


def test_it_stays_asleep_when_its_recording_is_closed():
    closed = kinds.RecordingClosed(why="done")
    assert scene(*ROUND, *stopped(), ended("round"), AT_ITS_END, closed) == "asleep"
    assert scene(*ROUND, ended("round"), AT_ITS_END, closed) == "resting"


# -- trouble ---------------------------------------------------------------------------------------


def test_trouble_comes_at_once_and_stays_until_it_is_cleared():
    assert scene(started("round", 1), FAILED) == "trouble"
    assert scene(started("round", 1), FAILED, 60, caption(), BEAT) == "trouble"
    assert scene(started("round", 1), FAILED, 9, kinds.SessionCleared(by="docent 1")) != "trouble"


def test_a_trouble_that_makes_a_step_fail_is_trouble_before_the_session_says_so():
    raised = kinds.TroubleRaised(trouble="cannot", line="CANNOT", words={}, do={})
    fails = kinds.StepFailed(script="round", step="run-tides", why="trouble")
    assert scene(*ROUND, raised, 9, BEAT) == "working"
    assert scene(*ROUND, raised, fails) == "trouble"


# -- calm ------------------------------------------------------------------------------------------


def test_it_doesn_t_change_twice_within_eight_seconds():
    assert scene(*ROUND, began(), caption(), 5, BOARD, caption()) == "result"
    assert scene(*ROUND, began(), caption(), 8, BOARD, caption()) == "looking inside"


def test_a_caption_that_came_too_soon_is_made_up_for():
    assert scene(*ROUND, began(), caption(), 5, BOARD, caption(), 3, BEAT, 5, BEAT) == "looking inside"


def test_what_was_shown_for_no_time_at_all_is_put_right_at_once():
    assert scene(*ROUND, *stopped(), ended("round"), caption("console"), AT_ITS_END) == "asleep"


def test_without_a_caption_it_changes_eight_seconds_later():
    assert scene(*ROUND, BOARD, 5, BEAT) == "working"
    assert scene(*ROUND, BOARD, 8, BEAT) == "looking inside"


def test_at_another_rate_visitors_have_as_much_time():
    fast = opened(rate=20.0)
    assert scene(*ROUND, began(), caption(), 20, BOARD, caption(), first=fast) != "looking inside"


# -- watched, lost, silent -------------------------------------------------------------------------


def test_a_machine_that_is_only_watched_has_scenes_too():
    assert scene(HEARD, 9, BEAT, 9, BEAT, first=WATCHED) == "resting"
    assert scene(HEARD, exerciser(), caption(), first=WATCHED) == "working"
    assert scene(HEARD, BOARD, caption(), first=WATCHED) == "looking inside"
    assert scene(HEARD, began(), caption(), first=WATCHED) == "result"


@pytest.mark.parametrize("what", [LOST, SILENT])
def test_nothing_that_rests_on_the_machine_is_shown_while_nobody_hears_it(what):
    working = [*ROUND, exerciser(), began(), BOARD, caption(), 9]
    assert scene(*working, what, 9, BEAT, 9, BEAT) == "resting"


def test_a_machine_that_is_silent_while_a_person_switches_it_on_is_waking():
    assert scene(started("opening"), SILENT, 9, BEAT, 9, BEAT) == "waking"


def test_a_scene_has_the_number_of_the_fact_with_which_it_began():
    entries = told(*ROUND, began(), caption())
    assert fold(entries).batch(0)["items"]["scene"]["seq"] == entries[-1].seq


def test_a_step_alone_changes_nothing():
    assert scene(*ROUND, step("round", "run-tides")) == "working"
