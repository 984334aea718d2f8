"""A recording is only said to have ended in good order if it did: the item `closed`."""

from __future__ import annotations

import json

import pytest

from exhibit.decisions.page.badge import Sight, badge
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from tests.decisions.heron import S, opened

CLOSED = kinds.RecordingClosed(why="this program was told to end (SIGTERM)")
FAILED = kinds.SessionFailed(why="it did not answer", last_lines=[])
CLEARED = kinds.SessionCleared(by="a docent")
WORK = kinds.ExerciserBegun(exerciser="work", job="3", part="left", ends_us=240 * S)
ENDLESS = kinds.ExerciserBegun(exerciser="work", job="3", part="left", ends_us=0)
STOPPED = kinds.ExerciserEnded(exerciser="work", job="3", by="stopped")
RESTING = kinds.SessionResting(until_us=0)


def started(name: str = "round") -> kinds.ScriptStarted:
    return kinds.ScriptStarted(script=name, title={"en": name}, by="session", round=1)


def ended(outcome: kinds.Outcome = "done", tidy: bool = True) -> kinds.ScriptEnded:
    return kinds.ScriptEnded(script="round", outcome=outcome, tidy=tidy, why="")


def view_of(*facts: kinds.AnyFact) -> View:
    view = View()
    view.apply(kinds.Entry(1, 0, opened()))
    for seq, fact in enumerate((kinds.LineOpened(line="x"), *facts), start=2):
        view.apply(kinds.Entry(seq, seq * S, fact))
    return view


@pytest.mark.parametrize(
    ("how", "facts"),
    [
        ("good order", []),  # a machine that is only watched
        ("good order", [started(), ended(), RESTING]),
        ("good order", [started(), ended("stopped")]),
        ("good order", [started(), WORK, STOPPED, ended()]),
        ("good order", [started(), ended("failed"), FAILED, CLEARED, started(), ended()]),
        ("failed", [started(), WORK, ended("failed", tidy=False), FAILED]),
        ("failed", [started(), ended("failed"), FAILED]),
        ("failed", [started(), ended(), FAILED]),
        ("left open", [started()]),
        ("left open", [started(), ended("stopped", tidy=False)]),
        ("left open", [started(), ended("failed"), FAILED, CLEARED]),
        ("left open", [started(), WORK, ended()]),
        ("left open", [started(), ENDLESS, ended()]),
    ],
)
def test_it_ended_in_good_order_only_if_all_was_put_away_and_nothing_failed_since(
    how: str, facts: list[kinds.AnyFact]
) -> None:
    assert view_of(*facts, CLOSED).batch(0)["items"]["closed"]["how"] == how


def test_a_picture_gone_on_with_from_a_snapshot_ends_the_same() -> None:
    again = View()
    again.restore(json.loads(json.dumps(view_of(started(), ended()).snapshot())))
    again.apply(kinds.Entry(9, 9 * S, CLOSED))
    assert again.batch(0)["items"]["closed"]["how"] == "good order"


def test_what_may_go_on_when_the_recording_is_closed_in_a_pause_is_told() -> None:
    standing = view_of(
        started(), WORK, ended(), kinds.SessionResting(until_us=90 * S), CLOSED
    ).recorded_state()
    told = badge(standing, Sight(mode="live"))
    assert (told.name, [one.job for one in told.may_run], told.closed) == ("resting", ["3"], True)
