"""The badge: one true name for every way in which a picture can be of now, or not."""

from __future__ import annotations

import itertools

import pytest

from exhibit.decisions.page.badge import (
    MACHINE_IS_THERE,
    NOT_ANSWERING_AFTER_S,
    RecordedState,
    Sight,
    badge,
)

LIVE = Sight(mode="live", writer="writing", silent_s=0.5)
RUNNING = {
    "opened": True,
    "line": "open",
    "opened_at": "opened",
    "line_at": "line opened",
    "last_at": "last fact",
}


def name(sight: Sight = LIVE, **standing: object) -> str:
    return badge(RecordedState(**{**RUNNING, **standing}), sight).name  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("expected", "standing"),
    [
        ("live", {}),
        ("watching", {"watched_only": True}),
        ("simulated machine", {"simulated": True}),
        ("simulated machine", {"simulated": True, "watched_only": True}),
        ("resting", {"resting": True}),
        ("resting", {"closed": True}),
        ("asleep", {"closed": True, "asleep": True}),
        ("asleep", {"resting": True, "asleep": True}),
        ("live", {"asleep": True}),
        ("failed", {"closed": True, "asleep": True, "failed": True}),
        ("failed", {"failed": True}),
        ("failed", {"failed": True, "closed": True}),
        ("link lost", {"line": "lost"}),
        ("link lost", {"line": "lost", "failed": True}),
        ("not started", {"line": "not opened"}),
        ("not started today", {"opened": False}),
    ],
)
def test_a_writer_that_answers_is_believed(expected: str, standing: dict[str, object]) -> None:
    assert name(**standing) == expected


def test_a_writer_that_is_gone_without_closing_makes_the_bridge_gone() -> None:
    gone = Sight(mode="live", writer="gone", silent_s=0.1)
    assert name(gone) == "bridge gone"
    assert name(gone, line="lost") == "bridge gone"
    assert name(gone, closed=True) == "resting"


def test_a_writer_that_holds_the_lock_but_says_nothing_is_not_answering() -> None:
    assert name(Sight(mode="live", writer="writing", silent_s=NOT_ANSWERING_AFTER_S + 0.1)) == (
        "bridge not answering"
    )
    assert name(Sight(mode="live", writer="writing", silent_s=NOT_ANSWERING_AFTER_S - 0.1)) == "live"


@pytest.mark.parametrize(
    ("today", "next_day", "standing"),
    [
        ("resting", "not started today", {"closed": True}),
        ("asleep", "not started today", {"closed": True, "asleep": True}),
        ("bridge gone", "not started today", {}),
        ("failed", "failed", {"closed": True, "failed": True}),
    ],
)
def test_what_nobody_has_gone_on_with_since_yesterday_is_not_started_today_unless_somebody_has_to_look(
    today: str, next_day: str, standing: dict[str, object]
) -> None:
    assert name(Sight(mode="live", writer="gone"), **standing) == today
    assert name(Sight(mode="live", writer="gone", written_today=False), **standing) == next_day


def test_a_writer_that_lives_has_started_today_however_long_ago_it_wrote() -> None:
    assert name(Sight(mode="live", writer="writing", written_today=False, silent_s=0.1)) == "live"


def test_a_missed_heartbeat_and_the_telling_of_it_fit_into_five_seconds() -> None:
    from exhibit.web.following import LOOK_EVERY_S

    heartbeat_s = 2.0  # design: at least every 2 s while it lives
    assert heartbeat_s < NOT_ANSWERING_AFTER_S
    assert NOT_ANSWERING_AFTER_S + LOOK_EVERY_S < 5.0


def test_a_replay_is_never_anything_but_recorded() -> None:
    flags = ("closed", "failed", "resting", "simulated", "watched_only")
    for chosen in itertools.product((False, True), repeat=len(flags)):
        for line in ("open", "lost", "not opened"):
            standing = dict(zip(flags, chosen, strict=True))
            for writer in ("writing", "gone"):
                sight = Sight(mode="replay", writer=writer, silent_s=100)  # type: ignore[arg-type]
                assert name(sight, line=line, **standing) == "recorded"


def test_nothing_is_called_live_before_the_end_of_the_record_is_reached() -> None:
    assert name(Sight(mode="live", writer="writing", catching_up=True)) == "reading the record"


def test_a_simulated_machine_is_called_so_under_every_badge() -> None:
    for standing in ({}, {"failed": True}, {"closed": True}, {"line": "lost"}):
        told = badge(RecordedState(**{**RUNNING, **standing, "simulated": True, "rate": 20.0}), LIVE)  # type: ignore[arg-type]
        assert told.simulated
        assert told.rate == 20.0


def test_practice_is_called_so_under_every_badge_and_nothing_else_is() -> None:
    for standing in ({}, {"failed": True}, {"closed": True}, {"line": "lost"}):
        for sight in (LIVE, Sight(mode="replay")):
            told = badge(RecordedState(**{**RUNNING, **standing, "practice": True}), sight)  # type: ignore[arg-type]
            assert told.practice
            assert not badge(RecordedState(**{**RUNNING, **standing}), sight).practice  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("since", "standing", "sight"),
    [
        ("line opened", {}, LIVE),
        ("last fact", {}, Sight(mode="live", writer="gone")),
        ("last fact", {}, Sight(mode="live", writer="writing", silent_s=60)),
        ("failed", {"failed": True, "failed_at": "failed"}, LIVE),
        ("rested", {"resting": True, "resting_at": "rested"}, LIVE),
        ("closed", {"closed": True, "closed_at": "closed"}, LIVE),
    ],
)
def test_the_badge_says_since_when(since: str, standing: dict[str, object], sight: Sight) -> None:
    assert badge(RecordedState(**{**RUNNING, **standing}), sight).since == since  # type: ignore[arg-type]


def test_only_where_the_machine_is_there_now_may_a_visitor_be_told_to_look_or_listen() -> None:
    assert MACHINE_IS_THERE.isdisjoint(
        {"recorded", "resting", "failed", "link lost", "bridge gone", "not started"}
    )
