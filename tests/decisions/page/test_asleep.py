"""When the page calls the machine asleep: all that ran was seen to stop, and nothing has come since."""

from __future__ import annotations

import pytest

from exhibit.decisions.page.badge import Sight, badge
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.use_before import PartUse, UseBefore
from tests.decisions.heron import S, opened

RUNS = [kinds.PartStarted(part=part, by="ready") for part in ("left", "right")]
STOPS = [kinds.PartStopped(part=part, by="the closing") for part in ("left", "right")]
OVER = kinds.SessionResting(until_us=0)
CLOSED = kinds.RecordingClosed(why="done")
LIVE = Sight(mode="live", writer="writing")


def after(*facts: kinds.AnyFact, **first: object) -> tuple[str, str]:
    """The badge and since when, a second after each other, from 09:00:00."""
    view = View()
    for seq, fact in enumerate((opened(**first), kinds.LineOpened(line="x"), *facts), 1):
        view.apply(kinds.Entry(seq, (seq - 1) * S, fact))
    told = badge(view.recorded_state(), LIVE)
    return told.name, told.since[11:19]


def test_after_the_closing_the_machine_is_asleep_since_the_last_part_stopped() -> None:
    assert after(*RUNS, *STOPS, OVER) == ("asleep", "09:00:05")
    assert after(*RUNS, *STOPS, OVER, CLOSED) == ("asleep", "09:00:05")


@pytest.mark.parametrize(
    "facts",
    [
        (*RUNS, OVER),
        (*RUNS, STOPS[0], OVER),
        (OVER,),
        (*RUNS, *STOPS, RUNS[0], OVER),
        (*RUNS, *STOPS, kinds.BytesReceived(bytes="X", first_us=0), OVER),
        (*RUNS, *STOPS, kinds.ScriptStarted(script="opening", title={}, by="x"), OVER),
    ],
    ids=["all run", "one runs", "nothing is known", "started again", "it printed", "a script ran since"],
)
def test_a_machine_that_may_run_rests(facts: tuple[kinds.AnyFact, ...]) -> None:
    assert after(*facts)[0] == "resting"
    assert after(*facts, CLOSED)[0] == "resting"


def test_a_part_that_ran_before_the_recording_keeps_the_machine_awake() -> None:
    before = UseBefore(
        at="2026-11-25T08:59:00.000+00:00",
        parts={"lamp": PartUse(run_us=S, running_since=["a person"], since="2026-11-25T08:00:00.000+00:00")},
    )
    assert after(*RUNS, *STOPS, OVER, use_before=before)[0] == "resting"


def test_a_closed_recording_of_a_failed_session_is_no_sleep() -> None:
    failed = kinds.SessionFailed(why="x", last_lines=[])
    assert after(*RUNS, *STOPS, failed, CLOSED)[0] == "failed"


def test_it_is_withdrawn_and_a_picture_gone_on_with_from_a_snapshot_tells_the_same() -> None:
    view = View()
    for seq, fact in enumerate((opened(), *RUNS, *STOPS), 1):
        view.apply(kinds.Entry(seq, seq * S, fact))
    kept = View()
    kept.restore(view.snapshot())
    for one in (view, kept):
        assert one.recorded_state().asleep
        one.apply(kinds.Entry(6, 6 * S, kinds.BytesReceived(bytes="X", first_us=0)))
        assert not one.recorded_state().asleep
