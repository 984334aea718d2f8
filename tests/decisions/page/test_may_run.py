"""What may still be running is told only while nobody watches over it, with the latest time of its end."""

from __future__ import annotations

import json

import pytest

from exhibit.decisions.page.badge import NOBODY_WATCHES, Badge, Sight, badge
from exhibit.decisions.page.may_run import MAY_RUN, MayRun
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.use_before import InDoubt, Running, UseBefore
from exhibit.facts.visitor_words import ExerciserWords
from tests.decisions.heron import S, opened

NINE = "2026-11-25T09:00:00+00:00"
WRITING = Sight(mode="live", writer="writing", silent_s=0.5)
GONE = Sight(mode="live", writer="gone", silent_s=0.5)
BY_HAND = {"en": "Stop it at its front."}
OPENED = kinds.LineOpened(line="x")
LOST = kinds.LineLost(why="unplugged")
FAILED = kinds.SessionFailed(why="it did not answer", last_lines=[])
WORK = kinds.ExerciserBegun(exerciser="work", job="3", part="left", ends_us=240 * S)
ENDLESS = kinds.ExerciserBegun(exerciser="work", job="4", part="left", ends_us=0)


def view_of(*facts: tuple[int, kinds.AnyFact], **first: object) -> View:
    words = {"work": ExerciserWords(part="left", stop_by_hand=BY_HAND)}
    fields = {"wall": NINE, "exercisers": words, "parts": {"left": {"en": "Left drive"}}, **first}
    view = View()
    view.apply(kinds.Entry(1, 0, opened(**fields)))
    for seq, (at_us, fact) in enumerate(((0, OPENED), *facts), start=2):
        view.apply(kinds.Entry(seq, at_us, fact))
    return view


def told(*facts: tuple[int, kinds.AnyFact], sight: Sight = WRITING, **first: object) -> Badge:
    return badge(view_of(*facts, **first).recorded_state(), sight)


def jobs(of: Badge) -> list[str]:
    return [one.job for one in of.may_run]


def test_what_ran_when_the_line_was_lost_is_told_with_its_part_its_end_and_how_to_stop_it():
    assert told((S, WORK), (20 * S, LOST)).may_run == (
        MayRun(
            part={"en": "Left drive"},
            job="3",
            until="2026-11-25T09:04:00.000+00:00",
            stop_by_hand=BY_HAND,
        ),
    )


@pytest.mark.parametrize(
    ("facts", "sight", "name"),
    [
        ([LOST], WRITING, "link lost"),
        ([FAILED], WRITING, "failed"),
        ([], GONE, "bridge gone"),
        ([], Sight(mode="live", writer="writing", silent_s=60), "bridge not answering"),
    ],
)
def test_it_is_told_whatever_the_reason_that_nobody_watches_over_it(facts, sight, name):
    found = told((S, WORK), *((2 * S, fact) for fact in facts), sight=sight)
    assert found.name == name
    assert name in NOBODY_WATCHES
    assert jobs(found) == ["3"]


def test_nothing_is_told_while_the_machine_is_watched_over_nor_of_a_recording():
    assert jobs(told((S, WORK))) == []
    assert jobs(told((S, WORK), (2 * S, LOST), (3 * S, OPENED))) == []
    assert jobs(told((S, WORK), (2 * S, LOST), sight=Sight(mode="replay"))) == []


def test_what_was_seen_to_end_or_had_to_end_before_is_not_told():
    ended = kinds.ExerciserEnded(exerciser="work", job="3", by="stopped")
    assert jobs(told((S, WORK), (2 * S, ended), (3 * S, LOST))) == []
    assert jobs(told((S, WORK), (239 * S, LOST))) == ["3"]
    assert jobs(told((S, WORK), (240 * S, LOST))) == []
    other = kinds.ExerciserEnded(exerciser="work", job="5", by="stopped")
    assert jobs(told((S, WORK), (2 * S, other), (3 * S, LOST))) == ["3"]


def test_it_stays_told_after_its_end_for_nobody_has_seen_that():
    beat = kinds.Heartbeat(wall="2026-11-25T10:00:00+00:00")
    assert jobs(told((S, WORK), (2 * S, LOST), (3600 * S, beat))) == ["3"]


def test_one_that_does_not_end_by_itself_has_no_end():
    (one,) = told((S, ENDLESS), (9000 * S, LOST)).may_run
    assert (one.job, one.until) == ("4", "")


@pytest.mark.parametrize(
    ("ends_us", "until"),
    [(60 * S, "09:01"), (60 * S + 1000, "09:02"), (119 * S, "09:02"), (2 * S, "09:01")],
)
def test_the_latest_time_is_never_told_too_early(ends_us, until):
    begun = kinds.ExerciserBegun(exerciser="work", job="3", part="left", ends_us=ends_us)
    (one,) = told((S, begun), (S, LOST)).may_run
    assert one.until[11:16] == until


def test_at_a_rate_the_end_is_by_the_museums_own_clock():
    (one,) = told((S, WORK), (2 * S, LOST), rate=20.0).may_run
    assert one.until[11:16] == "09:01"  # 240 s of the machine are 12 s here


def test_what_ran_in_the_recording_before_is_told_in_this_one():
    running = [
        Running(exerciser="work", job="7", ends="2026-11-25T09:03:00+00:00"),
        Running(exerciser="work", job="8", ends=""),
        Running(exerciser="work", job="9", ends="2026-11-25T08:59:00+00:00"),
        Running(exerciser="unheard-of", job="10", ends="some day"),
    ]
    found = told((S, LOST), use_before=UseBefore(at=NINE, running=running))
    assert [(one.job, one.until[11:16]) for one in found.may_run] == [("7", "09:03"), ("8", ""), ("10", "")]
    assert [one.part for one in found.may_run] == [{"en": "Left drive"}, {"en": "Left drive"}, {}]


def test_a_picture_gone_on_with_from_a_snapshot_tells_the_same():
    view = view_of((S, WORK), (2 * S, LOST))
    kept = json.loads(json.dumps(view.snapshot()))
    again = View()
    again.restore(kept)
    assert again.recorded_state().may_run == view.recorded_state().may_run != ()


def test_at_a_rate_what_ran_before_ends_by_the_museums_own_clock_too():
    running = [Running(exerciser="work", job="7", ends="2026-11-25T09:03:00+00:00")]
    (one,) = told((S, LOST), use_before=UseBefore(at=NINE, running=running), rate=20.0).may_run
    assert one.until[11:16] == "09:03"


def test_two_jobs_are_kept_apart_and_those_long_over_do_not_pile_up():
    other = kinds.ExerciserBegun(exerciser="work", job="5", part="left", ends_us=900 * S)
    assert jobs(told((S, WORK), (2 * S, other), (3 * S, LOST))) == ["3", "5"]
    later = [
        (at_s * S, kinds.ExerciserBegun(exerciser="work", job=str(at_s), part="left", ends_us=(at_s + 1) * S))
        for at_s in range(10, 40, 10)
    ]
    assert len(view_of(*later).snapshot()["items"][MAY_RUN]) == 1


# -- jobs in doubt

ASKED = kinds.JobAsked(asked=1, exercisers=["work"], command="WORK 4", by="script round", ends_us=240 * S)
DOUBT = kinds.JobInDoubt(
    asked=1, exercisers=["work"], command="WORK 4", by="script round", why="cut off", ends_us=240 * S
)
OVER = kinds.JobDoubtOver(asked=1, how="a person", by="a docent")


def test_a_job_in_doubt_is_told_while_the_machine_is_watched_over_too_and_named_by_its_command():
    for facts in ([], [(3 * S, LOST)]):
        assert told((S, ASKED), (2 * S, DOUBT), *facts).may_run == (
            MayRun(
                part={"en": "Left drive"},
                job="",
                until="2026-11-25T09:04:00.000+00:00",
                stop_by_hand=BY_HAND,
                doubt="in doubt",
                command="WORK 4",
            ),
        )
    assert told((S, DOUBT), sight=Sight(mode="replay")).may_run == ()


def test_a_job_that_was_only_just_asked_for_is_told_when_nobody_can_see_the_answer():
    assert told((S, ASKED)).may_run == ()
    for facts, sight in (([(2 * S, LOST)], WRITING), ([], GONE)):
        (one,) = told((S, ASKED), *facts, sight=sight).may_run
        assert (one.doubt, one.command) == ("not answered yet", "WORK 4")


def test_no_time_ends_a_doubt_but_its_end_does_and_so_does_its_begun_line():
    beat = kinds.Heartbeat(wall="2026-11-25T12:00:00+00:00")
    assert len(told((S, DOUBT), (9000 * S, beat), (9001 * S, LOST)).may_run) == 1
    assert told((S, DOUBT), (2 * S, OVER), (3 * S, LOST)).may_run == ()
    begun = kinds.ExerciserBegun(exerciser="work", job="3", part="left", ends_us=240 * S, asked=1)
    (one,) = told((S, DOUBT), (2 * S, begun), (3 * S, LOST)).may_run
    assert (one.job, one.doubt) == ("3", "")
    (one,) = told((S, DOUBT), (2 * S, WORK)).may_run  # another job of the same exerciser
    assert one.doubt == "in doubt"


def test_a_listed_job_has_a_number_but_stays_in_doubt():
    (one,) = told((S, DOUBT), (2 * S, kinds.JobListed(asked=1, job="7", by="board.jobs"))).may_run
    assert (one.job, one.doubt) == ("7", "in doubt")


def test_if_it_may_be_either_of_two_both_are_told():
    either = kinds.JobInDoubt(asked=1, exercisers=["work", "other"], command="", by="", why="same", job="7")
    assert [(one.job, one.one_of) for one in told((S, either)).may_run] == [("7", 2), ("7", 2)]


def test_a_doubt_of_the_recording_before_is_told_in_this_one_and_the_day_does_not_end_in_good_order():
    doubt = InDoubt(asked=1, exercisers=["work"], command="WORK 4", by="", why="", ends=NINE)
    before = UseBefore(at=NINE, in_doubt=[doubt])
    (one,) = told((60 * S, LOST), use_before=before).may_run
    assert (one.doubt, one.command, one.until[11:16]) == ("in doubt", "WORK 4", "09:00")
    closed = kinds.RecordingClosed(why="")
    for facts, how in (([], "left open"), ([(S, OVER)], "good order")):
        items = view_of(*facts, (2 * S, closed), use_before=before).batch(0)["items"]
        assert items["closed"]["how"] == how


def test_a_job_that_was_out_of_sight_for_long_is_in_doubt_and_no_longer_said_to_have_run():
    running = [Running(exerciser="work", job="7", ends=""), Running(exerciser="work", job="8", ends="")]
    unwatched = kinds.JobInDoubt(asked=1, exercisers=["work"], command="", by="", why="unwatched", job="7")
    found = told((0, unwatched), (S, LOST), use_before=UseBefore(at=NINE, running=running)).may_run
    assert [(one.job, one.doubt) for one in found] == [("8", ""), ("7", "in doubt")]
